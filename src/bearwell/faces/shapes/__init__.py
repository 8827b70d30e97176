"""The shapes of the JSON twins, field by field: what the description of the JSON is written from.

The words for each field are in the reference pages; a test holds every answer against its shape both ways.
A schema is called by the name of its shape, so no two shapes share a name.
"""

from __future__ import annotations

from bearwell.faces.shapes import (
    cold,
    common,
    crop,
    feeding,
    garden,
    paper,
    pruning,
    record,
    season,
    water,
    weather,
)
from bearwell.faces.shapes.common import Link, Problems

__all__ = ["MODULES", "SHAPES", "Link", "Problems"]

MODULES = (common, garden, feeding, water, cold, pruning, crop, record, weather, paper, season)

# By address. An address without a shape is described as an object and named in the tests as not yet told.
SHAPES: dict[str, type] = {
    "/week.json": garden.Worklist,
    "/trees.json": garden.Trees,
    "/tree/{tree}.json": garden.Tree,
    "/tree/{tree}/feeding.json": feeding.Feeding,
    "/tree/{tree}/water.json": water.Water,
    "/tree/{tree}/pruning.json": pruning.Pruning,
    "/tree/{tree}/crop.json": crop.Crop,
    "/tree/{tree}/count.json": record.Count,
    "/garden.json": garden.Garden,
    "/kind/{key}.json": garden.Kind,
    "/leaf.json": garden.Leaf,
    "/shelf.json": feeding.Shelf,
    "/sheet.json": feeding.Sheet,
    "/sheet/week.json": paper.WeekSheet,
    "/sheet/pruning.json": pruning.PruneSheet,
    "/water.json": water.WaterSheet,
    "/tonight.json": cold.Tonight,
    "/winter.json": cold.Winters,
    "/weather.json": weather.Weather,
    "/history.json": record.History,
    "/paper.json": paper.Paper,
    "/poster.json": paper.Poster,
    "/tags.json": paper.Tags,
    "/map.json": paper.GardenMap,
    "/outdoors.json": paper.Outdoors,
    "/season.json": season.Season,
    "/tree/{tree}/season.json": season.Season,
}
