"""The faces: command line, web page, JSON. Each parses, asks the api once, and renders."""
