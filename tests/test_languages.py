"""Languages: the choice of one, catalogues that are whole, dates and numbers as the CLDR writes them."""

from __future__ import annotations

import pickle
import re
import subprocess
import sys
import tomllib
from datetime import date
from gettext import NullTranslations
from html.parser import HTMLParser
from pathlib import Path

import pytest
from babel.dates import format_date, get_day_names, get_month_names
from babel.numbers import get_decimal_symbol
from starlette.testclient import TestClient

from bearwell.demo import write_demo
from bearwell.errors import BadInput
from bearwell.faces import door
from bearwell.faces.language import LANGUAGES, _, _n, named, preferred, say, speaking
from bearwell.faces.web import create_app
from bearwell.faces.web.sayings import sayings_script
from bearwell.faces.words import Words
from bearwell.quantities import Quantity
from bearwell.reasons import phrase
from bearwell.said import Said, said
from tongues import Worded, speak_by

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tools"))
import languages as tool  # noqa: E402

TODAY = date(2026, 11, 25)
HERE = "http://127.0.0.1:8321"
OTHERS = tuple(code for code in LANGUAGES if code != "en")


# ---------------------------------------------------------------------- texts that remember


def test_a_text_reads_as_its_english_and_remembers_its_sentence() -> None:
    text = said("no tree is called '{name}'", name="Fig")

    assert text == "no tree is called 'Fig'"
    assert (text.text, dict(text.values)) == ("no tree is called '{name}'", {"name": "Fig"})
    again = pickle.loads(pickle.dumps(text))
    assert (again, again.text, again.values) == (text, text.text, text.values)
    assert Said("50 % {of it}") == "50 % {of it}"
    with pytest.raises(KeyError):
        said("{this} and {that}", this=1)


@pytest.fixture
def upside(monkeypatch: pytest.MonkeyPatch) -> None:
    """A catalogue that writes some sentences the other way round."""
    words = {
        "no tree is called '{name}'": "'{name}' is called by no tree",
        "{title}: {message}": "{message} [{title}]",
        "roots": "stoor",
        "feed the {part} by {day} with {amount}": "{amount}, {day}: {part}",
        "{number} tree": "{number} eert",
        "{number} trees": "{number} seert",
    }
    speak_by(monkeypatch, Worded(words))


@pytest.mark.usefixtures("upside")
def test_values_follow_their_sentence_and_the_growers_words_stay() -> None:
    inner = said("no tree is called '{name}'", name="roots")
    outer = said("{title}: {message}", title="roots", message=inner)

    with speaking("pt"):
        assert say(outer) == "'roots' is called by no tree [roots]"
        assert say("roots") == "stoor"
        assert _n("{number} tree", "{number} trees", 1) == "1 eert"
        assert _n("{number} tree", "{number} trees", 0) == "0 seert"
        spoken = phrase(
            "feed the {part} by {day} with {amount}",
            part=said("roots"), day=date(2026, 12, 1), amount=Quantity(2500, "g"),
        )  # fmt: skip
        assert Words(today=TODAY).phrase(spoken) == "2,5 kg, 1 December: stoor"
    assert say(outer) == "roots: no tree is called 'roots'"


# ---------------------------------------------------------------------- which language


@pytest.mark.parametrize(
    ("header", "language"),
    [
        ("pt-PT,pt;q=0.9,en;q=0.8", "pt"),
        ("de-DE,de;q=0.9", None),
        ("de, es-MX;q=0.4, en;q=0.3", "es"),
        ("en;q=0.2, pt;q=0.7", "pt"),
        ("pt;q=0, es", "es"),
        ("", None),
        ("*", None),
        ("pt;q=wrong, en", "en"),
    ],
)
def test_the_language_a_browser_likes_best(header: str, language: str | None) -> None:
    """RFC 9110, section 12.5.4: by weight, 1 where none is given; 0 means not acceptable."""
    assert preferred(header) == language


def test_a_language_typed_is_known_or_refused() -> None:
    assert [named(code) for code in ("pt", "pt_PT.UTF-8", "ES-mx", "en")] == [
        "pt",
        "pt",
        "es",
        "en",
    ]
    with pytest.raises(BadInput, match="no language is called 'xx' here"):
        named("xx")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_demo(tmp_path_factory.mktemp("demo"), TODAY)


@pytest.fixture
def client(demo: Path) -> TestClient:
    return TestClient(create_app(demo, today=lambda: TODAY), base_url=HERE)


PAGE = {"Accept": "text/html"}


def language_of(answer: object) -> str:
    found = re.search(r'<html lang="(\w+)">', answer.text)  # type: ignore[attr-defined]
    assert found
    return found[1]


def test_a_page_speaks_what_was_chosen_then_kept_then_liked(client: TestClient) -> None:
    portuguese = {**PAGE, "Accept-Language": "pt"}

    assert language_of(client.get("/why", headers=PAGE)) == "en"
    liked = client.get("/why", headers=portuguese)
    assert language_of(liked) == "pt"
    assert liked.headers["content-language"] == "pt"
    assert {"Accept-Language", "Cookie"} <= set(liked.headers["vary"].replace(" ", "").split(","))
    assert "set-cookie" not in liked.headers
    chosen = client.get("/why?language=es", headers=portuguese)
    assert language_of(chosen) == "es"
    cookie = chosen.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert language_of(client.get("/why", headers=portuguese)) == "es"
    assert language_of(client.get("/why?language=nonsense", headers=portuguese)) == "es"


def test_every_page_offers_itself_in_the_other_languages(client: TestClient) -> None:
    page = client.get("/?days=30&by=tree&language=pt", headers=PAGE)

    assert 'href="/?days=30&amp;by=tree&amp;language=es"' in page.text
    assert '<b lang="pt">Português</b>' in page.text


def test_the_sign_in_page_speaks_before_anyone_is_in(tmp_path: Path) -> None:
    garden = write_demo(tmp_path, TODAY)
    door.set_passphrase(tmp_path, "terns nest on the ledge")
    shut = TestClient(create_app(garden, today=lambda: TODAY), base_url=HERE)
    page = shut.get("/", headers={**PAGE, "Accept-Language": "es"})

    assert page.url.path == "/sign-in"
    assert language_of(page) == "es"
    script = re.search(r'"(/sayings/es\.js\?\w+)"', page.text)
    assert script
    assert shut.get(script[1]).headers["content-type"].startswith("text/javascript")
    assert "language=pt" in page.text
    assert language_of(shut.get("/sign-in?language=pt", headers=PAGE)) == "pt"


def test_a_form_sent_leads_to_no_page_that_cannot_be_opened(client: TestClient) -> None:
    answer = client.post("/reckon/canopy", data={"nothing": "1"}, headers=PAGE)

    assert 'href="/?language=pt"' in answer.text


def test_what_programs_read_is_english_unless_a_language_is_named(client: TestClient) -> None:
    likes = {"Accept-Language": "pt"}
    plain = client.get("/week.json", headers=likes)

    assert plain.json() == client.get("/week.json").json()
    named_one = client.get("/week.json?language=pt", headers=likes).json()
    assert [one["id"] for one in named_one["advice"]] == [
        one["id"] for one in plain.json()["advice"]
    ]
    assert named_one["advice"][0]["headline"] != plain.json()["advice"][0]["headline"]


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "bearwell.faces.cli", *arguments],
        capture_output=True, text=True, check=False, timeout=60,
        env={"PATH": "/usr/bin:/bin", "PYTHONIOENCODING": "utf-8", **environment},
    )  # fmt: skip


def test_the_command_line_speaks_what_was_asked_for(demo: Path) -> None:
    asked = ("worklist", str(demo), "--today", "2026-11-25")
    english = run(*asked).stdout
    portuguese = run("--language", "pt", *asked).stdout

    assert english
    assert run(*asked, BEARWELL_LANGUAGE="pt").stdout == portuguese != english
    assert run(*asked, LANG="pt_PT.UTF-8").stdout == portuguese
    assert run(*asked, LANG="pt_PT.UTF-8", LANGUAGE="en").stdout == english
    assert run(*asked, LANG="de_DE.UTF-8").stdout == english
    assert run(*asked, "--json", LANG="pt_PT.UTF-8").stdout == run(*asked, "--json").stdout
    refused = run("--language", "xx", *asked)
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "no language is called 'xx'" in refused.stderr


@pytest.mark.parametrize("code", OTHERS)
def test_help_is_in_the_language(code: str) -> None:
    with speaking(code):
        said_so = _("What to do for each fruit tree, each week: how much, by when, and why.")
        listed = _("What to do in the coming days, most pressing first.")
    helped = run("--language", code, "--help").stdout

    def flowing(text: str) -> str:
        return " ".join(text.split())

    assert flowing(said_so) in flowing(helped)
    assert flowing(listed)[:30] in flowing(helped)
    assert flowing(listed) in flowing(run("--language", code, "worklist", "--help").stdout)


# ---------------------------------------------------------------------- as the CLDR writes it


@pytest.mark.parametrize(("code", "locale"), tool.LOCALES.items())
def test_dates_and_numbers_are_those_of_the_cldr(code: str, locale: str) -> None:
    """Unicode CLDR through Babel: names of months and days, the order of a date, the decimal mark."""
    with speaking(code):
        words = Words(today=TODAY)
        for month in range(1, 13):
            day = date(2030, month, 7)
            assert words.month(day).split()[0] == get_month_names("wide", locale=locale)[month]
            assert words.day(day) == format_date(day, "long", locale=locale)
            short = get_month_names("abbreviated", locale=locale)[month]
            assert words.short_month(day) == short.rstrip(".")
        for weekday in range(7):
            day = date(2026, 11, 23 + weekday)
            assert words.weekday(day) == get_day_names("wide", locale=locale)[weekday]
        mark = get_decimal_symbol(locale)
        assert words.quantity(Quantity(2.5, "m")) == f"2{mark}5 m"
        assert words.quantity(Quantity(-2.5, "degC")) == f"−2{mark}5 °C"
        assert words.number(0.25, 2) == f"0{mark}25"


def test_spanish_says_e_before_the_sound_of_an_i() -> None:
    """Ortografía de la lengua española (RAE 2010): "e" before i- and hi-, "y" before hie- and all else."""
    with speaking("es"):
        words = Words()
        assert words.listed(["limonero", "higuera"]) == "limonero e higuera"
        assert words.listed(["agua", "hielo"]) == "agua y hielo"
        assert words.listed(["limonero", "olivo", "peral"]) == "limonero, olivo y peral"
    assert Words().listed(["lemon", "fig"]) == "lemon and fig"


# ---------------------------------------------------------------------- catalogues


def test_every_text_is_translated_and_every_translation_fits() -> None:
    """Each text in each language, with the same places and markup; compiled as it stands."""
    assert tool.check() == []


@pytest.mark.parametrize(
    ("english", "words", "wrong"),
    [
        ("{a} of {b}", "{b}: {a}", []),
        ("{a} of {b}", "{a}", ["places ['a'] for ['a', 'b']"]),
        ("<b>{a}</b>", "{a}", ["other markup than the English"]),
        ("text ", "texto", ["other space at its ends"]),
        ("{value:g} days", "{value:g} dias", []),
        ("so", "{", ["places ['not a pattern'] for []"]),
        ("so", 'assim "é"', ["a straight quotation mark that the English has not"]),
    ],
)
def test_what_does_not_fit_is_told(english: str, words: str, wrong: list[str]) -> None:
    assert tool.differences(english, words) == wrong


def test_every_kind_of_place_is_gathered() -> None:
    texts = {one.text for part in tool.PARTS for one in tool.gathered(part)}

    assert "Take off every fruit: it is too young to bear" in texts  # a phrase of the plan
    assert "What to do in the coming days, most pressing first." in texts  # help of a command
    assert "This page as JSON" in texts  # a template
    assert (
        "The label is the law: never give more than it allows, whatever this plan works out."
        in texts
    )
    assert "sandy loam" in texts  # the key of a table that growers read


@pytest.mark.parametrize("code", OTHERS)
def test_scripts_get_their_words(code: str, client: TestClient) -> None:
    page = client.get(f"/outdoors?language={code}", headers=PAGE).text
    address = re.search(rf'<script src="(/sayings/{code}\.js\?\w+)" defer>', page)

    assert address
    answer = client.get(address[1])
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.text == sayings_script(code)
    assert client.get("/sayings/xx.js").status_code == 404
    assert "/sayings/" not in client.get("/outdoors?language=en", headers=PAGE).text


# ---------------------------------------------------------------------- nothing is left in English


class Masked(NullTranslations):
    """Says every text of the catalogues with no letter left, so that whatever has letters was not said by it."""

    known: frozenset[str] = frozenset()

    def gettext(self, message: str) -> str:
        if message not in self.known:
            return message
        parts = re.split(r"(\{[^}]*\}|<[^>]*>|&\w+;)", message)
        return "".join(
            re.sub(r"[^\W\d_]", "ж", one) if at % 2 == 0 else one for at, one in enumerate(parts)
        )

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)

    def pgettext(self, context: str, message: str) -> str:  # noqa: ARG002
        return self.gettext(message)


@pytest.fixture
def masked(monkeypatch: pytest.MonkeyPatch) -> None:
    templates = tool.templates().values()
    texts = [one.id for catalogue in templates for one in catalogue if one.id]
    flat = [text for one in texts for text in ((one,) if isinstance(one, str) else one)]
    monkeypatch.setattr(Masked, "known", frozenset(flat))
    speak_by(monkeypatch, Masked())


class Visible(HTMLParser):
    """What is read or heard of a page, but for what says that it is in another language, and code."""

    HEARD = ("aria-label", "title", "alt", "placeholder", "content")
    EMPTY = frozenset(
        {
            "meta",
            "link",
            "input",
            "br",
            "img",
            "hr",
            "path",
            "circle",
            "rect",
            "line",
            "polyline",
            "wbr",
        }
    )

    def __init__(self, text: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.shut: list[bool] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        shut = (self.shut[-1] if self.shut else False) or tag in (
            "script",
            "style",
            "code",
            "kbd",
            "samp",
        )
        shut = shut or (tag != "html" and "lang" in given)
        if not shut and tag != "meta":
            self.texts += [given[name] or "" for name in self.HEARD if name in given]
        if tag not in self.EMPTY:
            self.shut.append(shut)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in self.EMPTY:
            self.shut.pop()

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.EMPTY and self.shut:
            self.shut.pop()

    def handle_data(self, data: str) -> None:
        if not (self.shut and self.shut[-1]):
            self.texts.append(data)


# What is the same in every language: names, formats, symbols of units.
SAME = {
    "bearwell", "http", "json", "csv", "ical", "kpa", "min", "toml", "pdf", "bray", "olsen", "mehlich", "gal", "mpa", "calamondin",
}  # fmt: skip
WORD = re.compile(r"[A-Za-zÀ-ÿ]{3,}")


def own_words(demo: Path) -> set[str]:
    """Every word that the grower wrote: names, notes, reasons, products, and the names of files."""
    found = set(SAME)

    def walk(value: object) -> None:
        if isinstance(value, dict):
            for one in value.values():
                walk(one)
        elif isinstance(value, list):
            for one in value:
                walk(one)
        elif isinstance(value, str):
            found.update(word.lower() for word in WORD.findall(value))

    raw = tomllib.loads(demo.read_text("utf-8"))
    kinds = raw.pop("kind", {})
    for key in ("kind", "soil", "texture", "cover", "job"):
        raw = _without(raw, key)
    walk(raw)
    for one in kinds.values():
        walk(one["name"])
        walk([fact["note"] for fact in one["facts"].values()])
    found.update(word.lower() for word in WORD.findall(str(demo)))
    return found


def _without(value: object, key: str) -> object:
    if isinstance(value, dict):
        return {name: _without(one, key) for name, one in value.items() if name != key}
    return [_without(one, key) for one in value] if isinstance(value, list) else value


def left_in_english(text: str, own: set[str]) -> list[str]:
    """The texts of a page that nobody said in the language of the page."""
    return [
        " ".join(one.split())
        for one in Visible(text).texts
        if any(word.lower() not in own for word in WORD.findall(one))
    ]


PAGES = (
    "/", "/?by=tree", "/?days=366", "/trees", "/garden", "/tonight", "/winter", "/weather", "/water", "/sheet",
    "/sheet/pruning", "/sheet/week", "/sheet/cold", "/paper", "/poster", "/tags", "/map", "/shelf", "/outdoors", "/leaf", "/kind",
    "/kind/clementine", "/kind/peach", "/sources", "/why", "/reckon", "/season",
)  # fmt: skip
OF_TREE = ("", "/pruning", "/feeding", "/crop", "/water", "/count", "/season")


@pytest.mark.usefixtures("masked")
def test_no_page_leaves_a_text_in_english(client: TestClient, demo: Path) -> None:
    own = own_words(demo)
    trees = [one["tree"] for one in client.get("/trees.json").json()["trees"]]
    addresses = [*PAGES, *(f"/tree/{tree}{below}" for tree in trees for below in OF_TREE)]
    left: dict[str, str] = {}
    for address in addresses:
        page = client.get(f"{address}{'&' if '?' in address else '?'}language=pt", headers=PAGE)
        if page.status_code == 404:
            continue
        for text in left_in_english(page.text, own):
            left.setdefault(text, address)

    assert left == {}
