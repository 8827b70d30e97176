"""The garden as its grower knows it: frozen models and the garden file."""

from bearwell.garden.cold import Cold, Evening, Night
from bearwell.garden.counts import Count, Harvest, missing_years
from bearwell.garden.file import load_garden
from bearwell.garden.model import (
    Container,
    Done,
    Garden,
    NoFeeding,
    Observed,
    Product,
    Shelter,
    Site,
    Tree,
)

__all__ = [
    "Cold",
    "Container",
    "Count",
    "Done",
    "Evening",
    "Garden",
    "Harvest",
    "Night",
    "NoFeeding",
    "Observed",
    "Product",
    "Shelter",
    "Site",
    "Tree",
    "load_garden",
    "missing_years",
]
