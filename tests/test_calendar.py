"""The calendar feed, read back by two parsers that are none of ours and held against RFC 5545 and RFC 7986.

The parsers are `icalendar` and `ical` from the package index. What this file says of the standard: lines of at
most 75 octets and CRLF (RFC 5545 3.1), TEXT escaping (3.3.11), UID, DTSTAMP, DTSTART, SEQUENCE of an event
(3.6.1, 3.8.7.4), NAME and REFRESH-INTERVAL (RFC 7986 5.1, 5.7).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import ical.calendar_stream
import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from bearwell import api
from bearwell.faces import calendar as feed
from bearwell.faces import ical as lines
from bearwell.faces.web.pages import subscribed
from gardens import tree
from test_plan_cold import forecast
from test_web import client_of
from web_garden import GARDEN, TODAY

MOMENT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
# Commas, semicolons, strokes, line breaks, markup and letters beyond ASCII, in the names a grower chose.
NAME = "Tern; Steps, \\\\ Vale do Açor 🍊 梨園"
TREES = """
[[tree]]
id = "limão.1"
kind = "lemon"
name = "Limão, o velho; \\\\ do poço\\nnorte 🍋 sob a laranjeira da avó Conceição e do tio Zé"
planted = 2015-03-20
height = "2.6 m"
spread = "2.4 m"
"""


@pytest.fixture(scope="module")
def demo_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(api.write_demo(tmp_path_factory.mktemp("demo"), TODAY))


@pytest.fixture(scope="module")
def demo(demo_path: Path) -> api.LoadedGarden:
    return api.open_garden(demo_path, TODAY)


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> api.LoadedGarden:
    """A garden whose names hold every sign that iCalendar treats in its own way."""
    path = tmp_path_factory.mktemp("odd") / "garden.toml"
    head = GARDEN.format(units="metric").replace("Tern & <b>Steps</b>", NAME)
    path.write_text(head + TREES, "utf-8")
    return api.open_garden(path, TODAY)


def events(text: str) -> list[icalendar.Event]:
    """The events as the first parser reads them."""
    return list(icalendar.Calendar.from_ical(text).walk("VEVENT"))


def by_job(text: str) -> dict[str, icalendar.Event]:
    return {str(one["X-BEARWELL-ADVICE"]): one for one in events(text)}


class TestText:
    def test_both_parsers_read_every_event(self, demo: api.LoadedGarden, odd: api.LoadedGarden):
        for opened in (demo, odd):
            text = feed.calendar_text(opened, MOMENT, base="http://192.168.1.20:8321")
            other = ical.calendar_stream.IcsCalendarStream.calendar_from_ics(text)
            mine = {str(one["UID"]): one for one in events(text)}

            assert len(mine) == len(other.events) == len(feed.entries(opened)) > 5
            for one in other.events:
                first = mine[one.uid]
                assert one.summary == str(first["SUMMARY"])
                assert one.description == str(first["DESCRIPTION"])
                assert one.start == first["DTSTART"].dt
                assert one.end == first["DTEND"].dt

    def test_no_parser_finds_anything_to_complain_of(self, odd: api.LoadedGarden):
        text = feed.calendar_text(odd, MOMENT, base="http://127.0.0.1:8321")
        whole = icalendar.Calendar.from_ical(text)

        assert [one.errors for one in whole.walk() if one.errors] == []

    def test_lines_end_in_crlf_and_hold_75_octets_at_most(self, odd: api.LoadedGarden):
        raw = feed.calendar_text(odd, MOMENT).encode("utf-8")

        assert raw.endswith(b"END:VCALENDAR\r\n")
        rows = raw.split(b"\r\n")
        assert max(len(row) for row in rows) == 75
        assert not any(b"\n" in row or b"\r" in row for row in rows)
        for row in rows:
            row.decode("utf-8")  # no character is torn

    def test_names_come_back_sign_for_sign(self, odd: api.LoadedGarden):
        text = feed.calendar_text(odd, MOMENT)
        whole = icalendar.Calendar.from_ical(text)
        called = odd.garden.tree("limão.1").called

        assert "\n" in called
        # The parser leaves the value of NAME as it is written, though RFC 7986 5.1 makes it TEXT.
        written = lines.escaped(odd.garden.about.name)
        assert {str(whole[key]) for key in ("NAME", "X-WR-CALNAME")} == {written}
        assert any(str(one["SUMMARY"]).startswith(f"{called}: ") for one in events(text))

    def test_the_calendar_says_what_it_is_and_how_often_to_ask(self, demo: api.LoadedGarden):
        whole = icalendar.Calendar.from_ical(feed.calendar_text(demo, MOMENT))

        assert whole["VERSION"] == "2.0"
        assert "bearwell" in whole["PRODID"]
        assert (
            "METHOD" not in whole
        )  # a calendar to read, no invitation: RFC 5546 would ask for an organizer
        assert whole["REFRESH-INTERVAL"].dt == timedelta(hours=12)

    @given(st.text(max_size=200))
    def test_any_text_survives_writing_and_reading(self, text: str):
        plain = "".join(sign for sign in text if sign.isprintable() or sign == "\n")
        written = lines.document(
            lines.block("VCALENDAR", lines.block("VEVENT", ["UID:x", lines.text("SUMMARY", plain)]))
        )

        assert max(len(row) for row in written.encode("utf-8").split(b"\r\n")) <= 75
        assert [str(one["SUMMARY"]) for one in events(written)] == [plain]

    @given(st.text(max_size=300))
    def test_folding_is_undone_by_unfolding(self, text: str):
        line = lines.text("DESCRIPTION", text)

        assert lines.unfolded(lines.folded(line)) == [line]

    def test_control_characters_are_left_out(self):
        assert lines.escaped("a\x00b\x1bc\x7f\td") == "abc\td"
        assert lines.escaped("a\r\nb\rc\u2028d") == "a\\nb\\nc\\nd"


class TestEvents:
    def test_a_job_stands_all_day_on_its_best_day_or_on_its_last(self, demo: api.LoadedGarden):
        advice = {one.id: one for one in api.planned(demo)}
        moved = 0
        for key, event in by_job(feed.calendar_text(demo, MOMENT)).items():
            if key not in advice:
                continue
            window = advice[key].window
            late = window.best < TODAY
            moved += late
            assert event["DTSTART"].dt == (window.latest if late else window.best)
            assert event["DTEND"].dt - event["DTSTART"].dt == timedelta(days=1)
            assert type(event["DTSTART"].dt) is date
        assert moved

    def test_every_job_of_the_year_is_in_it_once(self, demo: api.LoadedGarden):
        told = [one.id for entry in feed.entries(demo) for one in entry.advice]
        due = {
            one.id
            for one in api.planned(demo)
            if one.window.latest >= TODAY and one.window.best <= TODAY + timedelta(days=366)
        }

        assert len(told) == len(set(told))
        assert set(told) == due

    def test_looking_round_is_one_event_that_names_the_trees(self, demo: api.LoadedGarden):
        shared = [entry for entry in feed.entries(demo) if len(entry.advice) > 1]

        assert shared
        for entry in shared:
            assert entry.lead.kind in ("inspect", "measure")
            for one in entry.advice:
                assert demo.garden.tree(one.tree).called in entry.text
        assert len({entry.key for entry in feed.entries(demo)}) == len(feed.entries(demo))

    def test_the_words_tell_when_how_much_how_why_and_what_to_mind(self, demo: api.LoadedGarden):
        entry = next(
            one for one in feed.entries(demo) if one.lead.kind == "feed" and one.lead.display
        )
        said = entry.text

        assert "best" in said and str(entry.day.year) in said
        assert "How:\n- " in said and "Why:\n- " in said and "Take care:\n- " in said
        assert all(caution in said for caution in entry.lead.cautions)

    def test_one_tree_has_its_own_jobs_under_the_same_uids(self, demo: api.LoadedGarden):
        whole = by_job(feed.calendar_text(demo, MOMENT))
        one = by_job(feed.calendar_text(demo, MOMENT, tree="navel-wall"))

        assert all(key.startswith("navel-wall/") for key in one)
        same = [key for key in one if key in whole]
        assert same
        assert all(one[key]["UID"] == whole[key]["UID"] for key in same)

    def test_links_lead_to_the_pages_only_where_there_are_any(self, odd: api.LoadedGarden):
        bare = events(feed.calendar_text(odd, MOMENT))
        served = by_job(feed.calendar_text(odd, MOMENT, base="http://192.168.1.20:8321"))
        links = {key: str(one["URL"]) for key, one in served.items()}

        assert all("URL" not in one for one in bare)
        assert {"http://192.168.1.20:8321/tree/lim%C3%A3o.1"} == {
            link for key, link in links.items() if key.startswith("limão.1/")
        }
        assert all(link.isascii() for link in links.values())

    def test_a_job_that_a_rule_holds_back_is_tentative(self, demo: api.LoadedGarden):
        held = [entry for entry in feed.entries(demo) if entry.lead.standing == "blocked"]
        told = by_job(feed.calendar_text(demo, MOMENT))

        assert held
        for entry in held:
            assert told[entry.key]["STATUS"] == "TENTATIVE"
            assert entry.title.startswith("Held back: ")

    def test_a_cold_night_reminds_in_the_afternoon_and_the_evening_before(self, tmp_path: Path):
        nights = [2.0, -5.0, 8.0, 8.0, 8.0, 8.0, 8.0]
        opened = forecast(tmp_path, tree("persian-lime"), nights)
        text = feed.calendar_text(opened, MOMENT)
        reminded = [one for one in events(text) if list(one.walk("VALARM"))]

        assert len(reminded) == 1
        (night,) = reminded
        eve = TODAY + timedelta(days=1)  # the night to the day after it is the cold one
        assert night["DTSTART"].dt == eve
        alarms = list(night.walk("VALARM"))
        assert [one["ACTION"] for one in alarms] == ["DISPLAY", "DISPLAY"]
        assert [one["TRIGGER"].dt for one in alarms] == [timedelta(hours=15), timedelta(hours=-6)]

    def test_no_day_of_today_is_in_it(self, demo_path: Path, demo: api.LoadedGarden):
        """What is worked out anew tomorrow and comes out the same is the same text."""
        text = feed.calendar_text(demo, MOMENT)

        assert feed.calendar_text(api.open_garden(demo_path, TODAY), MOMENT) == text


@pytest.fixture(scope="module")
def weeks(demo_path: Path) -> list[str]:
    """The calendar of four weeks, each made with that of the week before at hand."""
    texts, before = [], ""
    for week in range(4):
        opened = api.open_garden(demo_path, TODAY + timedelta(weeks=week))
        before = feed.calendar_text(opened, MOMENT + timedelta(weeks=week), before=before)
        texts.append(before)
    return texts


class TestFromWeekToWeek:
    def test_jobs_keep_their_uid(self, weeks: list[str]):
        for earlier, later in pairwise(weeks):
            first, second = by_job(earlier), by_job(later)
            same = set(first) & set(second)

            assert len(same) > 0.8 * len(second)
            assert all(first[key]["UID"] == second[key]["UID"] for key in same)

    def test_without_the_calendar_before_the_uids_come_out_the_same(self, demo_path: Path):
        fresh = [
            by_job(
                feed.calendar_text(api.open_garden(demo_path, TODAY + timedelta(days=days)), MOMENT)
            )
            for days in (0, 7)
        ]
        same = set(fresh[0]) & set(fresh[1])

        assert same
        assert all(fresh[0][key]["UID"] == fresh[1][key]["UID"] for key in same)

    def test_what_did_not_change_keeps_its_stamps_and_what_did_gets_new_ones(
        self, weeks: list[str]
    ):
        kept = moved = 0
        for number, (earlier, later) in enumerate(pairwise(weeks), 1):
            first = {str(one["UID"]): one for one in events(earlier)}
            for one in events(later):
                before = first.get(str(one["UID"]))
                if before is None:
                    continue
                told = ("DTSTART", "SUMMARY", "DESCRIPTION", "STATUS")
                same = all(before[key] == one[key] for key in told)
                if same:
                    kept += 1
                    assert one["SEQUENCE"] == before["SEQUENCE"]
                    assert one["DTSTAMP"].dt == before["DTSTAMP"].dt
                else:
                    moved += 1
                    assert one["SEQUENCE"] > before["SEQUENCE"]
                    assert one["LAST-MODIFIED"].dt == MOMENT + timedelta(weeks=number)
        assert kept > 100
        assert moved > 5

    def test_no_two_events_share_a_uid(self, weeks: list[str]):
        for text in weeks:
            uids = [str(one["UID"]) for one in events(text)]
            assert len(set(uids)) == len(uids)

    def test_a_window_that_moves_over_the_end_of_a_month_moves_its_event(
        self, demo: api.LoadedGarden, monkeypatch: pytest.MonkeyPatch
    ):
        entry = next(one for one in feed.entries(demo) if "/prune/main/2027-02" in one.key)
        before = feed.calendar_text(demo, MOMENT)
        shift = timedelta(days=20)
        window = entry.lead.window
        late = replace(
            entry.lead,
            id=entry.lead.id.replace("2027-02", "2027-03"),
            window=api.Window(window.earliest + shift, window.best + shift, window.latest + shift),
        )
        others = [one for one in api.planned(demo) if one.id != entry.lead.id]
        monkeypatch.setattr(feed, "planned", lambda *_: [*others, late])
        after = feed.calendar_text(demo, MOMENT + timedelta(days=1), before=before)

        old, new = by_job(before)[entry.key], by_job(after)[late.id]
        assert new["UID"] == old["UID"]
        assert new["DTSTART"].dt == old["DTSTART"].dt + shift
        assert new["SEQUENCE"] > old["SEQUENCE"]
        assert len(events(after)) == len(events(before))

    def test_a_calendar_of_another_hand_is_passed_over(self, demo: api.LoadedGarden):
        foreign = "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:x\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"

        assert feed.calendar_text(demo, MOMENT, before=foreign) == feed.calendar_text(demo, MOMENT)


class TestSubscribing:
    def test_nothing_is_sent_again_when_nothing_changed(self, demo_path: Path):
        client = client_of(demo_path)
        first = client.get("/calendar.ics")
        mark = first.headers["etag"]
        again = client.get("/calendar.ics", headers={"If-None-Match": mark})
        several = client.get("/calendar.ics", headers={"If-None-Match": f'"other", {mark}'})
        stale = client.get("/calendar.ics", headers={"If-None-Match": '"other"'})

        assert first.status_code == 200
        assert first.headers["content-type"] == "text/calendar; charset=utf-8"
        assert again.status_code == several.status_code == 304
        assert again.content == b""
        assert again.headers["etag"] == mark
        assert stale.status_code == 200
        assert len(events(first.text)) > 100

    def test_the_mark_holds_over_the_hours_and_changes_with_the_garden(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ):
        path = tmp_path / "garden.toml"
        path.write_text(GARDEN.format(units="metric"), "utf-8")
        client = client_of(path)
        moment = MOMENT
        monkeypatch.setattr(subscribed, "now_here", lambda: moment)
        mark = client.get("/calendar.ics").headers["etag"]
        first = events(client.get("/calendar.ics").text)

        moment = MOMENT + timedelta(hours=9)
        path.write_text(GARDEN.format(units="metric") + "\n# a remark\n", "utf-8")
        assert client.get("/calendar.ics", headers={"If-None-Match": mark}).status_code == 304

        path.write_text(GARDEN.format(units="metric").replace("2.1 m", "2.2 m"), "utf-8")
        changed = client.get("/calendar.ics", headers={"If-None-Match": mark})
        assert changed.status_code == 200
        stamps = {one["DTSTAMP"].dt for one in events(changed.text)}
        assert stamps == {MOMENT, moment}
        assert {str(one["UID"]) for one in events(changed.text)} == {
            str(one["UID"]) for one in first
        }

    def test_the_head_alone_may_be_asked_for(self, demo_path: Path):
        answer = client_of(demo_path).head("/calendar.ics")

        assert answer.status_code == 200
        assert answer.headers["etag"]

    def test_a_tree_that_is_not_there_is_refused_as_elsewhere(self, demo_path: Path):
        assert client_of(demo_path).get("/calendar.ics?tree=nobody").status_code == 422

    def test_one_tree_may_be_asked_for_by_its_name(self, demo_path: Path):
        client = client_of(demo_path)
        called = client.get("/calendar.ics", params={"tree": "Navel on the granite wall"})

        assert events(called.text)
        assert called.text == client.get("/calendar.ics?tree=navel-wall").text

    def test_a_garden_that_cannot_be_read_leaves_the_phone_what_it_has(self, tmp_path: Path):
        path = tmp_path / "garden.toml"
        path.write_text("bearwell = 1\n[garden", "utf-8")
        answer = TestClient(client_of(path).app, base_url="http://127.0.0.1:8321").get(
            "/calendar.ics"
        )

        assert answer.status_code == 503
        assert "not valid TOML" in answer.text
