"""What pydantic cannot see: names that must exist elsewhere, and dates that must make sense.

Everything is looked up on the raw rows, read the way the models read them, so that it is told beside the
models' own complaints however much else is wrong.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from difflib import get_close_matches
from typing import Any, Final

from bearwell.errors import BadInput, Problem, Severity
from bearwell.garden.cropchecks import crop_doubts
from bearwell.garden.lines import Place, line_of, titled
from bearwell.garden.model import Garden, NoFeeding
from bearwell.garden.values import read_date
from bearwell.garden.wateringchecks import watering_problems
from bearwell.knowledge import Knowledge
from bearwell.knowledge.loader import KINDS_LISTED
from bearwell.quantities import parse
from bearwell.said import said

OLDEST: Final = 200  # years a planting may lie back before it is doubted
POLAR_CIRCLE: Final = 66.5  # degrees
_MAP: Final = "map_distance"
_DATED: Final = {
    "observed": said("observed"),
    "counts": said("counts"),
    "done": said("done"),
    "leaf_tests": said("leaf tests"),
    "shortages": said("shortages"),
}


@dataclass
class Checks:
    """One garden file under check: what it holds, and what was found."""

    name: str
    places: dict[Place, int]
    raw: Mapping[str, Any]
    book: Knowledge
    today: date
    problems: list[Problem] = field(default_factory=list)

    def all(self) -> list[Problem]:
        """Every problem of names, references and dates."""
        self._site()
        self._ids("shelter")
        self._ids("product")
        self._ids("tree")
        for at, product in self._rows("product"):
            self._known("releases", product.get("release"), (*at, "release"))
            self._known("saltindex", product.get("material"), (*at, "material"), "warning")
            self._product(at, product)
        self._closed_days()
        for at, shelter in self._rows("shelter"):
            self._known("covers", shelter.get("cover"), (*at, "cover"))
            self._measures(at, shelter)
        self._evenings()
        if not isinstance(self.raw.get("tree", []), list):
            self._tell("trees are written as [[tree]]", "two brackets", ("tree",))
        elif not self.raw.get("tree"):
            self._tell(
                "the garden has no trees yet",
                "add a [[tree]] with id, kind and planted",
                (),
                "warning",
            )
        for at, tree in self._rows("tree"):
            self._tree(at, tree)
            self._dates(at, tree)
            self._crop(at, tree)
        for message, hint, at, severity in watering_problems(self.raw, self.today):
            self._tell(message, hint, at, severity)
        self._places()
        return self.problems

    def _places(self) -> None:
        """Two trees that are said to stand on one spot."""
        first: dict[tuple[float, float], str] = {}
        for at, tree in self._rows("tree"):
            where = tree.get("place")
            if not isinstance(where, dict):
                continue
            try:
                spot = parse(where.get("east"), _MAP), parse(where.get("north"), _MAP)
            except BadInput:
                continue  # told by the models
            if spot in first:
                self._tell(
                    said(
                        "{title} stands on the same spot as {other}",
                        title=self._title(at),
                        other=first[spot],
                    ),
                    "measure both again, or leave one place out",
                    (*at, "place"),
                    "warning",
                )
            first.setdefault(spot, self._title(at))

    def _crop(self, at: Place, tree: Mapping[str, Any]) -> None:
        """Counts, crops and limbs that are doubtful."""
        kind = tree.get("kind")
        species = self.book.find(kind) if isinstance(kind, str) else None
        if species is None:
            return
        for doubt in crop_doubts(tree, species, self.book):
            message = said("{title}: {message}", title=self._title(at), message=doubt.message)
            self._tell(message, doubt.hint, (*at, *doubt.at), doubt.severity)

    def _product(self, at: Place, product: Mapping[str, Any]) -> None:
        """Whom it is kept for, and figures that make no sense together."""
        title = self._title(at)
        kept = product.get("kept_for")
        for name in kept if isinstance(kept, list) else ():
            if not isinstance(name, str) or name in ("pot", "ground", *self._named("tree")):
                continue
            if name not in self.book.species:
                near = get_close_matches(
                    name, ["pot", "ground", *self._named("tree"), *self.book.species]
                )
                hint = 'an id of a tree, a key of a kind or group, "pot" or "ground"'
                self._tell(
                    said(
                        "{title}: kept for '{name}', which is no tree, kind or group",
                        title=title,
                        name=name,
                    ),
                    said("did you mean {listed}?", listed=", ".join(near)) if near else hint,
                    (*at, "kept_for"),
                )
        label = product.get("label")
        if isinstance(label, str) and re.fullmatch(r"[0\s.-]+", label):
            self._tell(
                said("{title}: a label of {label} feeds nothing", title=title, label=label),
                "the numbers on the bag: N, P2O5 and K2O",
                (*at, "label"),
                "warning",
            )
        for key in ("pack", "at_most"):
            if re.match(r"\s*0+(\.0*)?\s", str(product.get(key, ""))):
                self._tell(
                    said("{title}: {key} is nothing", title=title, key=key),
                    "leave the line out",
                    (*at, key),
                )

    def _measures(self, at: Place, shelter: Mapping[str, Any]) -> None:
        """A note where heat cannot be worked out on the shelter's own measures."""
        missing = [key for key in ("length", "width", "height") if key not in shelter]
        if shelter.get("shape", "box") != "wall" and missing:
            self._tell(
                said("{title}: no {listed}", title=self._title(at), listed=", ".join(missing)),
                "heat is counted on a box just round each tree until they are given",
                at,
                "note",
            )

    def _evenings(self) -> None:
        """Readings of evenings that have not been."""
        cold = self.raw.get("cold")
        for (_, number), row in self._rows("evenings", cold if isinstance(cold, dict) else {}):
            day = read_date(row.get("date"))
            if day is not None and day > self.today:
                self._tell(
                    said("evening of {day} lies after today, {today}", day=day, today=self.today),
                    "it is left out until then",
                    ("cold", "evenings", number),
                    "warning",
                )

    def _closed_days(self) -> None:
        """Rules that close every day of the year, or forbid nothing."""
        for at, rule in self._rows("no_feeding"):
            first, last = rule.get("from"), rule.get("to")
            if rule.get("nutrients") == []:
                self._tell(
                    "a rule that forbids no nutrient does nothing",
                    'such as ["N", "P"]',
                    at,
                    "warning",
                )
            if isinstance(first, str) and isinstance(last, str):
                closed = NoFeeding.model_construct(start=first, end=last)
                if closed.day_after(self.today) is None:
                    self._tell(
                        said(
                            "the rule from {first} to {last} leaves no day of the year open",
                            first=first,
                            last=last,
                        ),
                        "check its days: nothing will be fed",
                        at,
                        "warning",
                    )

    def _tell(self, message: str, hint: str, at: Place, severity: Severity = "error") -> None:
        line = line_of(self.places, at)
        self.problems.append(Problem(self.name, message, hint, line, severity))

    def _rows(
        self, table: str, within: Mapping[str, Any] | None = None
    ) -> Iterator[tuple[Place, Mapping[str, Any]]]:
        """The rows of an array of tables with their places; what is no table is left to the models."""
        rows = (self.raw if within is None else within).get(table)
        for number, row in enumerate(rows if isinstance(rows, list) else ()):
            if isinstance(row, dict):
                yield (table, number), row

    def _title(self, at: Place) -> str:
        """What a row is called: tree 'clementine-low'."""
        if at[0] == "site":
            return said("site")
        row = self.raw[str(at[0])][at[1]]
        named = row.get("id")
        return titled(str(at[0]), named if isinstance(named, str) else int(at[1]))

    def _known(self, table: str, named: object, at: Place, severity: Severity = "error") -> None:
        """A name that must be an item of a table of knowledge; no text is left to the models."""
        if not isinstance(named, str):
            return
        try:
            self.book.item_key(table, named)
        except BadInput as error:
            message = said("{title}: {message}", title=self._title(at), message=error.message)
            self._tell(message, error.hint, at, severity)

    def _site(self) -> None:
        site = self.raw.get("site")
        if not isinstance(site, dict):
            return
        self._known("soils", site.get("soil"), ("site", "soil"))
        latitude = site.get("latitude")
        if isinstance(latitude, int | float) and POLAR_CIRCLE < abs(latitude) <= 90:
            self._tell(
                said("latitude {latitude:g} lies beyond the polar circle", latitude=latitude),
                "no fruit tree grows there in the open: check it, and that longitude is not meant",
                ("site", "latitude"),
                "warning",
            )

    def _ids(self, table: str) -> None:
        first: dict[str, int | None] = {}
        for at, row in self._rows(table):
            named = row.get("id")
            if not isinstance(named, str):
                continue
            if named in first:
                self._tell(
                    said("{title}: the id is used twice", title=titled(table, named)),
                    said("first on line {line}", line=first[named]),
                    (*at, "id"),
                )
            first.setdefault(named, line_of(self.places, (*at, "id")))

    def _named(self, table: str) -> list[str]:
        return [str(row["id"]) for _, row in self._rows(table) if "id" in row]

    def _tree(self, at: Place, tree: Mapping[str, Any]) -> None:
        """Kind, rootstock, medium, shelter, and the products and looks of its work."""
        title, kind, shelter = self._title(at), tree.get("kind"), tree.get("shelter")
        if isinstance(kind, str) and self.book.find(kind) is None:
            near = self.book.nearest(kind)
            hint = said("did you mean {listed}?", listed=", ".join(near)) if near else KINDS_LISTED
            self._tell(
                said("{title}: unknown kind '{kind}'", title=title, kind=kind), hint, (*at, "kind")
            )
        self._plain_name(title, kind, (*at, "kind"))
        self._known("rootstocks", tree.get("rootstock"), (*at, "rootstock"), "warning")
        self._known("shapes", tree.get("shape"), (*at, "shape"))
        place = tree.get("grows_in")
        if isinstance(place, dict):
            self._known("containers", place.get("medium"), (*at, "grows_in", "medium"))
        if isinstance(shelter, str) and shelter not in self._named("shelter"):
            listed = ", ".join(sorted(self._named("shelter"))) or said("none listed")
            self._tell(
                said("{title}: no shelter '{shelter}'", title=title, shelter=shelter),
                said("shelters: {listed}", listed=listed),
                (*at, "shelter"),
            )
        for (_, number), test in self._rows("leaf_tests", tree):
            self._known("leafsets", test.get("norms"), (*at, "leaf_tests", number))
        self._work(at, title, tree)

    def _work(self, at: Place, title: str, tree: Mapping[str, Any]) -> None:
        shelf = self._named("product")
        nameless = 0
        for (_, number), work in self._rows("done", tree):
            product, look, job = work.get("product"), work.get("look"), work.get("job")
            here = (*at, "done", number)
            if isinstance(product, str) and product not in shelf:
                self._tell(
                    said(
                        "{title}: no product '{product}' on the shelf", title=title, product=product
                    ),
                    "list it under [[product]]",
                    here,
                    "warning",
                )
            nameless += job == "feed" and not product and not work.get("corrects")
            self._known("inspections", look, here)
            if look is not None and isinstance(job, str) and job != "inspect":
                self._tell(
                    said(
                        '{title}: look belongs to job = "inspect", not to {job}',
                        title=title,
                        job=job,
                    ),
                    "leave one of them out",
                    here,
                    "warning",
                )
            if work.get("corrects") is not None and isinstance(job, str) and job != "feed":
                self._tell(
                    said(
                        '{title}: corrects belongs to job = "feed", not to {job}',
                        title=title,
                        job=job,
                    ),
                    "leave one of them out",
                    here,
                    "warning",
                )
        if nameless:
            sentence = (
                "{title}: a feeding names no product"
                if nameless == 1
                else "{title}: {count} feedings name no product"
            )
            self._tell(
                said(sentence, title=title, count=nameless),
                "add product = ... so that what was given is counted",
                (*at, "done"),
                "warning",
            )

    def _plain_name(self, title: str, kind: object, at: Place) -> None:
        """A note where a group is named and one kind of it has to stand for yours."""
        group = self.book.group_meant(kind) if isinstance(kind, str) else None
        if group is None:
            return
        meant = self.book.species[group.stands_for]
        near = ", ".join(key for key in self.book.nearest(group.key) if key != meant.key)
        self._tell(
            said(
                "{title}: '{kind}' is taken as {meant} ({key}), a middling kind, and kinds differ much",
                title=title,
                kind=kind,
                meant=meant.name,
                key=meant.key,
            ),
            said("name yours if you know it: {near}", near=near),
            at,
            "note",
        )

    def _dates(self, at: Place, tree: Mapping[str, Any]) -> None:
        """Planting, grafting, records and harvests in an order that can be."""
        title, planted = self._title(at), read_date(tree.get("planted"))
        grafted = read_date(tree.get("grafted"))
        for word, day, sentence in (
            ("planted", planted, "{title}: planted {day} lies after today, {today}"),
            ("grafted", grafted, "{title}: grafted {day} lies after today, {today}"),
        ):
            if day is not None and day > self.today:
                self._tell(
                    said(sentence, title=title, day=day, today=self.today),
                    "check the year",
                    (*at, word),
                )
        if planted is not None and self.today.year - planted.year > OLDEST:
            self._tell(
                said(
                    "{title}: planted {planted}, more than {years} years ago",
                    title=title,
                    planted=planted,
                    years=OLDEST,
                ),
                "check the year",
                (*at, "planted"),
                "warning",
            )
        if planted is not None and grafted is not None and grafted < planted:
            self._tell(
                said(
                    "{title}: grafted {grafted} lies before planting on {planted}",
                    title=title,
                    grafted=grafted,
                    planted=planted,
                ),
                "grafted is for a new top on the standing tree; leave it out for a tree bought grafted",
                (*at, "grafted"),
            )
        for key in _DATED:
            for (_, number), row in self._rows(key, tree):
                self._record((*at, key, number), key, read_date(row.get("date")), planted)
        for (_, number), row in self._rows("harvests", tree):
            self._harvest((*at, "harvests", number), row.get("year"), planted)

    def _record(self, at: Place, key: str, day: date | None, planted: date | None) -> None:
        title, words = self._title(at), _DATED[key]
        if day is not None and planted is not None and day < planted:
            self._tell(
                said(
                    "{title}: {words} on {day} lies before planting on {planted}",
                    title=title,
                    words=words,
                    day=day,
                    planted=planted,
                ),
                "check both dates",
                at,
            )
        elif day is not None and day > self.today:
            self._tell(
                said(
                    "{title}: {words} on {day} lies after today, {today}",
                    title=title,
                    words=words,
                    day=day,
                    today=self.today,
                ),
                "it is left out until then",
                at,
                "warning",
            )

    def _harvest(self, at: Place, year: object, planted: date | None) -> None:
        title = self._title(at)
        if isinstance(year, str) and year.strip().isdigit():
            year = int(year)
        if not isinstance(year, int | float):
            return
        if planted is not None and year < planted.year:
            self._tell(
                said(
                    "{title}: harvest of {year:g} lies before planting on {planted}",
                    title=title,
                    year=year,
                    planted=planted,
                ),
                "check both",
                at,
            )
        elif year > self.today.year + 1:
            self._tell(
                said("{title}: harvest of {year:g} lies in the future", title=title, year=year),
                "check the year",
                at,
            )


def with_keys(garden: Garden, book: Knowledge) -> Garden:
    """The garden with every name of a table's item replaced by its key ("M111" by "MM111")."""

    def key(table: str, named: str | None) -> str | None:
        try:
            return None if named is None else book.item_key(table, named)
        except BadInput:
            return named  # an unknown rootstock was warned about and stays as it was written

    site = garden.site
    if isinstance(site.soil, str):
        site = site.model_copy(update={"soil": key("soils", site.soil)})
    shelters = tuple(
        one.model_copy(update={"cover": key("covers", one.cover)}) for one in garden.shelters
    )
    products = tuple(
        one.model_copy(
            update={
                "release": key("releases", one.release),
                "material": key("saltindex", one.material),
            }
        )
        for one in garden.products
    )
    trees = []
    for tree in garden.trees:
        changes: dict[str, Any] = {
            "rootstock": key("rootstocks", tree.rootstock),
            "shape": key("shapes", tree.shape),
            "done": tuple(
                one.model_copy(update={"look": key("inspections", one.look)}) if one.look else one
                for one in tree.done
            ),
        }
        if tree.pot is not None:
            medium = key("containers", tree.pot.medium)
            changes["grows_in"] = tree.pot.model_copy(update={"medium": medium})
        trees.append(tree.model_copy(update=changes))
    return garden.model_copy(
        update={"site": site, "shelters": shelters, "products": products, "trees": tuple(trees)}
    )
