"""What is carried and hung up: the week's sheet, the poster, tags whose codes another program reads, the commands."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from html import unescape
from itertools import pairwise
from pathlib import Path
from urllib.parse import quote

import icalendar
import numpy as np
import pytest
import zxingcpp
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from bearwell import api
from bearwell.api import gardens
from bearwell.errors import BadInput, BearwellError, KnowledgeError
from bearwell.faces import printing
from bearwell.faces.addresses import base_address, only_here
from bearwell.faces.cli import cli
from bearwell.faces.twins import words_of
from bearwell.faces.web.drawing.poster import Job, Line, Stretch, posters
from bearwell.faces.web.drawing.svg import Days
from bearwell.faces.web.drawing.svg import tag as element
from bearwell.faces.web.pages import paper
from test_web import Outline, client_of
from web_garden import GARDEN, TODAY, write_garden

PAGES = (
    "/paper", "/sheet/week", "/sheet/week?days=1", "/sheet/week?days=90", "/poster", "/poster?paper=a4", "/tags",
    "/tags?size=large&skip=3", "/tags?tree=calamondin-pot", "/map", "/map?years=10",
)  # fmt: skip


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    return client_of(write_garden(tmp_path_factory.mktemp("paper")))


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    """A garden whose trees are not written down yet."""
    path = tmp_path_factory.mktemp("bare") / "garden.toml"
    path.write_text(GARDEN.format(units="us").split("[[tree]]")[0], "utf-8")
    return client_of(path)


@pytest.fixture(scope="module")
def demo_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(api.write_demo(tmp_path_factory.mktemp("demo"), TODAY))


@pytest.fixture(scope="module")
def demo(demo_path: Path) -> TestClient:
    return client_of(demo_path)


@pytest.fixture(scope="module")
def opened(demo_path: Path) -> api.LoadedGarden:
    return api.open_garden(demo_path, TODAY)


class TestEveryPage:
    @pytest.mark.parametrize("place", PAGES)
    def test_it_is_whole_and_keeps_to_our_own_files(self, client: TestClient, place: str):
        answer = client.get(place)
        found = Outline(answer.text)

        assert answer.status_code == 200
        assert found.open == []
        assert len(set(found.ids)) == len(found.ids)
        assert found.headings[0] == 1
        assert all(later - earlier <= 1 for earlier, later in pairwise(found.headings))
        assert all(re.match(r"/[a-z]", source) for source in found.sources)
        assert not [key for key, _ in found.attributes if key.startswith("on") or key == "style"]
        assert "<script>alert" not in answer.text and "<img" not in answer.text

    @pytest.mark.parametrize("place", PAGES)
    def test_its_json_twin_is_named_and_answers(self, client: TestClient, place: str):
        named = re.search(
            r'rel="alternate" type="application/json" href="([^"]+)"', client.get(place).text
        )

        assert named
        answer = client.get(unescape(named[1]))
        assert answer.status_code == 200
        assert answer.json()

    @pytest.mark.parametrize(
        "place",
        ["/sheet/week?days=0", "/sheet/week?days=400", "/poster?paper=a5", "/tags?size=huge", "/tags?skip=24",
         "/tags?base=ftp://x", "/tags?base=http://me:secret@x", "/tags?base=javascript:alert(1)",
         "/calendar.ics?base=http://a b"],
    )  # fmt: skip
    def test_what_makes_no_sense_is_refused_in_words(self, client: TestClient, place: str):
        answer = client.get(place)

        assert answer.status_code == 422
        assert "That cannot be served" in answer.text

    @pytest.mark.parametrize("place", [one for one in PAGES if "tree=" not in one])
    def test_a_garden_without_trees_has_it_too(self, bare: TestClient, place: str):
        assert bare.get(place).status_code == 200

    @pytest.mark.parametrize(
        "place", ["/sheet/week", "/poster", "/tags", "/map", "/calendar.ics", "/sheet"]
    )
    def test_a_tree_that_cannot_be_planned_leaves_the_others(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, place: str
    ):
        plan = gardens.Cycle

        def cycle(tree: api.Tree, *rest: object) -> object:
            if tree.id == "peach.wall":
                raise KnowledgeError("no rule", "")
            return plan(tree, *rest)

        monkeypatch.setattr(gardens, "Cycle", cycle)
        answer = client_of(write_garden(tmp_path)).get(place)

        assert answer.status_code == 200
        assert "calamondin-pot" in answer.text

    def test_a_tree_that_is_not_there_is_refused_as_elsewhere(self, client: TestClient):
        assert client.get("/tags?tree=nobody").status_code == 422


class TestWeek:
    def test_every_job_of_the_list_is_on_it_once_in_walking_order(
        self, demo: TestClient, opened: api.LoadedGarden
    ):
        data = demo.get("/sheet/week.json?days=14").json()
        listed = api.worklist(opened, 14)
        told = [one["id"] for stop in data["walk"] for one in stop["jobs"]]
        jobs = {
            one.id
            for one in listed.standing("due", "coming")
            if one.kind not in ("inspect", "measure") or one.quantity is not None
        }
        order = [tree.id for tree in opened.garden.trees]

        assert len(told) == len(set(told))
        assert set(told) == jobs
        assert [stop["tree"] for stop in data["walk"]] == sorted(
            (stop["tree"] for stop in data["walk"]), key=order.index
        )

    def test_each_job_has_a_box_and_its_amount(self, demo: TestClient):
        data, text = demo.get("/sheet/week.json").json(), demo.get("/sheet/week").text
        jobs = [one for stop in data["walk"] for one in stop["jobs"]]
        boxes = len(jobs) + len(data["looks"]) + len(data["carry"])

        assert jobs
        assert text.count('class="tick"') == boxes
        assert all(one["display"] in unescape(text) for one in jobs)

    def test_a_caution_is_said_once(self, demo: TestClient):
        data, text = demo.get("/sheet/week.json").json(), demo.get("/sheet/week").text
        said = [text for group in data["cautions"] for text in group["texts"]]
        carried = {
            caution for stop in data["walk"] for one in stop["jobs"] for caution in one["cautions"]
        }

        assert carried <= set(said)
        assert len(said) == len(set(said))
        for caution in said:
            assert unescape(text).count(f"<li>{caution}</li>") == 1

    def test_what_to_carry_is_what_the_rounds_take(self, demo: TestClient):
        data = demo.get("/sheet/week.json").json()
        carried = sum(one["g"] for one in data["carry"])
        taken = sum(
            one["quantity"]["value"]
            for stop in data["walk"]
            for one in stop["jobs"]
            if one["kind"] == "feed" and "corrects" not in one["details"]
        )

        assert carried == pytest.approx(taken, abs=0.2)
        assert carried > 0


class TestPoster:
    def test_every_tree_has_a_row_and_every_job_of_the_months_a_word(
        self, demo: TestClient, opened: api.LoadedGarden
    ):
        data, text = demo.get("/poster.json").json(), unescape(demo.get("/poster").text)

        assert [one["tree"] for one in data["trees"]] == [tree.id for tree in opened.garden.trees]
        assert data["from"] == "2026-11-01"
        assert data["to"] == "2027-10-31"
        for tree in data["trees"]:
            assert tree["stages"]
            for job in tree["jobs"]:
                assert job["earliest"] <= job["best"] <= job["latest"]
                assert f">{job['name']}</text>" in text

    @given(st.dates(date(2000, 1, 1), date(2100, 12, 31)))
    def test_it_spans_twelve_whole_months(self, today: date):
        first, last = paper.poster_span(today)

        assert first <= today <= last
        assert (first.day, (last + timedelta(days=1)).day) == (1, 1)
        assert len(Days(first, last, 0, 1).months()) == 12

    @given(
        st.lists(
            st.tuples(st.integers(0, 360), st.integers(0, 90), st.integers(0, 60)), max_size=30
        )
    )
    def test_words_of_jobs_never_run_into_each_other(self, spans: list[tuple[int, int, int]]):
        from bearwell.faces.web.drawing import poster

        start = date(2026, 11, 1)
        days = Days(start, date(2027, 10, 31), 56.0, 399.0)
        jobs = []
        for begin, best, end in spans:
            first = start + timedelta(days=begin)
            day = first + timedelta(days=min(best, end))
            jobs.append(Job(first, day, first + timedelta(days=end), "feed 350 g", "feed"))
        lanes = poster._lanes(jobs, days)

        assert sorted(map(id, (job for lane in lanes for job in lane))) == sorted(map(id, jobs))
        for lane in lanes:
            reaches = [poster._reach(job, days) for job in lane]
            assert all(one[1] <= other[0] for one, other in pairwise(reaches))

    def test_a_large_garden_takes_several_sheets(self):
        first, last = paper.poster_span(TODAY)
        bloom = Stretch(date(2027, 3, 1), date(2027, 3, 20), "bloom", "bloom")
        lines = [
            Line(f"t{number}", f"Tree {number}", "apple", (bloom,), ()) for number in range(100)
        ]
        sheets = posters(lines, first, last, TODAY, "Garden", "About")

        assert len(sheets) > 1
        assert sum(str(one).count('class="poster-row"') for one in sheets) == 100
        assert "sheet 1 of" in sheets[0]

    def test_picking_in_waves_is_drawn_as_one(self):
        stretch = [
            Stretch(date(2027, 3, 1), date(2027, 5, 1), "pick", "pick", seen=True),
            Stretch(date(2027, 4, 1), date(2027, 4, 20), "pick", "pick"),
            Stretch(date(2027, 7, 1), date(2027, 8, 1), "pick", "pick"),
        ]

        assert paper._joined(stretch) == [
            Stretch(date(2027, 3, 1), date(2027, 5, 1), "pick", "pick"),
            Stretch(date(2027, 7, 1), date(2027, 8, 1), "pick", "pick"),
        ]

    def test_what_is_drawn_is_escaped(self):
        nasty = "<b>\"&'"
        drawn = element("text", nasty, class_=nasty)

        assert (
            str(drawn) == '<text class="&lt;b&gt;&#34;&amp;&#39;">&lt;b&gt;&#34;&amp;&#39;</text>'
        )


def read_codes(page: str, zoom: int = 4) -> list[str]:
    """What a reader that is none of ours (ZXing) finds in the codes of a page, drawn from their SVG."""
    found = []
    for side, path in re.findall(
        r'viewBox="0 0 (\d+) \d+" class="code".*?<path d="([^"]+)"', page, re.DOTALL
    ):
        pixels = np.full((int(side), int(side)), 255, np.uint8)
        for x, y, run in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", path):
            pixels[int(y), int(x) : int(x) + int(run)] = 0
        read = zxingcpp.read_barcodes(np.kron(pixels, np.ones((zoom, zoom), np.uint8)))
        found += [one.text for one in read if one.format == zxingcpp.BarcodeFormat.QRCode]
    return found


class TestTags:
    @pytest.mark.parametrize("size", ["small", "large"])
    def test_each_code_leads_to_the_page_of_its_tree(
        self, demo: TestClient, opened: api.LoadedGarden, size: str
    ):
        base = "http://192.168.1.20:8321"
        page = demo.get("/tags", params={"base": base, "size": size}).text

        assert read_codes(page) == [f"{base}/tree/{tree.id}" for tree in opened.garden.trees]

    def test_a_code_leads_where_the_page_was_asked(self, client: TestClient):
        address = str(client.base_url).rstrip("/")
        codes = read_codes(client.get("/tags?tree=peach.wall").text)

        assert codes == [f"{address}/tree/peach.wall"]
        assert client.get(codes[0].removeprefix(address)).status_code == 200

    @given(st.text(st.characters(categories=["L", "N"]), min_size=1, max_size=40))
    def test_a_code_holds_any_id_a_tree_may_have(self, name: str):
        address = f"https://example.org:8443/a/tree/{quote(name, safe='')}"

        assert read_codes(str(paper.code(address, "m", name))) == [address]

    def test_a_code_survives_dirt_as_its_level_says(self):
        """Level Q restores about a quarter of the code words (ISO/IEC 18004); a tenth is soiled here."""
        page = str(paper.code("http://192.168.1.20:8321/tree/satsuma-gate", "q", "x"))
        side = int(re.search(r'viewBox="0 0 (\d+)', page)[1])  # type: ignore[index]
        runs = re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", page)
        middle = side // 2
        spot = side // 7
        clean = "".join(
            f"M{x} {y}h{run}v1h-{run}z"
            for x, y, run in runs
            if not (abs(int(y) - middle) < spot // 2 and abs(int(x) - middle) < spot)
        )
        soiled = re.sub(r'<path d="[^"]+"', f'<path d="{clean}"', page)

        assert soiled != page
        assert read_codes(soiled) == ["http://192.168.1.20:8321/tree/satsuma-gate"]

    def test_the_words_of_a_tag_are_those_of_the_tree(self, demo: TestClient):
        data, text = demo.get("/tags.json").json(), unescape(demo.get("/tags").text)

        assert len(data["tags"]) == 18
        for one in data["tags"]:
            assert one["name"] in text
            assert f"on {one['rootstock']}" in text or not one["rootstock"]

    def test_used_labels_are_left_out_and_sheets_hold_what_they_hold(
        self, opened: api.LoadedGarden
    ):
        words = words_of(opened)
        for size, (across, down, _) in paper.FORMATS.items():
            each = across * down
            for skip in (0, 1, each - 1):
                found = paper.tag_sheet(opened, "http://x", size, skip, None, words)
                sheets = paper.sheets_of(found)

                assert [one for sheet in sheets for one in sheet][:skip] == [None] * skip
                assert [one for sheet in sheets for one in sheet if one] == list(found.tags)
                assert all(len(sheet) <= each for sheet in sheets)

    def test_an_address_that_no_phone_reaches_is_told(self, demo: TestClient):
        told = "known to this machine only"

        assert told in demo.get("/tags").text
        assert told not in demo.get("/tags?base=http://192.168.1.20:8321").text
        assert told in demo.get("/paper").text


class TestAddresses:
    @pytest.mark.parametrize(
        ("typed", "read"),
        [
            ("", ""),
            ("http://192.168.1.20:8321/", "http://192.168.1.20:8321"),
            (" https://Garden.Example/trees/ ", "https://garden.example/trees"),
            ("http://[fe80::1]:80", "http://[fe80::1]:80"),
        ],
    )
    def test_it_is_read_without_its_last_stroke(self, typed: str, read: str):
        assert base_address(typed) == read

    @pytest.mark.parametrize(
        "typed",
        ["garden", "ftp://x", "http://", "http://x?y=1", "http://x#y", "http://a@b", "http://x:99999", "http://a b",
         "http://x\r\nSet-Cookie: a", "javascript:alert(1)", "http://ü"],
    )  # fmt: skip
    def test_what_is_none_is_refused_with_an_example(self, typed: str):
        with pytest.raises(BadInput) as refused:
            base_address(typed)

        assert refused.value.hint

    @pytest.mark.parametrize(
        ("base", "here"),
        [("http://127.0.0.1:8321", True), ("http://localhost", True), ("http://[::1]:1", True),
         ("http://192.168.1.20", False), ("https://garden.example", False)],
    )  # fmt: skip
    def test_the_loopback_is_known(self, base: str, here: bool):
        assert only_here(base) is here


class TestCommands:
    def run(self, *words: object) -> object:
        return CliRunner().invoke(cli, [str(word) for word in words], catch_exceptions=False)

    def test_calendar_writes_what_a_parser_reads(self, demo_path: Path, tmp_path: Path):
        out = tmp_path / "year.ics"
        done = self.run("calendar", demo_path, "--today", TODAY, "--out", out)
        whole = icalendar.Calendar.from_ical(out.read_bytes())

        assert done.exit_code == 0  # type: ignore[attr-defined]
        assert len(list(whole.walk("VEVENT"))) > 100
        first = out.read_bytes()
        assert b"\r\n" in first and b"\r\r" not in first
        self.run("calendar", demo_path, "--today", TODAY, "--out", out)
        assert out.read_bytes() == first  # nothing changed: the stamps stay too

    def test_calendar_prints_events_as_json(self, demo_path: Path):
        done = self.run("calendar", demo_path, "--today", TODAY, "--tree", "navel-wall", "--json")
        data = json.loads(done.output)  # type: ignore[attr-defined]

        assert data["events"]
        assert {one.split("/")[0] for event in data["events"] for one in event["advice"]} == {
            "navel-wall"
        }

    def test_a_file_that_is_no_calendar_is_not_written_over(self, demo_path: Path, tmp_path: Path):
        out = tmp_path / "notes.txt"
        out.write_text("my notes", "utf-8")
        done = self.run("calendar", demo_path, "--today", TODAY, "--out", out)

        assert done.exit_code == 2  # type: ignore[attr-defined]
        assert out.read_text("utf-8") == "my notes"

    def test_an_unknown_tree_and_a_bad_address_are_refused(self, demo_path: Path):
        for more in (("--tree", "nobody"), ("--base-url", "nowhere")):
            done = self.run("calendar", demo_path, "--today", TODAY, *more)
            assert done.exit_code == 2  # type: ignore[attr-defined]

    def test_printing_without_a_browser_says_what_to_install(
        self, demo_path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ):
        monkeypatch.setenv("PATH", str(tmp_path))
        monkeypatch.delenv(printing.NAMED, raising=False)
        done = self.run("print", demo_path, "week", "--pdf", tmp_path / "week.pdf")

        assert done.exit_code == 2  # type: ignore[attr-defined]
        assert "needs Chromium" in done.output  # type: ignore[attr-defined]
        assert "chromium" in done.output and "\n" not in done.output.strip()  # type: ignore[attr-defined]
        assert not (tmp_path / "week.pdf").exists()

    @pytest.mark.parametrize(
        ("words", "told"),
        [((), "no sheet was named"), (("garden.toml", "month"), "no sheet 'month'"), (("week",), "no GARDEN was named")],
    )  # fmt: skip
    def test_what_is_not_named_is_asked_for(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], told: str
    ):
        monkeypatch.setenv(printing.NAMED, "true")
        monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
        monkeypatch.setenv("HOME", str(tmp_path))
        done = self.run("print", *words, "--pdf", tmp_path / "a.pdf")

        assert done.exit_code == 2  # type: ignore[attr-defined]
        assert told in done.output  # type: ignore[attr-defined]

    def test_a_store_has_its_calendar_and_keeps_the_places(self, demo_path: Path, tmp_path: Path):
        data = tmp_path / "store"
        self.run("import", demo_path, "--data", data, "--today", TODAY)
        of_file = self.run("calendar", demo_path, "--today", TODAY, "--json")
        of_store = self.run("calendar", "--data", data, "--today", TODAY, "--json")
        self.run("export", tmp_path / "out", "--data", data)
        (written,) = (tmp_path / "out").glob("*.toml")

        def told(done: object) -> list[tuple[str, str]]:
            return [(one["title"], one["day"]) for one in json.loads(done.output)["events"]]  # type: ignore[attr-defined]

        def places(path: Path) -> list[object]:
            opened = api.open_garden(path, TODAY)
            return [one.place for one in (*opened.garden.trees, *opened.garden.shelters)]

        assert told(of_store) == told(of_file)
        assert places(written) == places(demo_path)
        assert None not in places(demo_path)

    def test_tags_are_not_printed_with_codes_that_lead_nowhere(
        self, demo_path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ):
        monkeypatch.setenv(printing.NAMED, "true")
        done = self.run("print", demo_path, "tags", "--pdf", tmp_path / "tags.pdf")

        assert done.exit_code == 2  # type: ignore[attr-defined]
        assert "--base-url" in done.output  # type: ignore[attr-defined]

    def test_a_browser_named_by_hand_must_be_one(self, monkeypatch: pytest.MonkeyPatch):
        monkeypatch.setenv(printing.NAMED, "no-such-browser-anywhere")
        with pytest.raises(BadInput, match="cannot be run"):
            printing.browser()

    def test_a_browser_that_prints_nothing_is_told(self, tmp_path: Path):
        with pytest.raises(BearwellError, match="made no PDF"):
            printing.print_page("true", "http://127.0.0.1:9", tmp_path / "a.pdf")
        assert not (tmp_path / "a.pdf").exists()

    def test_the_browser_is_let_reach_this_machine_only(self):
        words = printing._arguments("chromium", "folder")

        assert "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1" in words
        assert "--user-data-dir=folder/profile" in words
        assert "--disable-background-networking" in words

    @pytest.mark.browser
    @pytest.mark.parametrize(
        ("words", "size"),
        [(("week",), (595, 842)), (("feeding",), (595, 842)), (("pruning",), (595, 842)),
         (("poster",), (1191, 842)),
         (("poster", "--paper", "a4"), (842, 595)), (("tags", "--base-url", "http://x"), (595, 842)),
         (("tags", "--size", "large", "--base-url", "http://x"), (595, 842))],
    )  # fmt: skip
    def test_a_sheet_is_printed_on_its_paper(
        self, chromium: str, demo_path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
        words: tuple[str, ...], size: tuple[int, int],
    ):  # fmt: skip
        """Paper sizes are those of ISO 216 in points: A4 is 210 by 297 mm, A3 297 by 420."""
        monkeypatch.setenv(printing.NAMED, chromium)
        out = tmp_path / "sheet.pdf"
        done = self.run("print", demo_path, *words, "--pdf", out, "--today", TODAY, "--json")
        pdf = out.read_bytes()
        boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)

        assert done.exit_code == 0  # type: ignore[attr-defined]
        assert json.loads(done.output)["bytes"] == len(pdf)  # type: ignore[attr-defined]
        assert boxes
        assert {(round(float(wide)), round(float(tall))) for wide, tall in boxes} == {size}
        assert [one.name for one in tmp_path.iterdir()] == ["sheet.pdf"]

    def test_a_garden_with_a_passphrase_is_printed_and_not_its_door(self, tmp_path: Path):
        import httpx2

        from bearwell.faces.door import set_passphrase

        path = write_garden(tmp_path)
        set_passphrase(tmp_path, "a long and quiet passphrase")
        with printing.served(path, TODAY, ()) as address:
            answer = httpx2.get(f"{address}/sheet/week", timeout=60)

        assert answer.status_code == 200
        assert "Sheet of the week" in answer.text

    def test_a_garden_that_cannot_be_read_is_told_before_anything_is_started(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ):
        monkeypatch.setenv(printing.NAMED, "true")
        bad = tmp_path / "garden.toml"
        bad.write_text(GARDEN.format(units="metric").replace("latitude = 41.69", ""), "utf-8")
        done = self.run("print", bad, "week", "--pdf", tmp_path / "a.pdf")

        assert done.exit_code == 2  # type: ignore[attr-defined]
        assert "latitude" in done.output  # type: ignore[attr-defined]
