"""A season looked back on: nothing is known before its day, and every advice and record stands once."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from pathlib import Path

import pytest

from bearwell import api
from bearwell.api.season import as_it_stood
from bearwell.demo import write_demo
from bearwell.errors import BadInput
from gardens import MILD, SHELF, TODAY, opened, tree, weather_of

YEAR_AGO = TODAY - timedelta(days=365)
RECORDS = """
harvests = [{ year = 2024, mass = "12 kg" }, { year = 2025, mass = "9 kg" }, { year = 2026, mass = "11 kg", fruit = 180 }]
observed = [
  { event = "full bloom", date = 2025-04-14 }, { event = "full bloom", date = 2026-04-09 },
  { event = "harvest start", date = 2026-09-01 },
]
counts = [{ date = 2026-06-20, fruit = 400 }]
done = [
  { date = 2025-10-01, job = "feed", product = "balanced", amount = "90 g" },
  { date = 2026-02-12, job = "prune" },
  { date = 2026-03-20, job = "feed", product = "balanced", amount = "200 g" },
  { date = 2026-03-20, job = "feed", product = "balanced", amount = "50 g" },
  { date = 2026-05-20, job = "feed", product = "balanced" },
  { date = 2026-06-24, job = "thin" },
  { date = 2026-07-02, job = "thin" },
  { date = 2026-07-10, job = "water", amount = "40 L" },
  { date = 2026-12-24, job = "protect" },
  { date = 2026-11-20, job = "inspect", note = "all well" },
]
"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> api.LoadedGarden:
    return api.open_garden(write_demo(tmp_path_factory.mktemp("demo"), TODAY), TODAY)


@pytest.fixture(scope="module")
def looked(demo: api.LoadedGarden) -> api.GardenSeason:
    return api.look_back(demo)


@pytest.fixture(scope="module")
def apple(tmp_path_factory: pytest.TempPathFactory) -> api.LoadedGarden:
    records = RECORDS.replace('  { date = 2026-12-24, job = "protect" },\n', "")
    return opened(tmp_path_factory.mktemp("apple"), tree("apple", more=records), head=SHELF)


def acts_of(one: api.TreeSeason) -> list[api.Act]:
    lines = [act for line in (*one.lines, *one.looks) for act in line.acts]
    return [*lines, *one.unasked, *one.waterings, *one.protections]


# ---------------------------------------------------------------- every record and advice once


def test_the_records_of_the_span_stand_there_once(looked: api.GardenSeason):
    for one in looked.trees:
        mine = Counter(
            (work.date, work.job, work.product, work.amount, work.look, work.note)
            for work in one.tree.done
            if looked.since <= work.date <= looked.until
        )
        stand = Counter(
            (row.date, row.job, row.product, row.amount, row.look, row.note)
            for act in acts_of(one)
            for row in act.rows
        )
        assert stand == mine, one.tree.id
        assert one.records == mine.total()


def test_no_advice_stands_twice_and_each_has_a_known_verdict(looked: api.GardenSeason):
    for one in looked.trees:
        lines = (*one.lines, *one.looks)
        assert len({(line.advice.id, line.advice.window.best) for line in lines}) == len(lines)
        assert {line.verdict for line in lines} <= set(api.VERDICTS)
        for line in lines:
            assert bool(line.acts) == (line.verdict in ("as-advised", "differently"))
            assert line.told <= line.advice.window.latest


def test_nitrogen_agrees_with_the_records_and_labels(looked: api.GardenSeason):
    given = 0
    for one in looked.trees:
        tree_nitrogen = one.nitrogen
        acts = [act for act in acts_of(one) if act.job == "feed"]
        assert tree_nitrogen.feedings == len(acts)
        assert tree_nitrogen.given == pytest.approx(sum(act.nitrogen or 0.0 for act in acts))
        assert tree_nitrogen.counted <= tree_nitrogen.given + 1e-9
        assert tree_nitrogen.unweighed == sum(act.nitrogen is None for act in acts)
        given += len(acts)
    assert given > 20


def test_rows_of_one_day_are_one_feeding_and_its_nitrogen_adds_up(apple: api.LoadedGarden):
    (one,) = api.look_back(apple).trees
    bag = next(each for each in apple.garden.products if each.id == "balanced")
    (act,) = [act for act in acts_of(one) if act.job == "feed" and act.day == date(2026, 3, 20)]

    assert len(act.rows) == 2
    assert act.nitrogen == pytest.approx(250 * bag.grade[0] / 100)
    assert one.nitrogen.given == pytest.approx(act.nitrogen)
    assert one.nitrogen.unweighed == 1  # the one in May has no amount
    assert "feed-without-amount" in {change.key for change in one.changes}


def test_work_done_in_two_passes_is_one_job(apple: api.LoadedGarden):
    (one,) = api.look_back(apple).trees
    thinning = [line for line in one.lines if line.advice.kind == "thin" and line.acts]

    assert [len(line.acts) for line in thinning] == [2]
    assert not [act for act in one.unasked if act.job == "thin"]


def test_a_look_without_a_name_is_a_record_of_its_own(apple: api.LoadedGarden):
    (one,) = api.look_back(apple).trees

    assert [act.notes for act in one.unasked if act.job == "inspect"] == [("all well",)]


def test_water_given_is_what_is_written_down(apple: api.LoadedGarden):
    (one,) = api.look_back(apple).trees

    assert one.water is not None
    assert one.water.given == pytest.approx(40)
    assert len(one.waterings) == 1
    assert one.water.asked > 0
    assert one.water.days == 366


# ---------------------------------------------------------------- nothing is known before its day


def test_a_tree_stands_as_it_did_on_a_morning(apple: api.LoadedGarden):
    one = as_it_stood(apple.garden.trees[0], date(2026, 3, 20))

    assert [work.date for work in one.done] == [date(2025, 10, 1), date(2026, 2, 12)]
    assert [seen.date for seen in one.observed] == [date(2025, 4, 14)]
    assert one.counts == ()


def test_what_is_recorded_later_does_not_change_what_was_forecast(tmp_path: Path):
    """The same garden with and without everything after June looks the same up to June."""
    until = date(2026, 6, 1)
    early = "\n".join(
        line for line in RECORDS.splitlines()
        if not any(mark in line for mark in ("2026-06", "2026-07", "2026-11", "2026-12", "2026-09"))
    ).replace("counts = [{ date = 2026-06-20, fruit = 400 }]", "")  # fmt: skip
    early = early.replace(', { year = 2026, mass = "11 kg", fruit = 180 }', "")
    whole = RECORDS.replace('  { date = 2026-12-24, job = "protect" },\n', "")
    seasons = []
    for name, records in (("early", early), ("whole", whole)):
        folder = tmp_path / name
        folder.mkdir()
        garden = opened(folder, tree("apple", more=records), head=SHELF)
        seasons.append(api.look_back(garden, until - timedelta(days=200), until).trees[0])

    assert seasons[0].lines == seasons[1].lines
    assert seasons[0].nitrogen == seasons[1].nitrogen
    assert seasons[0].dates == seasons[1].dates


def test_weather_after_a_morning_does_not_reach_its_forecast(tmp_path: Path):
    """A record that ends and one that goes on give one forecast of bloom for the span before."""
    since, until = date(2026, 1, 10), date(2026, 5, 20)
    seasons = []
    for end in (date(2026, 5, 20), TODAY):
        folder = tmp_path / end.isoformat()
        folder.mkdir()
        whole = weather_of("mild", TODAY)
        garden = opened(
            folder, tree("apple", more=RECORDS.split("counts")[0].replace(', { year = 2026, mass = "11 kg", fruit = 180 }', "")
                         .replace('  { event = "harvest start", date = 2026-09-01 },\n', "")),
            head=SHELF, today=end, weather=whole.between(whole.start, end),
        )  # fmt: skip
        seasons.append(api.look_back(garden, since, until).trees[0])

    assert [one.forecast for one in seasons[0].dates] == [one.forecast for one in seasons[1].dates]
    assert [one.event for one in seasons[0].dates] == ["full bloom"]


# ---------------------------------------------------------------- dates and crops


def test_a_date_is_set_beside_its_forecast(apple: api.LoadedGarden):
    (one,) = api.look_back(apple).trees
    bloom = next(each for each in one.dates if each.event == "full bloom")

    assert bloom.seen == date(2026, 4, 9)
    assert bloom.off == (bloom.seen - bloom.forecast).days
    assert bloom.within == (bloom.low <= bloom.seen <= bloom.high)
    assert bloom.told == YEAR_AGO


def test_a_crop_is_set_beside_its_forecast(apple: api.LoadedGarden):
    (one,) = api.look_back(apple).trees
    (crop,) = one.crops

    assert crop.year == 2026
    assert crop.picked is not None
    assert crop.picked.mass == 11_000
    assert crop.fruit_mass == pytest.approx(11_000 / 180)
    assert crop.first is not None
    assert crop.within == (crop.first.crop.low <= 11_000 <= crop.first.crop.high)


def test_a_date_far_off_is_told_with_both_days(tmp_path: Path):
    records = 'observed = [{ event = "full bloom", date = 2026-06-30 }]'
    (one,) = api.look_back(opened(tmp_path, tree("apple", more=records))).trees
    (missed,) = [each for each in one.dates if not each.within]
    change = next(each for each in one.changes if each.key == "date-missed")

    assert missed.off > 30
    assert change.because[0].value == missed.off


def test_a_missing_date_is_asked_for(tmp_path: Path):
    (one,) = api.look_back(opened(tmp_path, tree("apple"))).trees

    assert [each.event for each in one.unseen if each.event == "full bloom"] == ["full bloom"]
    assert "date-not-recorded" in {change.key for change in one.changes}


# ---------------------------------------------------------------- spans, places, young gardens


def test_a_span_is_chosen(apple: api.LoadedGarden):
    found = api.look_back(apple, date(2026, 2, 1), date(2026, 4, 30))
    (one,) = found.trees

    assert (found.since, found.until) == (date(2026, 2, 1), date(2026, 4, 30))
    assert {act.day for act in acts_of(one)} == {date(2026, 2, 12), date(2026, 3, 20)}
    assert all(line.advice.window.latest >= found.since for line in one.lines)


@pytest.mark.parametrize(
    ("since", "until", "message"),
    [
        (TODAY, TODAY + timedelta(days=30), "still to come"),
        (TODAY - timedelta(days=3), TODAY, "cannot be looked back on"),
        (TODAY, TODAY - timedelta(days=30), "cannot be looked back on"),
        (TODAY - timedelta(days=401), TODAY, "cannot be looked back on"),
        (date(1800, 1, 1), date(1800, 6, 1), "too long ago"),
        (None, date(1, 1, 2), "too long ago"),
    ],
)
def test_a_span_that_cannot_be_is_refused(
    apple: api.LoadedGarden, since: date | None, until: date, message: str
):
    with pytest.raises(BadInput, match=message):
        api.look_back(apple, since, until)


def test_seasons_run_from_midwinter_to_midwinter_in_the_south(tmp_path: Path):
    garden = opened(tmp_path, tree("apple"), southern=True)
    seasons = [one for one in api.season_choices(garden) if one.key == "season"]

    assert [one.since for one in seasons] == [date(2026, 7, 2), date(2025, 7, 2), date(2024, 7, 2)]
    assert [one.until for one in seasons][1:] == [date(2026, 7, 1), date(2025, 7, 1)]


def test_the_south_is_looked_back_on_half_a_year_apart(tmp_path: Path):
    blooms = []
    for southern in (False, True):
        folder = tmp_path / str(southern)
        folder.mkdir()
        garden = opened(folder, tree("apple"), southern=southern, head=SHELF)
        (one,) = api.look_back(garden).trees
        assert {line.advice.kind for line in one.lines} >= {"feed", "prune"}
        blooms.append(next(each.date for each in one.unseen if each.event == "full bloom"))

    assert 150 < abs((blooms[0] - blooms[1]).days) < 215


def test_a_garden_of_normals_alone_is_looked_back_on(tmp_path: Path):
    rows = "\n".join(
        f'{name} = "{" ".join(str(value) for value in MILD[name])} {unit}"'
        for name, unit in (("tmin", "degC"), ("tmax", "degC"), ("rain", "mm"))
    )
    garden = opened(
        tmp_path, tree("apple"), place=None, head=f"{SHELF}\n[weather.normals]\n{rows}\n"
    )
    (one,) = api.look_back(garden).trees

    assert one.lines
    assert one.cold is None  # no night was measured
    assert one.water is not None
    assert one.water.unmeasured == one.water.days


def test_a_garden_without_any_weather_is_looked_back_on(tmp_path: Path):
    (one,) = api.look_back(opened(tmp_path, tree("apple"), place=None)).trees

    assert one.water is None
    assert one.cold is None
    assert {line.verdict for line in one.lines} <= {"not-recorded", "still-open"}


def test_nothing_recorded_is_never_called_undone(tmp_path: Path):
    (one,) = api.look_back(opened(tmp_path, tree("apple"), head=SHELF)).trees
    said = [change.headline.text + change.proposal.text for change in one.changes]

    assert one.work.done == 0
    assert not any("not done" in text or "undone" in text for text in said)
    assert "feed-not-recorded" in {change.key for change in one.changes}


def test_a_tree_that_came_later_is_left_out(tmp_path: Path):
    young = tree("apple", years=0.3)
    found = api.look_back(opened(tmp_path, young), date(2026, 1, 1), date(2026, 6, 1))

    assert found.trees == ()
    assert [one.id for one in found.left_out] == ["one"]
    assert found.honesty is None
    assert found.changes == ()


def test_looking_back_leaves_the_plan_of_today_alone(tmp_path: Path):
    garden = opened(tmp_path, tree("apple", more=RECORDS.replace("  { date = 2026-12-24, job = \"protect\" },\n", "")), head=SHELF)  # fmt: skip
    before = api.planned(garden)
    api.look_back(garden)

    assert api.planned(garden) == before
    again = opened(tmp_path, tree("apple", more=RECORDS.replace("  { date = 2026-12-24, job = \"protect\" },\n", "")), head=SHELF)  # fmt: skip
    assert api.look_back(again) == api.look_back(garden)


def test_a_garden_can_be_asked_for_one_tree(demo: api.LoadedGarden, looked: api.GardenSeason):
    one = api.look_back(demo, tree="hass-hoop")

    assert one.trees == tuple(each for each in looked.trees if each.tree.id == "hass-hoop")


def test_every_change_has_reasons_with_figures_or_days(looked: api.GardenSeason):
    changes = [*looked.changes, *(change for one in looked.trees for change in one.changes)]

    assert changes
    for change in changes:
        assert change.because, change.key
        assert change.confidence in ("read", "computed", "secondhand", "memory", "judgement")
