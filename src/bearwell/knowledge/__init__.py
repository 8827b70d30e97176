"""What is known: cited tables, loaded and validated once. No formulas live here."""

from bearwell.knowledge.loader import Knowledge, extend, knowledge, used_sources
from bearwell.knowledge.model import Fact, FeedingRule, FeedingStep, Source, Species

__all__ = [
    "Fact",
    "FeedingRule",
    "FeedingStep",
    "Knowledge",
    "Source",
    "Species",
    "extend",
    "knowledge",
    "used_sources",
]
