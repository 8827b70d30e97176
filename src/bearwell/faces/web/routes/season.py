"""A past season of the garden and of a tree."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.responses import Response

from bearwell.api import GardenSeason, LoadedGarden, look_back
from bearwell.faces.season import season_twin, typed_day
from bearwell.faces.twins import words_of
from bearwell.faces.web.keeper import Keeper
from bearwell.faces.web.pages import season as season_page
from bearwell.faces.web.render import page, twin
from bearwell.faces.web.routes.common import READ

# Mornings that one answer works out, a second or two of them: a large garden is looked back on in several
# answers, and the page says how far it has come. Ours, no source.
AT_ONCE = 160


def season_routes(app: FastAPI, keeper: Keeper) -> None:
    """Add the pages of a past season."""

    def looked(
        opened: LoadedGarden,
        since: str | None,
        until: str | None,
        tree: str | None = None,
        at_most: int | None = None,
    ) -> GardenSeason:
        if tree is not None and tree not in {one.id for one in opened.garden.trees}:
            raise HTTPException(404, f"There is no tree '{tree}'")
        first, last = typed_day(since, "since"), typed_day(until, "until")
        return look_back(opened, first, last, tree, at_most)

    @app.api_route("/season.json", methods=READ)
    def season_json(since: str | None = None, until: str | None = None) -> Response:
        opened = keeper.garden()
        return twin(season_twin(looked(opened, since, until), words_of(opened)))

    @app.api_route("/season", methods=READ)
    def season(since: str | None = None, until: str | None = None) -> Response:
        opened = keeper.garden()
        words, found = words_of(opened), looked(opened, since, until, at_most=AT_ONCE)
        if found.waiting:
            return page(
                "season_waiting.html", words, here="garden", garden=opened.garden.about.name,
                number=len(opened.garden.trees), waiting=len(found.waiting), season=found,
            )  # fmt: skip
        shown = season_page.shown(found, words)
        return page(
            "season.html", words, here="garden", garden=opened.garden.about.name, book=opened.book,
            twin=f"/season.json?{shown['asked_for']}", tree=None, below="/season", wide=None, narrow=None,
            bodies=season_page.bodies(found, words, opened.book, shown, alone=False), **shown,
        )  # fmt: skip

    @app.api_route("/tree/{tree}/season.json", methods=READ)
    def tree_json(tree: str, since: str | None = None, until: str | None = None) -> Response:
        opened = keeper.garden()
        return twin(season_twin(looked(opened, since, until, tree), words_of(opened)))

    @app.api_route("/tree/{tree}/season", methods=READ)
    def of_tree(tree: str, since: str | None = None, until: str | None = None) -> Response:
        opened = keeper.garden()
        words, found = words_of(opened), looked(opened, since, until, tree)
        below = f"/tree/{quote(tree)}/season"
        shown = season_page.shown(found, words, below)
        return page(
            "season.html", words, here="trees", garden=opened.garden.about.name, book=opened.book,
            twin=f"{below}.json?{shown['asked_for']}", tree=opened.garden.tree(tree), below=below,
            bodies=season_page.bodies(found, words, opened.book, shown, alone=True),
            **season_page.tree_shown(found, words), **shown,
        )  # fmt: skip
