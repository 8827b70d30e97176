"""From a file to its text, and the notebook in which a reader writes what it found wrong."""

from __future__ import annotations

import gzip
import io
import zlib
from collections.abc import Iterable
from pathlib import Path
from typing import NoReturn

from bearwell.errors import BadFile, BadInput, Problem, Severity
from bearwell.said import said
from bearwell.weather.report import MIDNIGHT, Left, Report, Station

_LARGEST = 512 * 1024 * 1024
_TOLD = 20
_FIRST = 3  # lines named in a report
_FOREIGN = (
    (b"PK\x03\x04", "a zip archive or a spreadsheet", "unpack it, or save the sheet as CSV"),
    (b"%PDF", "a PDF", "ask for the data as CSV"),
    (b"\x89PNG", "a picture", "give a table of daily values as CSV"),
    (b"SQLite", "a database", "export the table as CSV"),
)


class Findings:
    """Problems of one file. Many of one sort are cut short: the first 20, then how many more.

    A reader also writes down here what it took the file for, and what it left out.
    """

    def __init__(self, where: str) -> None:
        self.where = where
        self.layout = "a table of days"
        self.day = MIDNIGHT
        self.station: Station | None = None
        self.terms = ""
        self.units: dict[str, str] = {}
        self.marked: dict[str, list[int]] = {}
        self._told: list[Problem] = []
        self._counts: dict[str, int] = {}
        self._lost: dict[tuple[str, bool], list[int]] = {}

    def lose(self, reason: str, lines: Iterable[int], *, kept: bool = False) -> None:
        """Count readings left out, or ``kept`` with a doubt, for a reason; a line of 0 is unknown."""
        self._lost.setdefault((reason, kept), []).extend(lines)

    def mark(self, reason: str, ordinals: Iterable[int]) -> None:
        """Flag days, by their ordinals, on which a reading was left out or doubted."""
        self.marked.setdefault(reason, []).extend(ordinals)

    def report(self, days: int) -> Report:
        """How the file was read."""
        left: dict[bool, list[Left]] = {True: [], False: []}
        for (reason, kept), lines in self._lost.items():
            if lines:
                first = sorted({line for line in lines if line})[:_FIRST]
                left[kept].append(Left(reason, len(lines), tuple(first)))
        return Report(
            self.where, self.layout, self.day, self.station, tuple(self.units.items()),
            tuple(left[False]), tuple(left[True]), days, self.terms,
        )  # fmt: skip

    def add(
        self,
        severity: Severity,
        message: str,
        hint: str = "",
        *,
        line: int | None = None,
        sort: str = "",
        kept: bool = False,
    ) -> None:
        """Write down one problem; of one ``sort`` those beyond the twentieth are counted."""
        if sort:
            self._counts[sort] = self._counts.get(sort, 0) + 1
            self.lose(sort, [line or 0], kept=kept)
            if self._counts[sort] > _TOLD:
                return
        self._told.append(Problem(self.where, message, hint, line or None, severity))

    def note(self, message: str, hint: str = "", *, line: int | None = None) -> None:
        """Something assumed or dealt with."""
        self.add("note", message, hint, line=line)

    def warn(
        self,
        message: str,
        hint: str = "",
        *,
        line: int | None = None,
        sort: str = "",
        kept: bool = False,
    ) -> None:
        """Something doubtful; of a ``sort`` each is counted as left out unless it was ``kept``."""
        self.add("warning", message, hint, line=line, sort=sort, kept=kept)

    def refuse(self, message: str, hint: str = "", *, line: int | None = None) -> NoReturn:
        """Give up on the file: raises BadFile with everything found so far, this last."""
        self.add("error", message, hint, line=line)
        raise BadFile(self.problems())

    def problems(self) -> list[Problem]:
        """Everything found, in the order of finding, with one line for each sort cut short."""
        more = [
            Problem(
                self.where,
                said("and {count} more: {sort}", count=count - _TOLD, sort=said(sort)),
                severity="warning",
            )
            for sort, count in self._counts.items()
            if count > _TOLD
        ]
        return [*self._told, *more]


def read_bytes(path: Path, findings: Findings) -> bytes:
    """What a plain or gzipped file holds.

    Raises BadInput when there is no such file, BadFile when it is empty, too large, or damaged.
    """
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        raise BadInput(
            said("there is no file {where}", where=findings.where), "check the name and folder"
        ) from None
    except OSError as problem:
        reason = problem.strerror or "it cannot be opened"
        raise BadInput(
            said("cannot read {where}: {reason}", where=findings.where, reason=reason.lower())
        ) from None
    return whole(raw, findings)


def whole(raw: bytes, findings: Findings) -> bytes:
    """A content unpacked where it was gzipped; raises BadFile when it is empty, too large, or damaged."""
    if raw.startswith(b"\x1f\x8b"):
        raw = _unzipped(raw, findings)
    if len(raw) > _LARGEST:
        findings.refuse("the file is too large for one station", "cut it to one station")
    if not raw.strip():
        findings.refuse("the file is empty")
    return raw


def read_text(raw: bytes, findings: Findings) -> str:
    """The text of a file, whatever its encoding.

    UTF-8 and UTF-16 marks are honoured; what is not UTF-8 is read as Latin-1, and noted. Raises
    BadFile when it is not a text, or a web page or XML.
    """
    for mark, what, hint in _FOREIGN:
        if raw.startswith(mark):
            findings.refuse(
                said("this is {what}, not a table of daily weather", what=said(what)), hint
            )
    text = _decoded(raw, findings)
    odd = sum(1 for letter in text[:4096] if ord(letter) < 32 and letter not in "\t\r\n\f\x1a")
    if odd:
        findings.refuse(
            "this is not a text file", "a table of daily values is needed, as CSV or .dly"
        )
    if text.lstrip()[:1] == "<":
        findings.refuse(
            "this is a web page or XML, not a table of daily weather",
            "a service that is down or wants a sign-in answers so: download it again as CSV",
        )
    return text


def _unzipped(raw: bytes, findings: Findings) -> bytes:
    try:
        with gzip.open(io.BytesIO(raw)) as packed:
            return packed.read(_LARGEST + 1)
    except (OSError, EOFError, zlib.error):
        findings.refuse("the gzip archive is damaged", "download it again")


def _decoded(raw: bytes, findings: Findings) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
        if not any(ord(letter) < 32 and letter not in "\t\r\n\f\x1a" for letter in text[:4096]):
            findings.note("the file is not UTF-8; its letters were read as Latin-1")
        return text
