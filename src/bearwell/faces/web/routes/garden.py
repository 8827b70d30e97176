"""The list of work, the trees and the garden."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import Body, FastAPI, Request
from starlette.responses import Response

from bearwell.api import LoadedGarden, gravest_first, worklist
from bearwell.faces.language import _
from bearwell.faces.twins import words_of, worklist_twin
from bearwell.faces.web.drawing.bars import yearly_bars
from bearwell.faces.web.drawing.reading import readable
from bearwell.faces.web.drawing.ring import ring_drawing
from bearwell.faces.web.drawing.year import year_drawing
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import garden as garden_page
from bearwell.faces.web.pages import tree as tree_page
from bearwell.faces.web.pages import week as week_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import FORM, READ, sent_fields, year_of_tree
from bearwell.faces.web.routes.record import acting, answered, photos_of
from bearwell.quantities import Quantity

Sent = Annotated[bytes, Body(media_type=FORM)]


def garden_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the list of work, the trees and the garden."""

    @app.api_route("/week.json", methods=READ)
    def week_json(days: int = 14, tree: str | None = None) -> Response:
        opened = keeper.garden()
        return twin(worklist_twin(worklist(opened, days, tree), words_of(opened)))

    @app.api_route("/", methods=READ)
    def week(
        request: Request, days: int = 14, by: str = "urgency", tree: str | None = None
    ) -> Response:
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
            back=f"/?days={days}{'&by=tree' if grouped else ''}{only}", **acting(keeper, request, opened),
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
                    twin="/trees.json", entries=tree_page.entries(opened, words),
                    recording=keeper.may_record)  # fmt: skip

    @app.api_route("/tree/{tree}.json", methods=READ)
    def tree_json(tree: str) -> Response:
        opened = keeper.garden()
        return twin(tree_page.tree_twin(opened, year_of_tree(opened, tree), words_of(opened)))

    @app.api_route("/tree/{tree}", methods=READ)
    def one_tree(tree: str) -> Response:
        return _tree_answer(keeper, keeper.garden(), tree)

    @app.api_route("/garden.json", methods=READ)
    def garden_json() -> Response:
        return twin(garden_page.garden_twin(keeper.garden()))

    @app.post("/garden")
    def changed(request: Request, body: Sent = b"") -> Response:
        return answered(request, keeper, sent_fields(body), garden_page.change)

    @app.api_route("/garden", methods=READ)
    def whole_garden(request: Request) -> Response:
        opened = keeper.garden()
        return page(
            "garden.html", words_of(opened), here="garden", garden=opened.garden.about.name, book=opened.book,
            twin="/garden.json", opened=opened, record=garden_page.weather_record(opened),
            problems=gravest_first(opened.problems), Quantity=Quantity, in_store=keeper.store is not None,
            back="/garden", **acting(keeper, request, opened),
        )  # fmt: skip


def _tree_answer(keeper: Keeper, opened: LoadedGarden, tree_id: str) -> Response:
    year = year_of_tree(opened, tree_id)
    tree, words, today = year.tree, words_of(opened), opened.today
    advice = tree_page.in_order(opened.advice(tree))
    rows = tree_page.year_rows(year, advice, words)
    first, last = tree_page.span(today)
    drawings = [
        year_drawing(rows, first, last, today, words, narrow=narrow, name=tree.called)
        for narrow in (False, True)
    ]
    readings = tree_page.readings(rows, first, last, today, words)
    ring = ring_drawing(rows, today, words, name=tree.called)
    harvests = sorted(tree.harvests, key=lambda one: one.year)
    picked = [(one.year, one.mass, words.quantity(Quantity(one.mass, "g"))) for one in harvests]
    return page(
        "tree.html", words, here="trees", garden=opened.garden.about.name, book=opened.book,
        twin=f"/tree/{tree.id}.json", tree=tree, year=year, place=tree_page.place(tree, words), rows=rows,
        first=first, last=last, drawing=readable(drawings, readings), ring=ring,
        stages=tree_page.stages_shown(year, today),
        harvests=harvests, bars=yearly_bars(picked, _("Harvests of {tree}", tree=tree.called)), Quantity=Quantity,
        kind=opened.view(tree).species, age=tree.age(today), next=tree_page.next_job(advice),
        work=[one for one in advice if one.kind not in week_page.ROUND],
        round=[one for one in advice if one.kind in week_page.ROUND], trees={tree.id: tree},
        shelter=opened.garden.shelter(tree.shelter), recording=keeper.may_record,
        photos=photos_of(keeper, tree.id), bags={one.id: one.name for one in opened.garden.products},
    )  # fmt: skip
