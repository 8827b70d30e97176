"""The web application: each route parses, makes one call of the api, and renders a page or its JSON."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from datetime import date
from ipaddress import ip_address
from pathlib import Path
from socket import gethostname
from typing import Annotated, TypedDict
from urllib.parse import parse_qs, quote

import uvicorn
from fastapi import Body, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from bearwell.api import (
    FeedingYear,
    Knowledge,
    LoadedGarden,
    Reckoner,
    TreeYear,
    gravest_first,
    knowledge,
    reckoners,
    shelf,
    tree_year,
    worklist,
)
from bearwell.errors import BadInput, Problem
from bearwell.faces.twins import problem_twin, reckoning_twin, words_of, worklist_twin
from bearwell.faces.twins_feeding import sheet_twin, shelf_twin
from bearwell.faces.web.drawing.bars import yearly_bars
from bearwell.faces.web.drawing.year import year_drawing
from bearwell.faces.web.keeper import Keeper, Spoiled
from bearwell.faces.web.pages import feeding as feeding_page
from bearwell.faces.web.pages import garden as garden_page
from bearwell.faces.web.pages import knowledge as knowledge_page
from bearwell.faces.web.pages import leaf as leaf_page
from bearwell.faces.web.pages import reckoning as reckoning_page
from bearwell.faces.web.pages import tree as tree_page
from bearwell.faces.web.pages import week as week_page
from bearwell.faces.web.render import STATIC, page, twin
from bearwell.faces.web.shield import LOOPBACK, Shield
from bearwell.faces.words import Words
from bearwell.quantities import Quantity

READ = ["GET", "HEAD"]
FORM = "application/x-www-form-urlencoded"


class _Static(StaticFiles):
    """Our own files, kept by browsers because their address changes when they do."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file with leave to keep it."""
        response = await super().get_response(path, scope)
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable"
        return response


def create_app(
    garden: Path,
    *,
    weather: Sequence[Path] = (),
    today: Callable[[], date] | None = None,
    read_only: bool = False,
    hosts: Collection[str] = LOOPBACK,
    by_address: bool = False,
) -> FastAPI:
    """The application for one garden file.

    ``today`` stands in for the clock at the site. ``hosts`` are the names it answers to; ``by_address``
    lets it answer to any bare address too. ``read_only`` refuses every request that sends something.
    """
    app = FastAPI(title="bearwell", docs_url=None, redoc_url=None, openapi_url=None)
    keeper = Keeper(Path(garden), [Path(one) for one in weather], today)
    app.mount("/static", _Static(directory=STATIC), name="static")
    _garden_routes(app, keeper)
    _feeding_routes(app, keeper)
    _reckoner_routes(app, keeper, read_only)
    _knowledge_routes(app, keeper)
    _leaf_routes(app, keeper)
    _refusals(app, keeper)
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.add_middleware(Shield, hosts=hosts, by_address=by_address, read_only=read_only)
    return app


def serve(
    garden: Path,
    host: str = "127.0.0.1",
    port: int = 8321,
    weather: Sequence[Path] = (),
    read_only: bool = False,
) -> None:
    """Serve a garden until stopped; prints the address first."""
    if not 0 < port < 65536:
        raise BadInput(
            f"port {port} cannot be served on", "between 1 and 65535; 1024 and up need no rights"
        )
    near = host in ("127.0.0.1", "localhost", "::1")
    names = LOOPBACK if near else (*LOOPBACK, host, gethostname(), f"{gethostname()}.local")
    app = create_app(garden, weather=weather, read_only=read_only, hosts=names, by_address=not near)
    print(
        f"bearwell serves {garden} on http://{_written(host)}:{port}/ (stop with Ctrl+C)",
        flush=True,
    )
    if not near:
        print("Anyone on this network can read it.", flush=True)
    uvicorn.run(app, host=host, port=port, log_level="warning", access_log=False)


def _written(host: str) -> str:
    try:
        return f"[{host}]" if ip_address(host).version == 6 else host
    except ValueError:
        return host


def _garden_routes(app: FastAPI, keeper: Keeper) -> None:
    @app.api_route("/week.json", methods=READ)
    def week_json(days: int = 14, tree: str | None = None) -> Response:
        opened = keeper.garden()
        return twin(worklist_twin(worklist(opened, days, tree), words_of(opened)))

    @app.api_route("/", methods=READ)
    def week(days: int = 14, by: str = "urgency", tree: str | None = None) -> Response:
        opened = keeper.garden()
        listed = worklist(opened, days, tree)
        grouped = by == "tree"
        only = f"&tree={quote(tree)}" if tree else ""
        sections = (
            week_page.by_tree(listed, opened.garden.trees)
            if grouped
            else week_page.by_urgency(listed)
        )
        return page(
            "week.html", words_of(opened), here="week", garden=listed.garden, book=opened.book,
            twin=f"/week.json?days={days}{only}", only=only, listed=listed, sections=sections, grouped=grouped,
            minutes=week_page.minutes(listed), cautions=week_page.cautions(listed),
            trees={one.id: one for one in opened.garden.trees},
        )  # fmt: skip

    @app.api_route("/trees.json", methods=READ)
    def trees_json() -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return twin(tree_page.entries_twin(tree_page.entries(opened, words), words))

    @app.api_route("/trees", methods=READ)
    def trees() -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return page("trees.html", words, here="trees", garden=opened.garden.about.name, book=opened.book,
                    twin="/trees.json", entries=tree_page.entries(opened, words))  # fmt: skip

    @app.api_route("/tree/{tree}.json", methods=READ)
    def tree_json(tree: str) -> Response:
        opened = keeper.garden()
        return twin(tree_page.tree_twin(opened, _year(opened, tree), words_of(opened)))

    @app.api_route("/tree/{tree}", methods=READ)
    def one_tree(tree: str) -> Response:
        opened = keeper.garden()
        return _tree_answer(opened, tree)

    @app.api_route("/garden.json", methods=READ)
    def garden_json() -> Response:
        return twin(garden_page.garden_twin(keeper.garden()))

    @app.api_route("/garden", methods=READ)
    def whole_garden() -> Response:
        opened = keeper.garden()
        return page(
            "garden.html", words_of(opened), here="garden", garden=opened.garden.about.name, book=opened.book,
            twin="/garden.json", opened=opened, record=garden_page.weather_record(opened),
            problems=gravest_first(opened.problems), Quantity=Quantity,
        )  # fmt: skip


def _year(opened: LoadedGarden, tree: str) -> TreeYear:
    try:
        return tree_year(opened, tree)
    except BadInput as error:
        raise HTTPException(404, str(error)) from None


def _tree_answer(opened: LoadedGarden, tree_id: str) -> Response:
    year = _year(opened, tree_id)
    tree, words, today = year.tree, words_of(opened), opened.today
    advice = tree_page.in_order(opened.advice(tree))
    rows = tree_page.year_rows(year, advice, words)
    first, last = tree_page.span(today)
    wide, narrow = (
        year_drawing(rows, first, last, today, words, narrow=narrow, name=tree.called)
        for narrow in (False, True)
    )
    harvests = sorted(tree.harvests, key=lambda one: one.year)
    picked = [(one.year, one.mass, words.quantity(Quantity(one.mass, "g"))) for one in harvests]
    return page(
        "tree.html", words, here="trees", garden=opened.garden.about.name, book=opened.book,
        twin=f"/tree/{tree.id}.json", tree=tree, year=year, place=tree_page.place(tree, words), rows=rows,
        first=first, last=last, wide=wide, narrow=narrow, stages=tree_page.stages_shown(year, today),
        harvests=harvests, bars=yearly_bars(picked, f"Harvests of {tree.called}"), Quantity=Quantity,
        kind=opened.view(tree).species, age=tree.age(today), next=tree_page.next_job(advice),
        work=[one for one in advice if one.kind not in week_page.ROUND],
        round=[one for one in advice if one.kind in week_page.ROUND], trees={tree.id: tree},
        shelter=opened.garden.shelter(tree.shelter),
    )  # fmt: skip


def _feeding_routes(app: FastAPI, keeper: Keeper) -> None:
    def fed(opened: LoadedGarden, tree: str) -> FeedingYear:
        if tree not in {one.id for one in opened.garden.trees}:
            raise HTTPException(404, f"There is no tree '{tree}'")
        return feeding_page.planned_year(opened, tree)

    @app.api_route("/tree/{tree}/feeding.json", methods=READ)
    def feeding_json(tree: str) -> Response:
        opened = keeper.garden()
        return twin(feeding_page.tree_twin(opened, fed(opened, tree), words_of(opened)))

    @app.api_route("/tree/{tree}/feeding", methods=READ)
    def feeding(tree: str) -> Response:
        opened = keeper.garden()
        year, words = fed(opened, tree), words_of(opened)
        return page(
            "feeding.html", words, here="trees", garden=opened.garden.about.name, book=opened.book,
            twin=f"/tree/{year.tree.id}/feeding.json", **feeding_page.tree_shown(opened, year, words),
        )  # fmt: skip

    @app.api_route("/shelf.json", methods=READ)
    def shelf_json() -> Response:
        opened = keeper.garden()
        return twin(shelf_twin(opened, shelf(opened), words_of(opened)))

    @app.api_route("/shelf", methods=READ)
    def whole_shelf() -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return page(
            "shelf.html", words, here="garden", garden=opened.garden.about.name, book=opened.book,
            twin="/shelf.json", **feeding_page.shelf_shown(opened, shelf(opened), words),
        )  # fmt: skip

    @app.api_route("/sheet.json", methods=READ)
    def sheet_json(days: int = 21) -> Response:
        opened = keeper.garden()
        return twin(sheet_twin(opened, feeding_page.sheet_of(opened, days, words_of(opened))))

    @app.api_route("/sheet", methods=READ)
    def sheet(days: int = 21) -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        return page(
            "sheet.html", words, here="week", garden=opened.garden.about.name, book=opened.book,
            twin=f"/sheet.json?days={days}", listed=feeding_page.sheet_of(opened, days, words),
            rules=opened.garden.feeding, Quantity=Quantity,
        )  # fmt: skip


def _reckoner_routes(app: FastAPI, keeper: Keeper, read_only: bool) -> None:
    def chosen(name: str) -> Reckoner:
        try:
            return reckoners()[name]
        except KeyError:
            raise HTTPException(404, f"There is no reckoner '{name}'") from None

    def typed(request: Request) -> dict[str, list[str]]:
        return {key: request.query_params.getlist(key) for key in request.query_params}

    def shown(name: str, given: dict[str, list[str]]) -> Response:
        reckoner, opened = chosen(name), _or_none(keeper)
        words = words_of(opened) if opened else Words()
        files = reckoning_page.files_of(opened)
        outcome = reckoning_page.answer(reckoner, given, files)
        return page(
            "reckoner.html", words, here="reckon", status=422 if outcome.failed else 200, outcome=outcome,
            **_named(opened), reckoner=reckoner, title=reckoning_page.title, files=files, read_only=read_only,
            example=reckoning_page.example_of(reckoner), kinds=knowledge_page.kinds(knowledge()),
            lines=reckoning_page.result_lines(outcome.done, words) if outcome.done else [],
            tables=reckoning_page.result_tables(outcome.done) if outcome.done else [],
        )  # fmt: skip

    @app.api_route("/reckon/{name}.json", methods=READ)
    def reckoner_json(name: str, request: Request) -> Response:
        reckoner, opened = chosen(name), _or_none(keeper)
        given = {key: texts for key, texts in typed(request).items() if any(texts)}
        done = reckoning_page.compute(reckoner, given, reckoning_page.files_of(opened))
        return twin(reckoning_twin(done, words_of(opened) if opened else Words()))

    @app.api_route("/reckon", methods=READ)
    def reckoner_list() -> Response:
        opened = _or_none(keeper)
        return page("reckon.html", words_of(opened) if opened else Words(), here="reckon", **_named(opened),
                    reckoners=list(reckoners().values()), title=reckoning_page.title)  # fmt: skip

    @app.api_route("/reckon/{name}", methods=READ)
    def reckoner_page(name: str, request: Request) -> Response:
        return shown(name, typed(request))

    @app.post("/reckon/{name}")
    def reckoner_sent(name: str, body: Annotated[bytes, Body(media_type=FORM)] = b"") -> Response:
        return shown(name, parse_qs(body.decode("utf-8", "replace"), max_num_fields=100))


def _knowledge_routes(app: FastAPI, keeper: Keeper) -> None:
    @app.api_route("/kind/{key}.json", methods=READ)
    def kind_json(key: str) -> Response:
        opened = _or_none(keeper)
        book = opened.book if opened else knowledge()
        words = words_of(opened) if opened else Words()
        try:
            return twin(knowledge_page.kind_twin(book.kind(key), book, words))
        except BadInput as error:
            raise HTTPException(404, str(error)) from None

    @app.api_route("/kind", methods=READ)
    def kind_list() -> Response:
        opened = _or_none(keeper)
        book = opened.book if opened else knowledge()
        return page(
            "kinds.html",
            Words(),
            here="sources",
            **_named(opened),
            kinds=knowledge_page.kinds(book),
        )

    @app.api_route("/kind/{key}", methods=READ)
    def kind(key: str) -> Response:
        opened = _or_none(keeper)
        book = opened.book if opened else knowledge()
        words = words_of(opened) if opened else Words()
        try:
            species = book.kind(key)
        except BadInput as error:
            raise HTTPException(404, str(error)) from None
        found = knowledge_page.chapters(species, book, words)
        return page("kind.html", words, here="sources", **_named(opened), species=species, chapters=found,
                    twin=f"/kind/{species.key}.json")  # fmt: skip

    @app.api_route("/sources", methods=READ)
    def sources() -> Response:
        opened = _or_none(keeper)
        book = opened.book if opened else knowledge()
        listed = sorted(book.sources.values(), key=lambda one: (one.cite().lower(), one.key))
        return page("sources.html", Words(), here="sources", **_named(opened), sources=listed)

    @app.api_route("/why", methods=READ)
    def why() -> Response:
        return page("why.html", Words(), here="why", **_named(_or_none(keeper)))


def _leaf_routes(app: FastAPI, keeper: Keeper) -> None:
    def typed(request: Request) -> dict[str, list[str]]:
        return {key: request.query_params.getlist(key) for key in request.query_params}

    @app.api_route("/leaf.json", methods=READ)
    def leaf_json(request: Request) -> Response:
        opened = _or_none(keeper)
        book = opened.book if opened else knowledge()
        outcome = leaf_page.compute(typed(request), opened, book)
        return twin(leaf_page.leaf_twin(outcome, words_of(opened) if opened else Words()))

    @app.api_route("/leaf", methods=READ)
    def leaf(request: Request) -> Response:
        opened = _or_none(keeper)
        named, words = _named(opened), words_of(opened) if opened else Words()
        outcome = leaf_page.answer(typed(request), opened, named["book"])
        query = f"?{request.url.query}" if request.url.query else ""
        return page(
            "leaf.html", words, here="reckon", status=422 if outcome.complaint else 200, **named,
            twin=f"/leaf.json{query}", outcome=outcome, kinds=knowledge_page.kinds(named["book"]),
            trees=opened.garden.trees if opened else (), sort_words=leaf_page.SORT_WORDS,
            likelihood_words=leaf_page.LIKELIHOOD_WORDS,
        )  # fmt: skip


def _or_none(keeper: Keeper) -> LoadedGarden | None:
    """The garden, or nothing while it cannot be read: some pages need none."""
    try:
        return keeper.garden()
    except Spoiled:
        return None


class _Named(TypedDict):
    """The name of the garden and what is known, with its own kinds."""

    garden: str
    book: Knowledge


def _named(opened: LoadedGarden | None) -> _Named:
    if opened is None:
        return {"garden": "", "book": knowledge()}
    return {"garden": opened.garden.about.name, "book": opened.book}


def _refusals(app: FastAPI, keeper: Keeper) -> None:
    """What is answered when a request cannot be served: the same words as a page or as JSON."""

    def told(request: Request, status: int, heading: str, problems: Sequence[Problem]) -> Response:
        if request.url.path.endswith(".json"):
            return twin({"problems": [problem_twin(problem) for problem in problems]}, status)
        opened = _or_none(keeper)
        return page("refused.html", Words(), here="", **_named(opened), heading=heading, problems=problems,
                    status=status)  # fmt: skip

    @app.exception_handler(Spoiled)
    def spoiled(request: Request, error: Spoiled) -> Response:
        if request.url.path.endswith(".json"):
            return twin({"problems": [problem_twin(problem) for problem in error.problems]}, 422)
        return page("spoiled.html", Words(), here="", garden="", status=200,
                    problems=gravest_first(error.problems))  # fmt: skip

    @app.exception_handler(BadInput)
    def bad(request: Request, error: BadInput) -> Response:
        return told(
            request, 422, "That cannot be served", [Problem("request", error.message, error.hint)]
        )

    @app.exception_handler(RequestValidationError)
    def invalid(request: Request, error: RequestValidationError) -> Response:
        problems = [
            Problem("request", f"{one['loc'][-1]}: {one['msg'][:1].lower()}{one['msg'][1:]}")
            for one in error.errors()
        ]
        return told(request, 422, "That cannot be served", problems)

    @app.exception_handler(HTTPException)
    def refused(request: Request, error: HTTPException) -> Response:
        heading = "There is no such page" if error.status_code == 404 else "That cannot be served"
        detail = "" if error.detail in ("Not Found", "Method Not Allowed") else error.detail
        problems = [Problem("request", detail)] if detail else []
        return told(request, error.status_code, heading, problems)
