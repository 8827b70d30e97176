"""Ready calculations that need no garden: one at a time, with their inputs, results and reasons."""

from bearwell.reckon.model import Option, Reckoner, Reckoning
from bearwell.reckon.registry import RECKONERS, find_reckoner, run

__all__ = ["RECKONERS", "Option", "Reckoner", "Reckoning", "find_reckoner", "run"]
