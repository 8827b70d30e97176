"""The library's public door: use cases that read a garden, look at its season and return plain results.

Faces call this module and nothing deeper.
"""

from typing import TYPE_CHECKING

from bearwell.api.beginning import begin_garden, plant_trees
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
    planned,
    tree_year,
    worklist,
    year_span,
    years,
)
from bearwell.api.leaves import diagnose, leaf_key, leaf_norms, would_mend
from bearwell.api.moving import back_up, export_garden, import_garden, import_weather, restore
from bearwell.api.places import YEARS_AHEAD, Canopy, Crowd, GroundPlan, ground_plan
from bearwell.api.placing import record_places
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
from bearwell.api.records import (
    Photo,
    Stamp,
    find_advice,
    history,
    is_store,
    is_url,
    open_store,
    photo_content,
    photos,
    recent,
    record_as_advised,
    record_count,
    record_done,
    record_gone,
    record_harvest,
    record_leaf_test,
    record_measure,
    record_new,
    record_night,
    record_photo,
    record_postpone,
    record_row,
    record_seen,
    record_skip,
    record_soil_test,
    record_state,
    record_stock,
    record_units_and_clock,
    recorded,
    undo,
    user_folder,
)
from bearwell.api.season import (
    Choice,
    GardenSeason,
    TreeSeason,
    look_back,
    season_choices,
)
from bearwell.api.watering import WaterDay, tree_watering, water_days
from bearwell.api.weather import Fetched, Learned, fetch_weather
from bearwell.api.weather_record import STATES, Record, YearOfRecord, weather_record
from bearwell.garden import Count, Evening, Night, Product, Shelter, Tree
from bearwell.garden.model import EVENTS, JOBS
from bearwell.knowledge import Fact, Knowledge, Species, knowledge
from bearwell.pictures import Picture, small, take_in
from bearwell.plan.advice import Advice, Window
from bearwell.plan.area import Band, band_for
from bearwell.plan.bearing import POLICIES, Future, LongView
from bearwell.plan.blend import explain
from bearwell.plan.change import Change
from bearwell.plan.changes_dates import Honesty
from bearwell.plan.cold import Harm
from bearwell.plan.cropload import Side
from bearwell.plan.diagnose import Diagnosis, Question
from bearwell.plan.leaftest import NAMES as NUTRIENT_NAMES
from bearwell.plan.lookback import VERDICTS, Act, Line
from bearwell.plan.nights import SORTS
from bearwell.plan.outlook import Hazard, Outlook, TreeOutlook
from bearwell.plan.reviewed import CropLook
from bearwell.plan.schedule import Placed
from bearwell.plan.shelf import CUP_PARTS, in_measures, shelf_of
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

if TYPE_CHECKING:  # loaded when a store is opened, not before
    from bearwell.store.backup import BackedUp as BackedUp
    from bearwell.store.backup import Restored as Restored
    from bearwell.store.exchange import Exported as Exported
    from bearwell.store.keeping import Recorded as Recorded
    from bearwell.store.keeping import Said as Said
    from bearwell.store.keeping import Store as Store
    from bearwell.store.keeping import Told as Told

__all__ = [
    "CUP_PARTS",
    "EVENTS",
    "FACTOR_WORDS",
    "JOBS",
    "LATE_FROM",
    "LATE_TO",
    "NUTRIENT_NAMES",
    "POLICIES",
    "SORTS",
    "STATES",
    "VERDICTS",
    "YEARS_AHEAD",
    "Act",
    "Advice",
    "Band",
    "Canopy",
    "Chance",
    "Change",
    "Choice",
    "Count",
    "Counted",
    "CropLook",
    "CropYear",
    "Crowd",
    "CutLine",
    "DayScores",
    "Diagnosis",
    "Evening",
    "Fact",
    "FeedingYear",
    "Fetched",
    "FrostDate",
    "Future",
    "GardenSeason",
    "GardenWatering",
    "GroundPlan",
    "HardeningSeason",
    "Honesty",
    "Harm",
    "Hazard",
    "Knowledge",
    "Learned",
    "Ledger",
    "Level",
    "Line",
    "LoadedGarden",
    "LongView",
    "Night",
    "NightAhead",
    "Option",
    "Outlook",
    "Photo",
    "Picture",
    "Placed",
    "Product",
    "PruningYear",
    "Question",
    "Reckoner",
    "Reckoning",
    "Record",
    "SheetLine",
    "Shelf",
    "Shelter",
    "Side",
    "Sketch",
    "Species",
    "Stage",
    "Stamp",
    "Tonight",
    "Tree",
    "TreeOutlook",
    "TreeSeason",
    "TreeTonight",
    "TreeWatering",
    "TreeYear",
    "WaterDay",
    "WaterRound",
    "Window",
    "Winter",
    "Worklist",
    "YearOfRecord",
    "back_up",
    "band_for",
    "begin_garden",
    "branch_taken",
    "chance_of_walk",
    "check_garden",
    "count_constants",
    "counted",
    "crop_year",
    "diagnose",
    "evening_reading",
    "explain",
    "export_garden",
    "feeding_sheet",
    "feeding_year",
    "fetch_weather",
    "find_advice",
    "find_reckoner",
    "gravest_first",
    "ground_plan",
    "history",
    "how_much",
    "import_garden",
    "import_weather",
    "in_measures",
    "is_store",
    "is_url",
    "knowledge",
    "leaf_key",
    "leaf_norms",
    "look_back",
    "minutes_of",
    "open_garden",
    "open_store",
    "photo_content",
    "photos",
    "planned",
    "plant_trees",
    "pruning_sheet",
    "pruning_year",
    "reasons",
    "recent",
    "reckon",
    "reckoners",
    "record_as_advised",
    "record_count",
    "record_done",
    "record_gone",
    "record_harvest",
    "record_leaf_test",
    "record_measure",
    "record_new",
    "record_night",
    "record_photo",
    "record_places",
    "record_postpone",
    "record_row",
    "record_seen",
    "record_skip",
    "record_soil_test",
    "record_state",
    "record_stock",
    "record_units_and_clock",
    "recorded",
    "restore",
    "run_reckoner",
    "season_choices",
    "section_of",
    "shelf",
    "shelf_of",
    "small",
    "take_in",
    "tidy",
    "tonight",
    "tree_watering",
    "tree_year",
    "undo",
    "user_folder",
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
