"""bearwell: what to do for each fruit tree, each week, and why."""

__version__ = "0.1.0"
