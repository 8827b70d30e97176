"""Pages, sheets, the calendar and commands in another language: what they hand on keeps that language."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from gettext import NullTranslations
from pathlib import Path

import icalendar
import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from bearwell import api
from bearwell.errors import BearwellError, Problem
from bearwell.faces import addresses, printing
from bearwell.faces import calendar as feed
from bearwell.faces import language as tongue
from bearwell.faces.cli import cli
from bearwell.faces.language import speaking
from bearwell.faces.problems import problem_line
from bearwell.faces.speaking import paragraphs
from bearwell.faces.web.pages import begin, knowledge, paper, reckoning
from bearwell.faces.web.pages.reckoned import NAMES, SIGNS, TITLES
from bearwell.faces.words import Words, in_order
from bearwell.said import said
from test_web import client_of
from tongues import speak_by
from web_garden import TODAY, write_garden

MOMENT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
PAGE = {"Accept": "text/html"}
# Some texts that a language says in words of its own.
OTHERWISE = {
    "clementine": "ælling",
    "peach": "åtræ",
    "Feed": "Nær",
    "Held back: {job}": "{job}: holdt",
}


class Backwards(NullTranslations):
    """A language in which every text ends with a mark, and some have words of their own."""

    def gettext(self, message: str) -> str:
        return OTHERWISE.get(message, f"{message}¶") if message else ""

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"{msgid1 if n == 1 else msgid2}¶"

    def pgettext(self, context: str, message: str) -> str:
        return f"{message}¶{context}"


@pytest.fixture(autouse=True)
def marked(monkeypatch: pytest.MonkeyPatch) -> None:
    speak_by(monkeypatch, Backwards())


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_garden(tmp_path_factory.mktemp("garden"))


@pytest.fixture
def client(path: Path) -> TestClient:
    return client_of(path)


class TestCalendar:
    def test_its_events_and_their_sorts_are_said_and_their_ids_stay(self, path: Path) -> None:
        opened = api.open_garden(path, TODAY)
        english = feed.calendar_text(opened, MOMENT)
        with speaking("pt"):
            other = feed.calendar_text(opened, MOMENT)

        assert "//EN\r\n" in english
        assert "//PT\r\n" in other
        ours, theirs = (
            icalendar.Calendar.from_ical(text).walk("VEVENT") for text in (english, other)
        )
        assert [one["UID"] for one in theirs] == [one["UID"] for one in ours]
        feeding = [one for one in theirs if "/feed/" in str(one["X-BEARWELL-ADVICE"])]
        assert feeding
        assert {str(one["CATEGORIES"].cats[0]) for one in feeding} == {"Nær"}
        held = [one for one in feeding if str(one["STATUS"]) == "TENTATIVE"]
        assert held
        assert all(str(one["SUMMARY"]).endswith(": holdt") for one in held)
        assert all("¶" in str(one["DESCRIPTION"]) for one in theirs)

    def test_a_subscribed_calendar_goes_on_in_the_language_of_its_address(
        self, client: TestClient
    ) -> None:
        plain = client.get("/calendar.ics")
        other = client.get("/calendar.ics?language=pt")
        again = client.get("/calendar.ics")

        assert "¶" not in plain.text
        assert "¶" in other.text
        assert again.text == plain.text
        assert other.headers["etag"] != plain.headers["etag"]
        kept = client.get(
            "/calendar.ics?language=pt", headers={"If-None-Match": other.headers["etag"]}
        )
        assert kept.status_code == 304

    def test_the_page_gives_the_address_that_speaks_its_language(self, client: TestClient) -> None:
        page = client.get("/paper?language=pt", headers=PAGE).text

        assert "/calendar.ics?language=pt</code>" in page
        assert "<code>&amp;tree=</code>" in page
        english = client.get("/paper?language=en", headers=PAGE).text
        assert "/calendar.ics</code>" in english
        assert "<code>?tree=</code>" in english

    def test_a_key_is_told_with_the_language_it_was_made_in(self) -> None:
        assert addresses.in_language("/calendar.ics?key=a") == "/calendar.ics?key=a"
        with speaking("es"):
            assert addresses.in_language("/calendar.ics?key=a") == "/calendar.ics?key=a&language=es"
            assert addresses.in_language("/calendar.ics") == "/calendar.ics?language=es"


class TestKinds:
    def test_a_kind_is_found_by_its_name_in_the_language_spoken(self) -> None:
        with speaking("pt"):
            assert begin._kind("ÆLLING") == "clementine"
            assert begin._kind("clementine") == "clementine"
            assert "ælling" in begin.kinds(api.knowledge())
        assert begin._kind("ælling") == "ælling"  # and refused below, in English

    def test_they_stand_in_the_order_of_that_language_and_accents_do_not_count(self) -> None:
        with speaking("pt"):
            letters = dict(knowledge.kinds(api.knowledge()))
        first = [one.key for one in letters["A"]]
        assert "peach" in first  # åtræ
        names = [in_order(OTHERWISE.get(one.name, one.name)) for one in letters["A"]]
        assert names == sorted(names)
        assert in_order("Ünder") == "under"


class TestPages:
    def test_a_refusal_is_told_in_the_language_as_page_and_as_json(
        self, client: TestClient
    ) -> None:
        page = client.get("/tree/none/water?language=pt", headers=PAGE)
        data = client.get("/tree/none/water.json?language=pt")

        assert page.status_code == data.status_code == 404
        assert "There is no tree &#39;none&#39;¶" in page.text
        assert data.json()["problems"][0]["message"] == "There is no tree 'none'¶"
        wrong = client.get("/?days=many&language=pt", headers=PAGE)
        assert wrong.status_code == 422
        assert re.search(r"Days: input should be a valid integer[^.]*¶", wrong.text)

    def test_what_a_device_keeps_is_named_in_the_language_of_its_pages(
        self, client: TestClient
    ) -> None:
        kept = client.get("/outdoors.json", headers={"Accept-Language": "pt"}).json()["pages"]
        manifest = client.get("/manifest.webmanifest", headers={"Accept-Language": "pt"}).json()

        assert {"path": "/tonight", "title": "Tonight¶", "tree": None} in kept
        assert (manifest["lang"], manifest["description"][-1]) == ("pt", "¶")
        assert client.get("/manifest.webmanifest").json()["lang"] == "en"

    def test_a_code_is_named_anew_in_each_language(self) -> None:
        english = paper.code("http://a/tree/x", "m", "Fig")
        with speaking("pt"):
            other = paper.code("http://a/tree/x", "m", "Fig")

        assert "<title>Code that opens the page of Fig</title>" in english
        assert "<title>Code that opens the page of Fig¶</title>" in other

    def test_numbers_carry_the_mark_of_the_language(self) -> None:
        assert Words().bare(2.5) == "2.5"
        assert Words().bare(-0.000012) == "−1.2e−05"
        with speaking("pt"):
            assert Words().bare(2.5) == "2,5"
            assert Words().bare(1234567.0) == "1,23457e+06"
            assert Words().month_name(date(2026, 4, 1)) == "April¶"

    def test_a_problem_of_a_file_is_a_line_that_programs_can_read(self) -> None:
        problem = Problem("a.toml", said("no {what}", what="mass"), "such as 2 kg", 3, "warning")

        assert problem_line(problem) == str(problem) == "a.toml:3: warning: no mass (such as 2 kg)"
        with speaking("pt"):
            assert problem_line(problem) == "a.toml:3: warning¶severity: no mass¶ (such as 2 kg¶)"


class TestReckoners:
    def test_each_has_a_title_and_every_result_a_name(self) -> None:
        """Names of results stand in the catalogues though they are made of the results' keys."""
        known = {*NAMES, *SIGNS.values()}

        assert set(api.reckoners()) == set(TITLES)
        for reckoner in api.reckoners().values():
            assert TITLES[reckoner.name] == reckoning.title(reckoner.name)
            names = [reckoning._name(key)[0] for key in reckoner.fields]
            assert [
                one for one in names if len(one) > 2 and one not in known
            ] == []  # Ca is Ca anywhere

    def test_a_file_is_called_by_its_name_in_a_refusal_of_either_kind(self) -> None:
        told = {"here/weather.csv": said("the pasted {name}", name="weather")}
        plain = reckoning._renamed("here/weather.csv:3: bad", told)
        kept = reckoning._renamed(said("{file}: bad", file=Path("here/weather.csv")), told)

        assert plain == "the pasted weather:3: bad"
        assert kept == "the pasted weather: bad"
        with speaking("pt"):
            assert tongue.say(kept) == "the pasted weather: bad¶"

    def test_a_name_loses_its_unit_and_nothing_else(self) -> None:
        assert reckoning._name("rmse_mean_date_d") == ("rmse mean date", "days")
        assert reckoning._name("n_g_low") == ("nitrogen, N, at least", "g")
        assert reckoning._name("t10_high_c") == ("t10 high", "°C")

    def test_a_list_of_figures_is_told_on_the_command_line(self) -> None:
        done = CliRunner().invoke(
            cli, ["reckon", "night", "--start-temperature", "4", "--minimum=-4", "--hours", "12"]
        )

        assert done.exit_code == 0
        assert "1.69, 0.73" in done.output


class TestCommands:
    def test_help_flows_in_paragraphs(self) -> None:
        assert paragraphs("One.\n\n    Two\n    lines.\n\n\n") == ["One.", "Two lines."]

    def test_a_sheet_is_printed_in_the_language_of_the_command(
        self, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        asked: list[str] = []

        def note(_program: str, address: str, pdf: Path) -> None:
            asked.append(address)
            pdf.write_bytes(b"%PDF-")

        monkeypatch.setattr(printing, "browser", lambda: "true")
        monkeypatch.setattr(printing, "print_page", note)
        command = [
            "print",
            str(path),
            "week",
            "--pdf",
            str(tmp_path / "a.pdf"),
            "--today",
            str(TODAY),
        ]
        done = CliRunner().invoke(cli, command)

        assert done.exit_code == 0, done.output
        assert asked[0].endswith("/sheet/week?days=7&language=en")

    def test_a_file_that_cannot_be_written_is_told_with_the_reason(self, tmp_path: Path) -> None:
        with pytest.raises(BearwellError) as refused:
            addresses.put_text(tmp_path / "none" / "a.ics", "x")

        assert "no such file or directory" in str(refused.value)
        with speaking("pt"):
            assert tongue.say(refused.value.message).endswith("no such file or directory¶¶")
