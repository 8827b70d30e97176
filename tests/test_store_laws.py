"""Laws of the history: what was said comes back, a change gives what it should, and undoing undoes."""

from __future__ import annotations

import math
import tempfile
import tomllib
from datetime import UTC, date, datetime, time
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from bearwell import api
from bearwell.store.entries import UNDO, Draft, Entry, from_json, to_json
from bearwell.store.fold import fold
from bearwell.store.parts import changes, taken_apart
from bearwell.store.written import toml_text
from gardens import TODAY
from stores import kept, opened, stamp

TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
KEY = st.one_of(
    st.sampled_from(["id", "tree", "done", "$date", "$", "a b", "site", "", "ключ"]), TEXT
)
PLAIN = st.one_of(
    TEXT, st.booleans(), st.integers(-(2**60), 2**60), st.floats(allow_nan=False), st.dates(),
    st.datetimes(timezones=st.just(UTC)).map(lambda moment: moment.replace(fold=0)), st.times().map(lambda moment: moment.replace(fold=0)),
)  # fmt: skip
VALUE = st.recursive(
    PLAIN,
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEY, inner, max_size=3)),
    max_leaves=8,
)
ROW = st.dictionaries(KEY, VALUE, max_size=4)
# The head of a garden file has one name that the history keeps for itself.
DOCUMENT = st.dictionaries(
    KEY.filter(lambda key: key not in (".", "advice", "files", "product", "harvests")),
    st.one_of(VALUE, ROW, st.lists(ROW, max_size=3), st.lists(ROW.map(lambda row: {**row, "rows": [row, row]}), max_size=2)),
    max_size=5,
)  # fmt: skip


def entries(drafts: list[Draft], first: int = 1) -> list[Entry]:
    """Drafts as they would be read back, each an action of its own."""
    return [
        Entry(
            seq, f"e{seq}", f"a{seq}", "g", one.subject, one.named, one.kind, one.key, one.day, "", "",
            from_json(to_json(one.payload)), one.replaces, one.undoes,
        )
        for seq, one in enumerate(drafts, first)
    ]  # fmt: skip


def same(one: object, other: object) -> bool:
    """Whether two values are equal, order of keys aside, with the same types: 1 is not true, nor 1.0."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other, strict=True))
    return type(one) is type(other) and one == other


@given(VALUE)
def test_a_content_comes_back_from_json(value: object):
    assert same(from_json(to_json({"it": value})), {"it": value})


@given(DOCUMENT)
def test_a_document_comes_back_from_its_entries(raw: dict[str, object]):
    assert same(fold(entries(list(taken_apart(raw)))).raw, raw)


@given(DOCUMENT)
def test_a_document_comes_back_from_its_text(raw: dict[str, object]):
    assert same(tomllib.loads(toml_text(raw)), raw)


@given(DOCUMENT, DOCUMENT, DOCUMENT)
def test_recording_what_has_changed_gives_the_new_document(
    first: dict[str, object], second: dict[str, object], third: dict[str, object]
):
    history = entries(list(taken_apart(first)))
    for raw in (second, {**third, **first}, first):
        history += entries(list(changes(fold(history), raw)), len(history) + 1)
        assert same(fold(history).raw, raw)
        assert list(changes(fold(history), raw)) == []


@given(DOCUMENT, DOCUMENT)
def test_undoing_everything_of_a_change_gives_the_old_document(
    first: dict[str, object], second: dict[str, object]
):
    history = entries(list(taken_apart(first)))
    changed = entries(list(changes(fold(history), second)), len(history) + 1)
    undos = [Draft(one.subject, one.named, UNDO, undoes=one.action) for one in changed]
    history += changed
    history += entries(undos, len(history) + 1)
    assert same(fold(history).raw, first)
    redone = [
        Draft("", "", UNDO, undoes=one.action) for one in history[len(history) - len(undos) :]
    ]
    history += entries(redone, len(history) + 1)

    assert same(fold(history).raw, second)


def test_what_json_has_no_form_for_keeps_its_type():
    values = {
        "day": date(2026, 2, 3),
        "moment": datetime(2026, 2, 3, 4, 5, tzinfo=UTC),
        "hour": time(4, 5),
        "$date": "2026-02-03",
    }

    assert same(from_json(to_json(values)), values)
    assert same(
        from_json(to_json({"only": {"$date": "2026-02-03"}})), {"only": {"$date": "2026-02-03"}}
    )


def test_numbers_beyond_all_bounds_have_a_form_in_a_file():
    written = tomllib.loads(toml_text({"most": math.inf, "least": -math.inf, "none": math.nan}))

    assert (written["most"], written["least"], math.isnan(written["none"])) == (
        math.inf,
        -math.inf,
        True,
    )


# ---------------------------------------------------------------- whole gardens

ID = st.from_regex(r"[\w.-]{1,12}", fullmatch=True)
DAY = st.dates(date(2021, 1, 1), TODAY)
MASS = st.builds(
    "{} {}".format, st.integers(1, 900), st.sampled_from(["g", "kg", "lb", "oz"])
).filter(lambda m: m)
TREES = st.lists(
    st.fixed_dictionaries(
        {"id": ID, "kind": st.sampled_from(["lemon", "apple", "fig", "navel"]), "planted": st.dates(date(2010, 1, 1), date(2020, 1, 1))},
        optional={
            "name": TEXT, "note": TEXT,
            "height": st.sampled_from(["2.1 m", "7 ft", "7 ft 3 in", "180 cm"]),
            "spread": st.sampled_from(["2 m", ["2.2 m", "2.0 m"]]),
            "trunk_girth": st.sampled_from(["18 cm", "7 in"]),
            "grows_in": st.sampled_from(["ground", {"container": "45 L", "medium": "bark and peat"}]),
            "harvests": st.lists(st.fixed_dictionaries({"year": st.integers(2020, 2026), "mass": MASS}, optional={"fruit": st.integers(0, 900)}), max_size=4, unique_by=lambda row: row["year"]),
            "observed": st.lists(st.fixed_dictionaries({"event": st.sampled_from(["full bloom", "leaf fall"]), "date": DAY}), max_size=4),
            "done": st.lists(st.fixed_dictionaries({"date": DAY, "job": st.just("feed"), "product": st.just("bag"), "amount": MASS}, optional={"note": TEXT}), max_size=4),
            "counts": st.lists(st.fixed_dictionaries({"date": DAY, "paths": st.lists(st.fixed_dictionaries({"probability": st.floats(0.01, 1), "fruit": st.integers(0, 60)}), min_size=1, max_size=3)}), max_size=2),
            "leaf_tests": st.lists(st.fixed_dictionaries({"date": DAY, "n": st.sampled_from(["2.4 %", "1.9 %"])}), max_size=2),
        },
    ),
    max_size=4, unique_by=lambda row: row["id"],
)  # fmt: skip
GARDENS = st.fixed_dictionaries(
    {
        "bearwell": st.just(1),
        "garden": st.fixed_dictionaries({"name": TEXT}, optional={"units": st.sampled_from(["metric", "us"])}),
        "site": st.fixed_dictionaries(
            {"latitude": st.floats(-60, 60, allow_nan=False), "longitude": st.integers(-180, 180)},
            optional={"elevation": st.sampled_from(["35 m", "120 ft"]), "soil": st.sampled_from(["loam", {"field_capacity": "24 %", "wilting_point": "11 %"}])},
        ),
        "tree": TREES,
        "product": st.just([{"id": "bag", "name": "granules", "label": "5-5-5", "release": "granular organic", "on_hand": "900 kg"}]),
    },
    optional={
        "no_feeding": st.lists(st.fixed_dictionaries({"from": st.just("06-01"), "to": st.sampled_from(["09-30", "08-01"])}, optional={"reason": TEXT}), max_size=2),
        "feeding": st.fixed_dictionaries({}, optional={"late_rounds": st.just("stop before frost"), "rain_days": st.integers(0, 9)}),
    },
)  # fmt: skip


@settings(max_examples=40)
@given(GARDENS, GARDENS)
def test_a_garden_goes_into_the_store_and_out_again_unchanged(
    first: dict[str, object], second: dict[str, object]
):
    """File, store, export, file; then another file over it: equal gardens at every station."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        file = folder / "garden.toml"
        file.write_text(toml_text(first), "utf-8")
        wanted = api.open_garden(file, TODAY).garden
        with kept(str(folder / "data"), file) as store:
            assert opened(store).garden == wanted
            api.export_garden(store, folder / "out")
            assert api.open_garden(folder / "out" / "garden.toml", TODAY).garden == wanted
            file.write_text(toml_text(second), "utf-8")
            api.import_garden(store, stamp(), TODAY, path=file, update=True)
            assert opened(store).garden == api.open_garden(file, TODAY).garden
