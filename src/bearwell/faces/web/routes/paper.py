"""What is hung up and carried: the week's sheet, the poster, tags, the calendar."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from bearwell.api import LoadedGarden
from bearwell.errors import BadInput
from bearwell.faces.addresses import base_address, only_here
from bearwell.faces.language import _
from bearwell.faces.problems import problem_line
from bearwell.faces.twins import words_of
from bearwell.faces.twins_paper import paper_twin, poster_twin, tags_twin, week_sheet_twin
from bearwell.faces.web.drawing.poster import posters
from bearwell.faces.web.keeper import Keeper, Spoiled
from bearwell.faces.web.pages import paper as paper_page
from bearwell.faces.web.pages.subscribed import Subscribed
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ
from bearwell.quantities import Quantity
from bearwell.said import said

PAPERS = ("a3", "a4")


def _based(request: Request, typed: str) -> str:
    """The address pages are reached under: the one that was typed, else the one that was asked."""
    return base_address(typed) or str(request.base_url).rstrip("/")


def _paper(typed: str) -> str:
    if typed not in PAPERS:
        raise BadInput(
            said("there is no poster on '{paper}'", paper=typed),
            said("one of: {names}", names=", ".join(PAPERS)),
        )
    return typed


def _known(opened: LoadedGarden, tree: str | None) -> str | None:
    """The id of a tree that was asked for; BadInput where the garden has none of this name."""
    return opened.garden.tree(tree).id if tree else None


def paper_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the pages for paper and the calendar."""
    calendars = Subscribed()

    @app.api_route("/calendar.ics", methods=READ)
    def calendar(request: Request, tree: str | None = None, base: str = "") -> Response:
        try:
            opened = keeper.garden()
        except Spoiled as error:  # no page in its place: a phone then keeps what it has
            told = "\n".join(problem_line(problem) for problem in error.problems)
            return PlainTextResponse(told, 503, {"Retry-After": "3600"})
        given = calendars.given(opened, _known(opened, tree), _based(request, base))
        return given.answer(request.headers.get("if-none-match", ""))

    @app.api_route("/paper.json", methods=READ)
    def paper_json(request: Request) -> Response:
        keeper.garden()
        return twin(paper_twin(paper_page.paper_shown(_based(request, ""))))

    @app.api_route("/paper", methods=READ)
    def paper(request: Request) -> Response:
        opened, base = keeper.garden(), _based(request, "")
        return page(
            "paper.html", words_of(opened), here="garden", garden=opened.garden.about.name, book=opened.book,
            twin="/paper.json", rows=paper_page.paper_shown(base), feed=paper_page.feed(base),
            only_here=only_here(base),
        )  # fmt: skip

    @app.api_route("/sheet/week.json", methods=READ)
    def week_json(days: int = 7) -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return twin(week_sheet_twin(paper_page.week_sheet(opened, days, words), words))

    @app.api_route("/sheet/week", methods=READ)
    def week(days: int = 7) -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return page(
            "weeksheet.html", words, here="week", garden=opened.garden.about.name, book=opened.book,
            twin=f"/sheet/week.json?days={days}", found=paper_page.week_sheet(opened, days, words),
            Quantity=Quantity, trees={one.id: one for one in opened.garden.trees},
        )  # fmt: skip

    @app.api_route("/poster.json", methods=READ)
    def poster_json(paper: str = "a3") -> Response:
        opened = keeper.garden()
        lines = paper_page.poster_lines(opened, words_of(opened))
        first, last = paper_page.poster_span(opened.today)
        return twin(poster_twin(opened.garden.about.name, first, last, lines, _paper(paper)))

    @app.api_route("/poster", methods=READ)
    def poster(paper: str = "a3") -> Response:
        opened = keeper.garden()
        name, words = opened.garden.about.name, words_of(opened)
        lines = paper_page.poster_lines(opened, words)
        first, last = paper_page.poster_span(opened.today)
        about = _(
            "The year of its trees, as seen on {day} {year}",
            day=words.day(opened.today),
            year=opened.today.year,
        )
        return page(
            "poster.html", words, here="week", garden=name, book=opened.book, lines=lines,
            twin=f"/poster.json?paper={paper}", paper=_paper(paper), first=first, last=last,
            drawings=posters(lines, first, last, opened.today, name, about),
        )  # fmt: skip

    @app.api_route("/tags.json", methods=READ)
    def tags_json(
        request: Request,
        size: str = "small",
        skip: int = 0,
        tree: str | None = None,
        base: str = "",
    ) -> Response:
        opened = keeper.garden()
        known, where = _known(opened, tree), _based(request, base)
        return twin(
            tags_twin(paper_page.tag_sheet(opened, where, size, skip, known, words_of(opened)))
        )

    @app.api_route("/tags", methods=READ)
    def tags(
        request: Request,
        size: str = "small",
        skip: int = 0,
        tree: str | None = None,
        base: str = "",
    ) -> Response:
        opened = keeper.garden()
        words, where = words_of(opened), _based(request, base)
        found = paper_page.tag_sheet(opened, where, size, skip, _known(opened, tree), words)
        return page(
            "tags.html", words, here="trees", garden=opened.garden.about.name, book=opened.book,
            found=found, sheets=paper_page.sheets_of(found), code=paper_page.code, only_here=only_here(where),
            twin=paper_page.tags_address(found, tree, base),
        )  # fmt: skip
