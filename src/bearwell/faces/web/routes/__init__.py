"""The routes, a module a subject. Each adds its own to the application."""
