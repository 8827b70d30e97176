"""The library's public door: use cases that read a garden, look at its season and return plain results.

Faces call this module and nothing deeper.
"""

from bearwell.api.demo import write_demo
from bearwell.api.gardens import (
    LoadedGarden,
    TreeYear,
    check_garden,
    open_garden,
    tree_year,
    worklist,
    years,
)
from bearwell.api.reckoning import (
    Reckoner,
    Reckoning,
    find_reckoner,
    reckon,
    reckoners,
    run_reckoner,
)
from bearwell.knowledge import knowledge

__all__ = [
    "LoadedGarden",
    "Reckoner",
    "Reckoning",
    "TreeYear",
    "check_garden",
    "find_reckoner",
    "knowledge",
    "open_garden",
    "reckon",
    "reckoners",
    "run_reckoner",
    "tree_year",
    "worklist",
    "write_demo",
    "years",
]
