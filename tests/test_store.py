"""The store on both databases: a garden taken in plans as its file does, and every record moves the plan."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from bearwell import api
from bearwell.errors import BadFile, BadInput
from gardens import TODAY, tree
from stores import JPEG, NOON, days_ago, kept, on_hand, opened, stamp, write


@pytest.fixture
def store(empty_place: str, tmp_path: Path) -> Iterator[api.Store]:
    with kept(empty_place, write(tmp_path / "file", place=None)) as made:
        yield made


@pytest.fixture
def weathered(empty_place: str, tmp_path: Path) -> Iterator[api.Store]:
    with kept(empty_place, write(tmp_path / "file")) as made:
        yield made


def tree_of(store: api.Store, named: str = "one") -> api.Tree:
    return opened(store).garden.tree(named)


def feed(store: api.Store, amount: str, day: date, **rest: object):
    return api.record_done(
        store,
        stamp(),
        TODAY,
        tree="one",
        job="feed",
        day=day,
        product="balanced",
        amount=amount,
        **rest,
    )  # type: ignore[arg-type]


# ---------------------------------------------------------------- the garden


def test_a_garden_from_the_store_plans_as_its_file_does(weathered: api.Store, tmp_path: Path):
    from_file = api.open_garden(tmp_path / "file" / "garden.toml", TODAY)
    from_store = opened(weathered)

    assert from_store.garden == from_file.garden
    assert api.worklist(from_store).advice == api.worklist(from_file).advice
    assert [one.message for one in from_store.problems] == [
        one.message for one in from_file.problems
    ]


def test_a_second_garden_is_not_taken_into_the_same_store(store: api.Store, tmp_path: Path):
    mark = store.mark()

    with pytest.raises(BadInput, match="holds a garden already"):
        api.import_garden(store, stamp(), TODAY, path=tmp_path / "file" / "garden.toml")
    assert store.mark() == mark


def test_a_broken_file_changes_nothing(empty_place: str, tmp_path: Path):
    file = write(tmp_path / "file")
    with kept(empty_place, file) as store:
        mark, before = store.mark(), opened(store).garden
        file.write_text(file.read_text().replace('kind = "apple"', 'kind = "aple"'))

        with pytest.raises(BadFile, match="unknown kind 'aple'"):
            api.import_garden(store, stamp(), TODAY, path=file, update=True)
        assert (store.mark(), opened(store).garden) == (mark, before)


def test_an_edited_file_records_what_has_changed(store: api.Store, tmp_path: Path):
    file = tmp_path / "file" / "garden.toml"
    text = file.read_text()
    text = text.replace('trunk_girth = "36 cm"', 'trunk_girth = "38 cm"', 1)
    text = text.replace('{ year = 2024, mass = "12 kg" }, ', "")
    text += tree("fig").replace('"one"', '"three"')
    file.write_text(text)
    before = store.mark()[1]
    api.import_garden(store, stamp(), TODAY, path=file, update=True)

    assert opened(store).garden == api.open_garden(file, TODAY).garden
    assert (
        store.mark()[1] - before == 3
    )  # a girth, a row struck out, a tree: not the whole file again


def test_the_same_file_again_records_nothing(store: api.Store, tmp_path: Path):
    mark = store.mark()
    api.import_garden(store, stamp(), TODAY, path=tmp_path / "file" / "garden.toml", update=True)

    assert store.mark() == mark


def test_own_kinds_and_weather_come_along(empty_place: str, tmp_path: Path):
    folder = tmp_path / "file"
    own = '[kind.early]\nname = "early one"\nparent = "satsuma"\n'
    file = write(folder, tree("early") + tree("late").replace('"one"', '"two"'), head=own)
    (folder / "kinds").mkdir()
    (folder / "kinds" / "late.toml").write_text('[late]\nname = "late one"\nparent = "satsuma"\n')
    with kept(empty_place, file) as store:
        file.unlink()
        (folder / "weather.csv").unlink()
        loaded = opened(store)

    assert loaded.book.species["late"].name == "late one"
    assert loaded.site.series is not None


def test_a_weather_file_from_elsewhere_is_kept_inside(empty_place: str, tmp_path: Path):
    file = write(tmp_path / "file")
    (tmp_path / "file" / "weather.csv").rename(tmp_path / "elsewhere.csv")
    file.write_text(file.read_text().replace('"weather.csv"', '"../elsewhere.csv"'))
    with api.open_store(empty_place, create=True) as store:
        done = api.import_garden(store, stamp(), TODAY, path=file)

        assert opened(store).garden.weather.daily == ("weather/elsewhere.csv",)
        assert any("is kept as weather/elsewhere.csv" in one.message for one in done.problems)


def test_newer_weather_replaces_the_older_of_its_name(weathered: api.Store, tmp_path: Path):
    rows = (tmp_path / "file" / "weather.csv").read_text() + "2026-11-26,1.5,9.0,0\n"
    (tmp_path / "weather.csv").write_text(rows)
    api.import_weather(weathered, stamp(), TODAY, path=tmp_path / "weather.csv")
    series = opened(weathered).site.series

    assert series is not None and series.end == date(2026, 11, 26)
    assert opened(weathered).garden.weather.daily == ("weather.csv",)


# ---------------------------------------------------------------- records move the plan


def test_a_dose_leaves_its_bag_and_undoing_puts_it_back(store: api.Store):
    first = feed(store, "250 g", days_ago(1))
    assert on_hand(store) == 39_750
    undone = api.undo(store, stamp(), TODAY, record=first.id)
    assert on_hand(store) == 40_000
    assert tree_of(store).last_done("feed", TODAY).date == date(2026, 3, 1)  # type: ignore[union-attr]
    api.undo(store, stamp(), TODAY, record=undone.id)

    assert on_hand(store) == 39_750
    assert tree_of(store).last_done("feed", TODAY).amount == 250  # type: ignore[union-attr]


def test_weighing_a_bag_starts_its_count_anew(store: api.Store):
    feed(store, "2 kg", days_ago(20))
    api.record_stock(store, stamp(), TODAY, product="balanced", on_hand="36.5 kg", day=days_ago(10))
    assert on_hand(store) == 36_500
    feed(store, "1 lb", days_ago(15))  # written down late: the bag was weighed after it
    assert on_hand(store) == 36_500
    feed(store, "500 g", days_ago(5))
    assert on_hand(store) == 36_000
    api.record_stock(store, stamp(), TODAY, product="balanced", on_hand="39 kg", day=days_ago(12))

    assert on_hand(store) == 36_000  # an older weight does not replace a newer one


def test_more_given_than_was_there_is_told(store: api.Store):
    feed(store, "41 kg", days_ago(1))

    assert on_hand(store) == 0
    assert any("1000 g more than was on hand" in one.message for one in opened(store).problems)


def test_what_is_seen_counted_and_tested_reaches_the_tree(store: api.Store):
    api.record_seen(store, stamp(), TODAY, tree="one", event="harvest start", day=days_ago(3))
    api.record_count(
        store, stamp(), TODAY, tree="one", day=days_ago(2), paths=[(0.5, 20), (0.25, 11)]
    )
    api.record_count(store, stamp(), TODAY, tree="two", day=days_ago(2), fruit=130)
    api.record_leaf_test(
        store, stamp(), TODAY, tree="one", day=days_ago(60), values={"n": "2.4 %", "zn": "18 ppm"}
    )
    api.record_soil_test(store, stamp(), TODAY, day=days_ago(60), values={"ph": 6.1})
    one = tree_of(store)

    assert (one.observed[-1].event, one.observed[-1].date) == ("harvest start", days_ago(3))
    assert [path.fruit for path in one.counts[0].paths] == [20, 11]
    assert tree_of(store, "two").counts[0].fruit == 130
    assert one.leaf_tests[0].values == {"n": 2.4, "zn": 18}
    assert opened(store).garden.site.soil_test.ph == 6.1  # type: ignore[union-attr]


def test_pickings_add_up_and_a_whole_crop_stands_for_them(store: api.Store):
    def crops() -> list[tuple[int, float, int | None]]:
        return [(crop.year, round(crop.mass), crop.fruit) for crop in tree_of(store).harvests]

    def pick(mass: str, **rest: object) -> None:
        api.record_harvest(store, stamp(), TODAY, tree="one", day=days_ago(1), mass=mass, **rest)  # type: ignore[arg-type]

    before = [(2024, 12_000, None), (2025, 9_500, 110)]
    pick("3 kg", fruit=30)
    pick("2 lb", fruit=9)
    assert crops() == [*before, (2026, 3_907, 39)]
    pick("1 kg")  # its fruit was not counted, so the crop's count is not known
    assert crops() == [*before, (2026, 4_907, None)]
    pick("500 g", year=2025)
    assert crops() == [before[0], (2025, 10_000, None), (2026, 4_907, None)]
    pick("6 kg", whole=True)

    assert crops() == [before[0], (2025, 10_000, None), (2026, 6_000, None)]


def test_the_newest_measure_by_its_own_date_holds(store: api.Store):
    def measure(girth: str, days: int) -> str:
        done = api.record_measure(
            store,
            stamp(),
            TODAY,
            tree="one",
            day=days_ago(days),
            measures={"trunk_girth": girth, "spread": ["3 m", "9 ft"]},
        )
        return done.id

    newest = measure("41 cm", 2)
    measure("39 cm", 200)
    assert tree_of(store).trunk_girth == pytest.approx(0.41)
    api.undo(store, stamp(), TODAY, record=newest)

    assert tree_of(store).trunk_girth == pytest.approx(0.39)
    assert tree_of(store).spread == pytest.approx((3, 2.7432))
    assert [told.holds for told in api.history(store, "one")][:3] == [True, True, False]


def test_trees_and_bags_come_and_go(store: api.Store):
    new = {"id": "new-fig", "kind": "fig", "planted": days_ago(1)}
    api.record_new(store, stamp(), TODAY, subject="tree", table=new)
    gone = api.record_gone(
        store, stamp(), TODAY, subject="tree", named="two", day=TODAY, reason="blown over"
    )
    assert [one.id for one in opened(store).garden.trees] == ["one", "new-fig"]
    with pytest.raises(BadInput, match=r"no tree 'two'.*new-fig, one"):
        api.record_seen(store, stamp(), TODAY, tree="two", event="leaf fall", day=TODAY)
    api.undo(store, stamp(), TODAY, record=gone.id)

    assert {one.id for one in opened(store).garden.trees} == {"one", "two", "new-fig"}
    with pytest.raises(BadInput, match="is there already"):
        api.record_new(store, stamp(), TODAY, subject="tree", table=new)


def test_any_list_and_any_key_can_be_recorded(store: api.Store):
    rule = {"from": "06-01", "to": "08-31", "reason": "summer rule"}
    api.record_row(store, stamp(), TODAY, subject=".", named="", key="no_feeding", row=rule)
    api.record_state(store, stamp(), TODAY, subject="tree", named="two", values={"note": "leans"})
    garden = opened(store).garden

    assert [one.reason for one in garden.no_feeding] == ["summer rule"]
    assert garden.tree("two").note == "leans"


# ---------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("record", "message"),
    [
        (lambda s: feed(s, "a handful", days_ago(1)), "is not a number with a unit"),
        (lambda s: feed(s, "150 g", TODAY + timedelta(days=1)), "lies after today"),
        (lambda s: feed(s, "150 g", date(2001, 1, 1)), "before planting"),
        (lambda s: api.record_measure(s, stamp(), TODAY, tree="one", day=TODAY, measures={"skirt": "3 m"}), "skirt is not below"),
        (lambda s: api.record_measure(s, stamp(), TODAY, tree="one", day=TODAY, measures={"kind": "fig"}), "not a known measure"),
        (lambda s: api.record_seen(s, stamp(), TODAY, tree="one", event="full blossom", day=TODAY), "one of leaf out"),
        (lambda s: api.record_count(s, stamp(), TODAY, tree="one", day=TODAY), "either paths or fruit"),
        (lambda s: api.record_state(s, stamp(), TODAY, subject="tree", named="one", values={"heigth": "2 m"}), "unknown key 'heigth'"),
        (lambda s: api.record_stock(s, stamp(), TODAY, product="none", on_hand="2 kg", day=TODAY), "no product 'none'"),
        (lambda s: api.record_photo(s, stamp(), TODAY, subject="tree", named="one", day=TODAY, name="a.jpg", content=b""), "is empty"),
        (lambda s: api.record_photo(s, stamp(), TODAY, subject="tree", named="one", day=TODAY, name="a.jpg", content=JPEG + bytes(30 * 1024**2)), "too large: 30 MB, at most 25 MB"),
        (lambda s: api.record_photo(s, stamp(), TODAY, subject="tree", named="one", day=TODAY, name="a.svg", content=b"<svg onload=alert(1)>"), "is not a photo"),
        (lambda s: api.undo(s, stamp(), TODAY, record="%"), "no record '%'"),
    ],
)  # fmt: skip
def test_a_bad_record_is_refused_and_nothing_is_kept(store: api.Store, record, message: str):
    mark = store.mark()

    with pytest.raises(BadInput, match=message):
        record(store)
    assert store.mark() == mark


def test_a_garden_cannot_be_undone_away(store: api.Store):
    first = api.history(store)[-1].entry.action

    with pytest.raises(BadInput, match="would leave no garden"):
        api.undo(store, stamp(), TODAY, record=first)


def test_a_tree_with_later_records_cannot_be_undone_before_them(store: api.Store):
    new = {"id": "fig", "kind": "fig", "planted": days_ago(400)}
    added = api.record_new(store, stamp(), TODAY, subject="tree", table=new)
    seen = api.record_seen(store, stamp(), TODAY, tree="fig", event="leaf fall", day=TODAY)
    with pytest.raises(BadInput, match="more was recorded about it since"):
        api.undo(store, stamp(), TODAY, record=added.id)
    api.undo(store, stamp(), TODAY, record=seen.id)
    api.undo(store, stamp(), TODAY, record=added.id)

    assert [one.id for one in opened(store).garden.trees] == ["one", "two"]


def test_nothing_is_undone_twice(store: api.Store):
    done = feed(store, "250 g", days_ago(1))
    api.undo(store, stamp(), TODAY, record=done.id)

    with pytest.raises(BadInput, match="undone already"):
        api.undo(store, stamp(), TODAY, record=done.id)


def test_a_record_sent_again_is_one_record(store: api.Store):
    same = stamp()
    for repeated in (False, True, True):
        done = api.record_done(
            store,
            same,
            TODAY,
            tree="one",
            job="feed",
            day=TODAY,
            product="balanced",
            amount="100 g",
        )
        assert done.repeated is repeated

    assert on_hand(store) == 39_900


@pytest.mark.parametrize("bad", ["", "7", "../../x", "not-a-uuid"])
def test_a_record_id_is_a_uuid(bad: str):
    with pytest.raises(BadInput, match="is not a record id"):
        api.Stamp(bad, NOON)


def test_a_clock_that_jumps_back_does_not_change_the_order(store: api.Store):
    for hours, height in ((0, "3.0 m"), (-48, "3.1 m"), (-90, "3.2 m")):
        api.record_state(
            store,
            stamp(NOON + timedelta(hours=hours)),
            TODAY,
            subject="tree",
            named="one",
            values={"height": height},
        )

    assert tree_of(store).height == 3.2
    assert [told.entry.payload["height"] for told in api.history(store, "one")[:3]] == [
        "3.2 m",
        "3.1 m",
        "3.0 m",
    ]


# ---------------------------------------------------------------- photos and names


def test_a_photo_is_kept_with_what_it_shows(store: api.Store):
    done = api.record_photo(
        store,
        stamp(),
        TODAY,
        subject="tree",
        named="one",
        day=TODAY,
        name="leaf.jpg",
        content=JPEG,
        note="yellow",
    )
    (photo,) = api.photos(store, "tree", "one")
    assert (photo.media, photo.note, api.photo_content(store, photo)) == (
        "image/jpeg",
        "yellow",
        JPEG,
    )
    api.undo(store, stamp(), TODAY, record=done.id)

    assert api.photos(store) == []
    assert api.photos(store, "tree", "two") == []


NAMES = [
    "<script>alert('x')</script>", "'; DROP TABLE bearwell_entry; --", "=HYPERLINK(\"x\")", "{0} {name} %s", "木 ночь \u202e olive",
    "a\u0000b", "\ud83c\udf4b tab\there \\ \"quoted\" '''", "[red]x[/red]", "$date", "new\nline",
]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_any_name_is_kept_letter_by_letter(store: api.Store, name: str, tmp_path: Path):
    name = name.encode("utf-16", "surrogatepass").decode("utf-16")
    api.record_state(
        store, stamp(), TODAY, subject="tree", named="one", values={"name": name, "note": name}
    )
    written = api.export_garden(store, tmp_path / "out").folder

    assert opened(store).garden.tree("one").name == name.strip()
    assert api.open_garden(written / "garden.toml", TODAY).garden == opened(store).garden
    assert not any(
        cell.startswith(("=", "+", "@", "-"))
        for cell in (written / "records.csv").read_text().split(",")
    )
