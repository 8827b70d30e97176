"""The library's public door: use cases that read a garden, look at its season and return plain results.

Faces call this module and nothing deeper.
"""

from bearwell.api.cold import NightAhead, evening_reading, tonight, winter
from bearwell.api.crops import (
    Counted,
    CropYear,
    branch_taken,
    chance_of_walk,
    count_constants,
    counted,
    crop_year,
)
from bearwell.api.demo import write_demo
from bearwell.api.feeding import (
    LATE_FROM,
    LATE_TO,
    FeedingYear,
    SheetLine,
    Shelf,
    feeding_sheet,
    feeding_year,
    shelf,
)
from bearwell.api.gardens import (
    LoadedGarden,
    TreeYear,
    check_garden,
    gravest_first,
    open_garden,
    tree_year,
    worklist,
    year_span,
    years,
)
from bearwell.api.leaves import diagnose, leaf_key, would_mend
from bearwell.api.pruning import (
    CutLine,
    PruningYear,
    Sketch,
    pruning_sheet,
    pruning_year,
    width_share,
)
from bearwell.api.reckoning import (
    Reckoner,
    Reckoning,
    find_reckoner,
    reckon,
    reckoners,
    run_reckoner,
)
from bearwell.api.watering import WaterDay, tree_watering, water_days
from bearwell.api.weather import Fetched, Learned, fetch_weather
from bearwell.api.weather_record import STATES, Record, YearOfRecord, weather_record
from bearwell.garden import Count, Evening, Night, Product, Tree
from bearwell.knowledge import Fact, Knowledge, Species, knowledge
from bearwell.plan.advice import Advice, Window
from bearwell.plan.area import Band, band_for
from bearwell.plan.bearing import POLICIES, LongView
from bearwell.plan.blend import explain
from bearwell.plan.cold import Harm
from bearwell.plan.diagnose import Diagnosis, Question
from bearwell.plan.leaftest import NAMES as NUTRIENT_NAMES
from bearwell.plan.nights import SORTS
from bearwell.plan.outlook import Hazard, Outlook, TreeOutlook
from bearwell.plan.schedule import Placed
from bearwell.plan.shelf import CUP_PARTS, TreeShelf, in_measures
from bearwell.plan.tonight import Tonight, TreeTonight
from bearwell.plan.water import deep as watered_deep
from bearwell.plan.water import how_much, reasons, tidy
from bearwell.plan.water import notes as watering_notes
from bearwell.plan.watering import GardenWatering, TreeWatering
from bearwell.plan.watering import Round as WaterRound
from bearwell.plan.windows import FACTOR_WORDS, DayScores
from bearwell.plan.worklist import Worklist, minutes_of, section_of
from bearwell.reckon import Option
from bearwell.season.cycle import Stage
from bearwell.season.hardiness import HardeningSeason
from bearwell.season.ledger import Ledger
from bearwell.season.winters import Chance, FrostDate, Level, Winter

__all__ = [
    "CUP_PARTS",
    "FACTOR_WORDS",
    "LATE_FROM",
    "LATE_TO",
    "NUTRIENT_NAMES",
    "POLICIES",
    "SORTS",
    "STATES",
    "Advice",
    "Band",
    "Chance",
    "Count",
    "Counted",
    "CropYear",
    "CutLine",
    "DayScores",
    "Diagnosis",
    "Evening",
    "Fact",
    "FeedingYear",
    "Fetched",
    "FrostDate",
    "GardenWatering",
    "HardeningSeason",
    "Harm",
    "Hazard",
    "Knowledge",
    "Learned",
    "Ledger",
    "Level",
    "LoadedGarden",
    "LongView",
    "Night",
    "NightAhead",
    "Option",
    "Outlook",
    "Placed",
    "Product",
    "PruningYear",
    "Question",
    "Reckoner",
    "Reckoning",
    "Record",
    "SheetLine",
    "Shelf",
    "Sketch",
    "Species",
    "Stage",
    "Tonight",
    "Tree",
    "TreeOutlook",
    "TreeShelf",
    "TreeTonight",
    "TreeWatering",
    "TreeYear",
    "WaterDay",
    "WaterRound",
    "Window",
    "Winter",
    "Worklist",
    "YearOfRecord",
    "band_for",
    "branch_taken",
    "chance_of_walk",
    "check_garden",
    "count_constants",
    "counted",
    "crop_year",
    "diagnose",
    "evening_reading",
    "explain",
    "feeding_sheet",
    "feeding_year",
    "fetch_weather",
    "find_reckoner",
    "gravest_first",
    "how_much",
    "in_measures",
    "knowledge",
    "leaf_key",
    "minutes_of",
    "open_garden",
    "pruning_sheet",
    "pruning_year",
    "reasons",
    "reckon",
    "reckoners",
    "run_reckoner",
    "section_of",
    "shelf",
    "tidy",
    "tonight",
    "tree_watering",
    "tree_year",
    "water_days",
    "watered_deep",
    "watering_notes",
    "weather_record",
    "width_share",
    "winter",
    "worklist",
    "would_mend",
    "write_demo",
    "year_span",
    "years",
]
