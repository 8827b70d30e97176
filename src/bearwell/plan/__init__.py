"""Planners: what is known about one tree becomes advice. They never write."""
