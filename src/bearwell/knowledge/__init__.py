"""What is known: cited tables, loaded and validated once. No formulas live here."""

from bearwell.knowledge.loader import Knowledge, knowledge, used_sources
from bearwell.knowledge.model import Fact, FeedingRule, FeedingStep, Source, Species
from bearwell.knowledge.own import extend

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
