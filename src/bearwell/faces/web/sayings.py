"""What the scripts of the pages say, in another language: one small script a language."""

from __future__ import annotations

import json
import re
from functools import cache
from hashlib import sha256
from pathlib import Path

from bearwell.faces.language import catalogue

STATIC = Path(__file__).parent / "static"

# A script says something by say("...", values), the text in double quotes on one line.
SAYS = re.compile(r'\bsay\(\s*("(?:[^"\\\n]|\\.)*")')


@cache
def said_by_scripts() -> tuple[str, ...]:
    """Every text that our scripts say, once, in the order of the files."""
    texts = [
        json.loads(found)
        for file in sorted(STATIC.glob("*.js"))
        for found in SAYS.findall(file.read_text("utf-8"))
    ]
    return tuple(dict.fromkeys(texts))


@cache
def sayings_script(language: str) -> str:
    """The script that tells say.js how to say it in this language."""
    known = catalogue(language)
    sayings = {text: known.gettext(text) for text in said_by_scripts()}
    return f"window.sayings = {json.dumps(sayings, ensure_ascii=False)};\n"


@cache
def sayings_url(language: str) -> str:
    """The address of that script, which changes when it does."""
    mark = sha256(sayings_script(language).encode()).hexdigest()[:10]
    return f"/sayings/{language}.js?{mark}"
