"""Speed of the store: a large garden opened from it beside its file, and one record written."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from fastapi.testclient import TestClient

from bearwell import api
from bearwell.faces.web.app import create_app
from bearwell.store.written import toml_text

TREES = 100
YEARS = 10
KINDS = ("navel", "apple", "fig", "lemon", "peach", "olive", "loquat", "persimmon")
PAGES = (
    "/", "/?by=tree", "/trees", "/map", "/poster", "/sheet", "/sheet/week", "/tags", "/tonight", "/winter", "/water",
    "/weather", "/leaf", "/history", "/garden", "/tree/tree-3", "/tree/tree-3/feeding", "/tree/tree-3/pruning",
    "/tree/tree-3/crop", "/tree/tree-3/count", "/tree/tree-3/water", "/tree/tree-3/record", "/season",
    "/tree/tree-3/season",
)  # fmt: skip
_NOON = datetime(2026, 3, 15, 12, tzinfo=UTC)


def garden(today: date) -> dict[str, Any]:
    """Many trees with years of records: ten feedings, three stages, two counts and a crop a year."""
    trees = []
    for number in range(TREES):
        years = range(today.year - YEARS, today.year)
        trees.append(
            {
                "id": f"tree-{number}",
                "kind": KINDS[number % len(KINDS)],
                "planted": date(today.year - YEARS - 4, 3, 1),
                "height": "2.6 m",
                "spread": "2.4 m",
                "trunk_girth": "38 cm",
                "harvests": [{"year": year, "mass": f"{8 + number % 9} kg"} for year in years],
                "observed": [
                    {"event": event, "date": date(year, month, 10)}
                    for year in years
                    for event, month in (("full bloom", 4), ("harvest start", 10), ("harvest end", 11))
                ],
                "counts": [{"date": date(year, month, 5), "fruit": 90} for year in years for month in (6, 7)],
                "done": [
                    {"date": date(year, month, 3), "job": "feed", "product": "balanced", "amount": "150 g"}
                    for year in years
                    for month in range(2, 12)
                ],
            }
        )  # fmt: skip
    bag = {
        "id": "balanced", "name": "granules", "label": "5-5-5", "release": "granular organic",
        "on_hand": "300 kg", "cup_mass": "150 g",
    }  # fmt: skip
    normals = {
        "tmin": "6 6 8 9 12 14 16 16 15 12 9 7 degC", "tmax": "14 15 17 18 21 24 26 26 25 21 17 15 degC",
    }  # fmt: skip
    return {
        "bearwell": 1,
        "garden": {"name": "many trees"},
        "site": {"latitude": 41.7, "longitude": -8.8, "soil": "loam"},
        "weather": {"normals": normals},
        "product": [bag],
        "tree": trees,
    }


def _median(work: Callable[[], object], times: int) -> float:
    spans = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        spans.append(time.perf_counter() - begun)
    return 1000 * statistics.median(spans)


def store_rows(folder: Path, today: date) -> list[tuple[str, str, str]]:
    """Rows for the page: opening, planning, writing."""
    file = folder / "many.toml"
    file.write_text(toml_text(garden(today)), "utf-8")
    numbers = iter(range(1, 10_000))

    def stamp() -> api.Stamp:
        return api.Stamp(str(UUID(int=next(numbers))), _NOON)

    with api.open_store(folder / "store", create=True) as store:
        api.import_garden(store, stamp(), today, path=file)
        entries = store.mark()[1]
        from_file = _median(lambda: api.open_garden(file, today), 5)
        from_store = _median(lambda: api.open_garden(str(folder / "store"), today), 5)
        before = api.open_garden(store, today)
        planned = _median(lambda: api.worklist(before), 1)
        writing = _median(
            lambda: api.record_done(
                store, stamp(), today, tree="tree-7", job="feed", day=today - timedelta(days=1),
                product="balanced", amount="150 g",
            ),
            41,
        )  # fmt: skip
        last = api.history(store, "tree-7")[0].entry.action
        undoing = _median(lambda: api.undo(store, stamp(), today, record=last), 1)
        again = _median(lambda: api.open_garden(store, today), 5)
        goes_on = api.open_garden(store, today, before=before)
        opened_on = _median(lambda: api.open_garden(store, today, before=before), 5)
        replanned = _median(lambda: api.worklist(goes_on), 1)
    client = TestClient(
        create_app(folder / "store", today=lambda: today), base_url="http://127.0.0.1"
    )
    begun, answers = time.perf_counter(), 1
    while 'http-equiv="refresh"' in client.get("/season").text:
        answers += 1
    looked = time.perf_counter() - begun
    pages = []
    for path in PAGES:
        if client.get(path).status_code != 200:
            raise SystemExit(f"bench: {path} did not answer")
        pages.append((_median(lambda path=path: client.get(path), 15), path))  # type: ignore[misc]
    what = f"{TREES} trees with {YEARS} years of records"
    return [
        (f"garden of {what}, opened from its file", f"{from_file:.0f} ms", f"{entries} entries"),
        ("the same opened from the store", f"{from_store:.0f} ms", f"{from_store / from_file:.2f} × the file"),
        ("the same after a record, store kept open", f"{again:.0f} ms", f"{again / from_file:.2f} × the file"),
        ("its whole worklist", f"{planned:.0f} ms", ""),
        ("opened after a record of one tree, going on from what was open", f"{opened_on:.0f} ms",
         f"{opened_on / again:.2f} × opened anew"),
        ("its whole worklist after that", f"{replanned:.0f} ms", f"{replanned / planned:.2f} × planned anew"),
        ("its last year looked back on for the first time", f"{looked:.1f} s",
         f"in {answers} answers, then kept"),
        ("one record written to SQLite, checked and forced to the disk", f"{writing:.1f} ms", ""),
        ("a record undone", f"{undoing:.1f} ms", ""),
        (
            f"pages of the same, server time, garden kept open ({len(pages)} addresses)",
            f"{min(pages)[0]:.0f} to {max(pages)[0]:.0f} ms",
            f"slowest `{max(pages)[1]}`",
        ),
    ]  # fmt: skip


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        for row in store_rows(Path(name), date(2026, 3, 15)):
            print(*row, sep="  |  ")
