"""The catalogues of the languages: gather what bearwell says, and compile what translators wrote.

    python tools/languages.py gather     bring languages/*/*.po up to date with the code, then compile
    python tools/languages.py compile    write the .mo files that the program reads
    python tools/languages.py check      what is missing, doubtful or out of date; ends with 1 if anything is
    python tools/languages.py open LANG [PART]        what still waits for words, as JSON
    python tools/languages.py fill LANG FILE.json     take translations in, {english: translation}

What is gathered: in Python, every text with a space in it that is no docstring, the docstrings of commands,
and whatever stands in N_(...), said(...), phrase(...) and their kin; in templates and scripts what stands
in _(...) and say(...);
in tables the names, words, meanings and notes, but no titles and places of sources, which stay as printed.
"""

from __future__ import annotations

import ast
import io
import json
import re
import sys
import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from string import Formatter

from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from jinja2.ext import babel_extract

from bearwell.faces.language import DOMAIN, HERE, LANGUAGES
from bearwell.faces.speaking import paragraphs
from bearwell.faces.web.sayings import SAYS
from bearwell.knowledge.model import UNDOCUMENTED

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "bearwell"
WRITTEN = ROOT / "languages"
LOCALES = {"pt": "pt_PT", "es": "es"}

# The parts of a catalogue, each a file: what of the package goes into it.
PARTS: dict[str, tuple[str, ...]] = {
    "plan": ("plan", "season", "reasons.py", "science"),
    "tables": ("knowledge",),
    "records": (
        "garden", "weather", "store", "api", "reckon", "quantities.py", "quantities.toml", "pictures.py", "errors.py",
        "csvsafe.py", "wholefile.py", "demo",
    ),
    "faces": ("faces",),
}  # fmt: skip

# Calls whose first text is a sentence of ours; by number they hold two, by context the context comes first.
SAYING = {"N_", "Nn_", "_", "_n", "_p", "Np_", "say", "said", "Said", "phrase", "Phrase", "computed", "recorded", "from_fact", "from_rule"}  # fmt: skip
BY_CONTEXT = {"_p", "Np_"}
BY_NUMBER = {"_n", "Nn_"}
# Arguments that say how something looks or is sent, and nothing that is read.
LOOKS = {"class_", "id", "aria_labelledby", "style", "media_type", "headers"}
# Columns of tables that hold keys of the program, or places in sources, and no words for growers.
NO_WORDS = {
    "source", "locator", "confidence", "unit", "job", "when", "group", "anchor", "case", "needs", "also", "botanical",
    "parent", "stated_by", "url", "doi", "basis", "fallback", "key", "for", "kind", "factor", "names", "choices",
}  # fmt: skip
# Tables whose keys are words that growers read.
KEYS_READ = {
    "amendments", "containers", "corrections", "covers", "materials", "rootstocks", "soils", "symptoms", "tissues", "signs",
    "waterphases", "shapes", "leafquestions", "releases", "cutcare", "sulfur", "lime", "leafsets",
}  # fmt: skip
# Checks of a figure, whose second text is what the figure is called.
CHECKS = {"within", "at_least", "above_zero", "not_negative", "share_of_one", "series", "_checked"}
# Files that say nothing to a grower but in said(...): names of columns, schemas and fingerprints of
# tables, migrations.
SILENT = {
    "columns.py",
    "loader.py",
    "own.py",
    "__main__.py",
    "tables.toml",
    "rules.toml",
    "grids.py",
    "schema.py",
    "openapi.py",
    "migrations",
    "demo",
}
_WORDS = re.compile(r"[^\W\d_]{2,}")
_PLACES = re.compile(r"\{[^{}]*\}")
_LOOKS_LIKE_CODE = re.compile(
    r"^[\w./:*%-]+$|^\s*(SELECT|INSERT|UPDATE|DELETE|CREATE|PRAGMA|BEGIN)\b|^#|://|^//|^[<>]|^--"
)


# Translations by context and English text; two of them for a text by number.
Strings = dict[tuple[str, str], str | tuple[str, ...]]


@dataclass(frozen=True)
class Found:
    """A text with where it stands; ``many`` for its form by number, ``context`` where it has one."""

    text: str
    place: str
    many: str = ""
    context: str = ""


def gathered(part: str) -> list[Found]:
    """Every text of one part of the program."""
    found: list[Found] = []
    for name in PARTS[part]:
        top = SOURCE / name
        files = sorted(top.rglob("*")) if top.is_dir() else [top]
        for file in files:
            reader = _READERS.get(file.suffix)
            silent = bool(SILENT.intersection(file.parts))
            if reader is _of_python:
                found += _of_python(file, silent=silent)
            elif reader and not silent:
                found += reader(file)
    return found


def _place(file: Path) -> str:
    return str(file.relative_to(ROOT))


def _worded(text: str) -> bool:
    """Whether words stand in a text beside what its places hold."""
    return bool(_WORDS.search(_PLACES.sub("", text)))


def _of_python(file: Path, *, silent: bool = False) -> Iterator[Found]:
    tree = ast.parse(file.read_text("utf-8"))
    place = _place(file)
    untold = _silent(tree)
    for helped in _helped(tree):
        yield Found(helped, place)
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and (name := _called(node)) in SAYING:
            texts = [_text(arg) for arg in node.args[:2]]
            if name in BY_CONTEXT:
                if len(texts) == 2 and texts[0] and texts[1]:
                    yield Found(texts[1], place, context=texts[0])
                untold |= {id(arg) for arg in node.args[:2]}
            elif name in BY_NUMBER:
                if len(texts) == 2 and texts[0] and texts[1]:
                    yield Found(texts[0], place, many=texts[1])
                untold |= {id(arg) for arg in node.args[:2]}
            elif node.args:
                for one in _constants(node.args[0]):
                    # What a face says of places alone may still want a word between them: 14 de abril.
                    if _worded(one) or (name == "_" and one.count("{") > 1):
                        yield Found(one, place)
        elif isinstance(node, ast.Call) and _called(node) in CHECKS:
            yield from (Found(what, place) for what in map(_text, node.args[1:2]) if what)
    if silent:
        return
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in untold
        ):
            text = node.value
            if " " in text.strip() and _worded(text) and not _LOOKS_LIKE_CODE.search(text):
                yield Found(text, place)


def _helped(tree: ast.Module) -> Iterator[str]:
    """The docstrings of commands, which are their help, paragraph by paragraph."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and (told := ast.get_docstring(node)):
            calls = [one for one in node.decorator_list if isinstance(one, ast.Call)]
            if any(_called(one) in ("command", "group") for one in calls):
                yield from paragraphs(told)


def _silent(tree: ast.Module) -> set[int]:
    """Constants that nobody is told: docstrings, parts of f-strings, types, patterns, looks of a page."""
    silent: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            silent.add(id(node.value))
        elif isinstance(node, ast.JoinedStr):
            silent |= {id(one) for one in ast.walk(node)}
        elif isinstance(node, ast.Call) and _called(node) in (
            "compile", "TypeVar", "cast", "findall", "sub", "match", "fullmatch", "search", "text", "execute",
            "Literal", "get_logger", "getLogger",
        ):  # fmt: skip
            silent |= {id(one) for arg in node.args for one in ast.walk(arg)}
        elif isinstance(node, ast.keyword) and node.arg in LOOKS:
            silent |= {id(one) for one in ast.walk(node.value)}
        elif isinstance(node, ast.Subscript):
            silent |= {id(one) for one in ast.walk(node.slice)}
        elif isinstance(node, ast.AnnAssign):
            silent |= {id(one) for one in ast.walk(node.annotation)}
    return silent


def _called(node: ast.Call) -> str:
    if isinstance(node.func, ast.Name):
        return node.func.id
    return node.func.attr if isinstance(node.func, ast.Attribute) else ""


def _text(node: ast.AST) -> str:
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def _constants(node: ast.AST) -> Iterator[str]:
    """The texts an expression may come to: a constant, or either side of a choice."""
    if text := _text(node):
        yield text
    elif isinstance(node, ast.IfExp):
        yield from _constants(node.body)
        yield from _constants(node.orelse)


def _of_template(file: Path) -> Iterator[Found]:
    with file.open("rb") as opened:
        options = {"trim_blocks": "true", "lstrip_blocks": "true", "silent": "false"}
        for _line, name, texts, _notes in babel_extract(opened, ("_", "_n", "_p"), (), options):
            one, many = (*(texts if isinstance(texts, tuple) else (texts,)), None)[:2]
            if name == "_p" and one and many:
                yield Found(many, _place(file), context=one)
            elif one:
                yield Found(one, _place(file), many=(many or "") if name == "_n" else "")


def _of_script(file: Path) -> Iterator[Found]:
    for found in SAYS.findall(file.read_text("utf-8")):
        yield Found(json.loads(found), _place(file))


def _of_table(file: Path) -> Iterator[Found]:
    raw = tomllib.loads(file.read_text("utf-8"))
    if "sources" in file.parts or file.stem == "sources":
        yield from (Found(raw[key]["title"], _place(file)) for key in raw if key in UNDOCUMENTED)
        return
    if file.stem in KEYS_READ:
        yield from (Found(key, _place(file)) for key in raw if _WORDS.search(key))
    if file.stem == "quantities":  # of units the families are told, not how they are spelled
        raw["families"] = raw.pop("unit")
    for text in _words_in(raw, ""):
        yield Found(text, _place(file))


def _words_in(value: object, key: str) -> Iterator[str]:
    if isinstance(value, dict):
        for name, one in value.items():
            ours = name == "locator" and value.get("source") in UNDOCUMENTED
            if name in NO_WORDS and not ours:
                continue
            yield from _words_in(one, key if name == "value" else name)
    elif isinstance(value, list):
        for one in value:
            yield from _words_in(one, key)
    elif isinstance(value, str) and _WORDS.search(value):
        yield value


_READERS: dict[str, Callable[[Path], Iterator[Found]]] = {
    ".py": _of_python,
    ".html": _of_template,
    ".js": _of_script,
    ".toml": _of_table,
}


def fresh(part: str, known: set[tuple[str, str]]) -> Catalog:
    """An empty catalogue of one part, without what another part has already."""
    made = Catalog(domain=DOMAIN, charset="utf-8", fuzzy=False)
    for one in gathered(part):
        key = (one.context, one.text)
        if key in known:
            continue
        text = (one.text, one.many) if one.many else one.text
        made.add(text, locations=[(one.place, 1)], context=one.context or None)
    known |= {(message.context or "", _first(message)) for message in made if message.id}
    return made


def _first(message: Message) -> str:
    return message.id if isinstance(message.id, str) else message.id[0]


def templates() -> dict[str, Catalog]:
    """Every part with what it says, each text in the first part that says it."""
    known: set[tuple[str, str]] = set()
    return {part: fresh(part, known) for part in PARTS}


def po_of(language: str, part: str) -> Path:
    """The file that a translator works on."""
    return WRITTEN / language / f"{part}.po"


def read(language: str, part: str) -> Catalog:
    """What is written in one file; an empty catalogue where there is none."""
    path = po_of(language, part)
    if not path.exists():
        return Catalog(locale=LOCALES[language], domain=DOMAIN, charset="utf-8", fuzzy=False)
    with path.open("rb") as file:
        return read_po(file, locale=LOCALES[language], domain=DOMAIN, charset="utf-8")


def _po(catalogue: Catalog) -> bytes:
    """A file of translations, with no line but what was gathered or written."""
    made = io.BytesIO()
    write_po(made, catalogue, width=110, omit_header=False, sort_output=False, include_lineno=False)
    return made.getvalue()


def _brought_up(language: str, part: str, template: Catalog, words: Strings) -> Catalog:
    """One part of a language as the code stands: new texts empty, translations kept wherever they stood."""
    made = Catalog(
        locale=LOCALES[language],
        domain=DOMAIN,
        charset="utf-8",
        fuzzy=False,
        header_comment=f"# What bearwell says, in {LANGUAGES[language]}: {part}.",
    )
    for message in template:
        if message.id:
            string = words.get((message.context or "", _first(message)))
            by_number = not isinstance(message.id, str)
            if by_number and not isinstance(string, tuple):
                string = (string, string) if string else ("", "")
            elif isinstance(string, tuple) and not by_number:
                string = string[-1]
            made.add(message.id, string or "", message.locations, context=message.context)
    return made


def _strings(message: Message) -> tuple[str, ...]:
    """The translations of a message: one, or two by number; none where any is missing."""
    found = (message.string,) if isinstance(message.string, str) else tuple(message.string or ())
    strings = tuple(str(one) for one in found)
    return strings if all(strings) else ()


def _written(language: str) -> Strings:
    """Every translation of a language, whichever file it stands in."""
    kept: Strings = {}
    for part in PARTS:
        for message in read(language, part):
            if message.id and (strings := _strings(message)):
                by_number = not isinstance(message.id, str)
                kept[message.context or "", _first(message)] = strings if by_number else strings[0]
    return kept


def gather(more: dict[str, Strings] | None = None) -> None:
    """Bring every file of translations up to date, and compile them."""
    made = templates()
    for language in LOCALES:
        words = _written(language) | (more or {}).get(language, {})
        for part, template in made.items():
            path = po_of(language, part)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(_sparse(_po(_brought_up(language, part, template, words))))
    compile_all()


def _sparse(po: bytes) -> bytes:
    """The file with the parts of its header that say something, and no dates that change with every run."""
    said = (b"Language:", b"Plural-Forms", b"MIME", b"Content")
    return b"\n".join(
        line
        for line in po.split(b"\n")
        if not (line.endswith(b'\\n"') and re.match(rb'"[A-Z][\w-]+: ', line))
        or line[1:].startswith(said)
    )


def compiled(language: str) -> bytes:
    """The one catalogue of a language that the program reads."""
    whole = Catalog(locale=LOCALES[language], domain=DOMAIN, charset="utf-8", fuzzy=False)
    for part in PARTS:
        for message in read(language, part):
            if message.id and (strings := _strings(message)):
                words = strings[0] if isinstance(message.id, str) else strings
                whole.add(message.id, words, context=message.context)
    made = io.BytesIO()
    write_mo(made, whole)
    return _undated(made.getvalue())


def _undated(mo: bytes) -> bytes:
    """The compiled catalogue with its dates blanked, so that the same words give the same bytes."""
    dates = rb"((?:POT-Creation|PO-Revision)-Date: )([^\n]*)"
    return re.sub(dates, lambda one: one[1] + b"-" * len(one[2]), mo)


def mo_of(language: str) -> Path:
    """The compiled catalogue."""
    return HERE / language / "LC_MESSAGES" / f"{DOMAIN}.mo"


def compile_all() -> None:
    """Write the compiled catalogues."""
    for language in LOCALES:
        path = mo_of(language)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(compiled(language))


_MARKUP = re.compile(r"</?[a-z][^>]*>")


def places_in(text: str) -> set[str]:
    """The named places of a text."""
    try:
        return {name for _text, name, _spec, _turn in Formatter().parse(text) if name is not None}
    except ValueError:
        return {"not a pattern"}


def differences(english: str, words: str, *, by_number: bool = False) -> list[str]:
    """What the translation has that the English has not, or the other way round."""
    wrong = []
    free = {"number"} if by_number else set()
    ours, theirs = places_in(english) - free, places_in(words) - free
    if ours != theirs:
        wrong.append(f"places {sorted(theirs)} for {sorted(ours)}")
    if sorted(_MARKUP.findall(english)) != sorted(_MARKUP.findall(words)):
        wrong.append("other markup than the English")
    if '"' in words and '"' not in english:  # it may stand in an attribute of a page
        wrong.append("a straight quotation mark that the English has not")
    if (english[:1].isspace(), english[-1:].isspace()) != (
        words[:1].isspace(),
        words[-1:].isspace(),
    ):
        wrong.append("other space at its ends")
    return wrong


def unfit(message: Message, strings: Sequence[str]) -> list[str]:
    """What does not fit between a message and its translations, each form by number with its own English."""
    forms = (message.id,) if isinstance(message.id, str) else tuple(message.id)
    pairs = zip(forms, strings, strict=True)
    by_number = len(forms) > 1
    return [one for form, words in pairs for one in differences(form, words, by_number=by_number)]


def complaints(language: str) -> list[str]:
    """What is wrong with the words of a language: missing, or other places or markup than the English."""
    found: list[str] = []
    for part, template in templates().items():
        words = {(one.context or "", _first(one)): one for one in read(language, part) if one.id}
        for message in template:
            if not message.id:
                continue
            english = _first(message)
            written = words.pop((message.context or "", english), None)
            strings = _strings(written) if written else ()
            wrong = [] if strings else ["no words yet"]
            if strings:
                wrong += unfit(message, strings)
            found += [f"{language}/{part}.po: {english!r}: {one}" for one in wrong]
        found += [f"{language}/{part}.po: {text!r}: said nowhere" for _context, text in words]
    return found


def waiting(language: str, parts: list[str]) -> list[object]:
    """What has no words yet: texts, or [one, many] by number; a text with a context is "context|text"."""
    made: list[object] = []
    words = _written(language)
    for part, template in templates().items():
        if parts and part not in parts:
            continue
        for message in template:
            if message.id and (message.context or "", _first(message)) not in words:
                text = message.id if isinstance(message.id, str) else list(message.id)
                made.append(f"{message.context}|{text}" if message.context else text)
    return made


def fill(language: str, file: Path) -> int:
    """Take translations in from {english: words}; words for a text by number are [one, many].

    A text with a context is named "context|text" there. What does not fit is told and left out.
    """
    given: dict[str, str | list[str]] = json.loads(file.read_text("utf-8"))
    taken: Strings = {}
    wrong: list[str] = []
    for template in templates().values():
        for message in template:
            english = _first(message) if message.id else ""
            name = f"{message.context}|{english}" if message.context else english
            if not message.id or name not in given:
                continue
            words = given.pop(name)
            strings = (words,) if isinstance(words, str) else tuple(words)
            by_number = not isinstance(message.id, str)
            if by_number and len(strings) == 1:
                strings *= 2
            doubts = unfit(message, strings)
            if doubts:
                wrong.append(f"{english!r}: {doubts[0]}")
            else:
                taken[message.context or "", english] = strings if by_number else strings[0]
    wrong += [f"{text!r}: said nowhere" for text in given]
    gather({language: taken})
    print(*(f"left out: {one}" for one in wrong), sep="\n", file=sys.stderr)
    print(f"{len(taken)} taken, {len(wrong)} left out")
    return len(wrong)


def check() -> list[str]:
    """Everything that is not in order."""
    found = [line for language in LOCALES for line in complaints(language)]
    found += [
        f"{mo_of(language).name} of {language} is not current: make languages"
        for language in LOCALES
        if not mo_of(language).exists() or mo_of(language).read_bytes() != compiled(language)
    ]
    return found


def main(arguments: list[str]) -> int:
    """Do what was asked."""
    match arguments:
        case ["gather"]:
            gather()
        case ["compile"]:
            compile_all()
        case ["check"]:
            found = check()
            print(*found, sep="\n")
            return 1 if found else 0
        case ["open", language, *parts]:
            print(json.dumps(waiting(language, parts), ensure_ascii=False, indent=0))
        case ["fill", language, file]:
            return 1 if fill(language, Path(file)) else 0
        case _:
            print(__doc__)
            return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
