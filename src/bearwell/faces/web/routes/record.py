"""Recording by touch, its history, and undoing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import parse_qs, quote, urlsplit

from fastapi import Body, FastAPI, Request
from starlette.responses import RedirectResponse, Response

from bearwell import api
from bearwell.api import LoadedGarden
from bearwell.errors import BadFile, BadInput, BearwellError, Overtaken, Problem
from bearwell.faces.language import _
from bearwell.faces.twins import problem_twin, words_of
from bearwell.faces.web.keeper import Keeper, Spoiled
from bearwell.faces.web.pages import record as record_page
from bearwell.faces.web.pages.typed import Form
from bearwell.faces.web.refuse import wants_json
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import FORM, READ, named, no_tree, open_or_none
from bearwell.faces.words import Words

if TYPE_CHECKING:
    from bearwell.api import Photo, Store

MOST_FIELDS = 200
Sent = Annotated[bytes, Body(media_type=FORM)]
Write = Callable[..., list[record_page.Kept]]
Again = Callable[[list[Problem], int], Response]


def recording_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the pages that record and undo; without a store they say how to begin one."""

    @app.post("/do")
    def do(request: Request, body: Sent = b"") -> Response:
        return answered(request, keeper, form_of(body), record_page.decide)

    @app.post("/undo")
    def undo(request: Request, body: Sent = b"") -> Response:
        return answered(request, keeper, form_of(body), record_page.take_back)

    @app.post("/tree/{tree}/record")
    def keep(request: Request, tree: str, body: Sent = b"") -> Response:
        return answered(request, keeper, form_of(body), partial(_keep_for, tree))

    @app.api_route("/tree/{tree}/record", methods=READ)
    def forms(request: Request, tree: str) -> Response:
        return _forms(keeper, tree, request)

    @app.api_route("/history.json", methods=READ)
    def history_json(tree: str = "", last: int = record_page.SHOWN) -> Response:
        opened = keeper.garden()
        actions = record_page.told(_store(keeper), words_of(opened), tree, max(last, 1))
        return twin(record_page.history_twin(actions))

    @app.api_route("/history", methods=READ)
    def history(tree: str = "", last: int = record_page.SHOWN) -> Response:
        opened = keeper.garden()
        words = words_of(opened)
        if keeper.store is None:
            return page(
                "unrecorded.html",
                words,
                here="garden",
                garden=opened.garden.about.name,
                book=opened.book,
            )
        actions = record_page.told(keeper.store, words, tree, max(last, 1))
        only = f"?tree={quote(tree)}" if tree else ""
        return page(
            "history.html", words, here="garden", garden=opened.garden.about.name, book=opened.book,
            twin=f"/history.json{only}", actions=actions, tree=tree, last=last, back=f"/history{only}",
            trees={one.id: one for one in opened.garden.trees}, **acting(keeper),
        )  # fmt: skip


def acting(
    keeper: Keeper, request: Request | None = None, opened: LoadedGarden | None = None
) -> dict[str, Any]:
    """What a page needs to show forms that record, and what was recorded just now."""
    told = None
    if keeper.store is not None and request is not None and opened is not None:
        record = request.query_params.get("told", "")
        told = record_page.told_one(keeper.store, record, words_of(opened)) if record else None
    return {"recording": keeper.may_record, "fresh_id": record_page.fresh_id, "told": told}


def photos_of(keeper: Keeper, tree: str) -> list[Photo]:
    """The photos of a tree, newest first; none where nothing can be recorded."""
    found = api.photos(keeper.store, "tree", tree) if keeper.store is not None else []
    return sorted(found, key=lambda one: str(one.day), reverse=True)


def _keep_for(
    tree: str, store: Store, opened: LoadedGarden, form: Form, at: datetime
) -> list[record_page.Kept]:
    return record_page.keep(store, opened, tree, form, at)


def _forms(
    keeper: Keeper,
    tree_id: str,
    request: Request,
    complaints: list[Problem] | None = None,
    form: Form | None = None,
    status: int = 200,
) -> Response:
    opened = keeper.garden()
    words = words_of(opened)
    if tree_id not in {one.id for one in opened.garden.trees}:
        raise no_tree(tree_id)
    tree = opened.garden.tree(tree_id)
    if not keeper.may_record or keeper.store is None:
        return page(
            "unrecorded.html",
            words,
            here="trees",
            garden=opened.garden.about.name,
            book=opened.book,
        )
    actions = record_page.told(keeper.store, words, tree_id, 12)
    sent = form or {}
    return page(
        "record.html", words, here="trees", garden=opened.garden.about.name, book=opened.book, status=status,
        tree=tree, kinds=record_page.KINDS, measures=record_page.MEASURES, products=opened.garden.products,
        events=api.EVENTS, jobs=api.JOBS, nutrients=api.NUTRIENT_NAMES, actions=actions, complaints=complaints or [],
        looks=record_page.looks(opened, tree), leaf_test=record_page.LEAF_TEST, soil_test=record_page.SOIL_TEST,
        methods=record_page.SOIL_METHODS, norms=api.leaf_norms(opened, tree_id),
        value=lambda key: record_page.one(sent, key),
        chosen=record_page.one(sent, "kind") or request.query_params.get("kind", ""),
        back=f"/tree/{quote(tree_id)}/record", photos=photos_of(keeper, tree_id), **acting(keeper, request, opened),
    )  # fmt: skip


def form_of(body: bytes, most: int = MOST_FIELDS) -> dict[str, list[str]]:
    """The fields of a form that was sent, empty ones too; raises BadInput for more of them than ``most``."""
    try:
        text = body.decode("utf-8")
        return parse_qs(text, keep_blank_values=True, max_num_fields=most)
    except ValueError:
        raise BadInput("the form could not be read", "send it from the page") from None


def _store(keeper: Keeper) -> Store:
    if keeper.store is None:
        raise BadInput(
            "this garden is read from a file, where nothing can be recorded",
            "bearwell import GARDEN.toml --data FOLDER, then bearwell serve --data FOLDER",
        )
    return keeper.store


def answered(
    request: Request,
    keeper: Keeper,
    form: Form,
    write: Write,
    again: Again | None = None,
) -> Response:
    """Record and answer: back to the page it came from, or as JSON; what is refused is told, never lost.

    ``again`` shows the page of the form once more, with the complaints and what was typed.
    """
    json = wants_json(request.scope)
    try:
        store, meant = _store(keeper), record_page.one(form, "garden")
        if meant and meant != store.garden_id():
            return _another_garden(request, keeper)
        done = write(store, keeper.garden(), form, keeper.now())
    except Spoiled as error:
        if not json:
            raise
        return _refused(request, keeper, form, list(error.problems), 503, json)
    except BadFile as error:
        problems, status = list(error.problems), 422
    except BearwellError as error:
        problems, status = [Problem("request", error.message, error.hint)], _status_of(error)
    else:
        if json:
            return twin(record_page.recorded_twin(done))
        return RedirectResponse(_back(form, done[0].id), 303)
    if again is not None and not json and keeper.may_record:
        return again(problems, status)
    return _refused(request, keeper, form, problems, status, json)


def _status_of(error: BearwellError) -> int:
    """Whether what was sent is at fault, or the plan has moved, or the store could not keep it now."""
    if isinstance(error, Overtaken):
        return 409
    return 422 if isinstance(error, BadInput) else 503


def _another_garden(request: Request, keeper: Keeper) -> Response:
    """What was meant for a garden that was served here before goes into no other."""
    opened = open_or_none(keeper)
    problem = Problem(
        "request", "this was recorded for another garden than the one served here now",
        "open the page anew and record it there if it belongs to this garden",
    )  # fmt: skip
    if wants_json(request.scope):
        called = "" if opened is None else opened.garden.about.name
        return twin(record_page.elsewhere_twin(problem, keeper.garden_id(), called), 412)
    return page("refused.html", Words() if opened is None else words_of(opened), here="", **named(opened),
                heading=_("That was not recorded"), problems=[problem], status=412)  # fmt: skip


def _back(form: Form, record: str) -> str:
    """The page a form came from, on this server only, with the record to tell of."""
    asked = urlsplit(record_page.one(form, "back"))
    path = asked.path if asked.path.startswith("/") and not asked.path.startswith("//") else "/"
    kept = "&".join(
        part for part in asked.query.split("&") if part and not part.startswith("told=")
    )
    return f"{path}?{kept + '&' if kept else ''}told={record}#told"


def _refused(
    request: Request,
    keeper: Keeper,
    form: Form,
    problems: list[Problem],
    status: int,
    json: bool,
) -> Response:
    if json:
        return twin({"problems": [problem_twin(problem) for problem in problems]}, status)
    tree = request.path_params.get("tree")
    if tree and keeper.may_record:
        return _forms(keeper, str(tree), request, problems, form, status)
    opened = keeper.garden()
    return page(
        "refused.html", words_of(opened), here="", garden=opened.garden.about.name, book=opened.book,
        heading=_("That was not recorded"), problems=problems, status=status,
    )  # fmt: skip
