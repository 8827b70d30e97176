"""The web face: server-rendered pages and their JSON twins. Imported only when serving."""

from bearwell.faces.web.app import create_app, serve

__all__ = ["create_app", "serve"]
