"""The calendar as it is given over the web: kept while the garden stays, and not sent twice."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from hashlib import sha256
from threading import Lock

from starlette.responses import Response

from bearwell.api import LoadedGarden
from bearwell.faces.calendar import calendar_text
from bearwell.faces.clock import now_here
from bearwell.faces.language import spoken

_KEPT = 32  # calendars, one for each tree, address and language asked for


@dataclass(frozen=True)
class Given:
    """A calendar with the garden it was made of and the mark it is known by."""

    opened: LoadedGarden
    text: str
    mark: str

    def answer(self, known: str) -> Response:
        """The calendar, or only that it has not changed where the asker knows its mark: RFC 9110 13.1.2."""
        headers = {"ETag": self.mark, "Content-Disposition": 'inline; filename="bearwell.ics"'}
        marks = {one.strip().removeprefix("W/") for one in known.split(",")}
        if "*" in marks or self.mark.removeprefix("W/") in marks:
            return Response(status_code=304, headers={"ETag": self.mark})
        return Response(self.text, media_type="text/calendar; charset=utf-8", headers=headers)


class Subscribed:
    """The calendars given so far, so that an event that did not change keeps its stamps."""

    def __init__(self) -> None:
        self._given: OrderedDict[tuple[str | None, str, str], Given] = OrderedDict()
        self._lock = Lock()

    def given(self, opened: LoadedGarden, tree: str | None, base: str) -> Given:
        """The calendar of a garden, or of one tree, as spoken now, with links that begin with ``base``."""
        asked = tree, base, spoken.get()
        with self._lock:
            before = self._given.get(asked)
            if before is None or before.opened is not opened:
                earlier = before.text if before else ""
                text = calendar_text(opened, now_here(), tree=tree, base=base, before=earlier)
                mark = f'W/"{sha256(text.encode()).hexdigest()[:24]}"'
                self._given[asked] = before = Given(opened, text, mark)
            self._given.move_to_end(asked)
            while len(self._given) > _KEPT:
                self._given.popitem(last=False)
            return before
