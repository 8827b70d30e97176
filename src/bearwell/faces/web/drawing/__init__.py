"""Drawings made on the server as SVG; colours and fonts come from the style sheet."""
