"""Weather from services on the network: asked for only on request, kept on disk, read from there."""
