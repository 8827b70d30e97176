"""Sour and limy ground: what a kind stands, and the lime or sulfur that would mend it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bearwell.errors import BadInput
from bearwell.knowledge import Fact, Knowledge
from bearwell.plan.advice import Advice, Window
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, Phrase, amount, computed, from_fact, phrase, recorded
from bearwell.said import said
from bearwell.science import liming
from bearwell.season.size import fed_ring

SOIL_PH: Final = "soil pH"  # the key of this look
NEUTRAL: Final = 7.0

# The column of the tables that stands for a texture they do not print; our judgement, by clay content.
_LIME_TEXTURE: Final = {
    "loamy sand": "sand", "silt loam": "loam", "silt": "loam", "sandy clay loam": "clay loam",
    "silty clay loam": "clay loam", "sandy clay": "clay", "silty clay": "clay",
}  # fmt: skip
_SULFUR_TEXTURE: Final = {
    "loamy sand": "sand", "sandy loam": "sand", "silt loam": "loam", "silt": "loam",
    "sandy clay loam": "loam", "clay loam": "clay", "silty clay loam": "clay", "sandy clay": "clay",
    "silty clay": "clay",
}  # fmt: skip


@dataclass(frozen=True)
class Amendment:
    """Lime or sulfur for a square metre.

    ``need`` [g m-2] of pure material; ``doses`` it goes on in, ``apart`` [d] between two. Nothing is
    needed when ``need`` is 0.
    """

    material: str
    need: Quantity
    doses: int
    apart: float
    because: tuple[Because, ...]


def amendment(book: Knowledge, start: float, target: float, texture: str | None) -> Amendment:
    """Lime or sulfur that brings a soil from one pH to another, by tables for its texture.

    ``texture`` None stands for loam, with the range of every texture. BadInput where no table reaches.
    """
    raising = target > start
    table, mass = ("lime", "limestone") if raising else ("sulfur", "sulfur")
    asked = texture or "loam"
    column = (_LIME_TEXTURE if raising else _SULFUR_TEXTURE).get(asked, asked)
    try:
        best, low, high = _per_area(book, start, target, table, mass, column)
        if texture is None:
            known = sorted({row["texture"].text for row in book.table(table).values()})
            spans = [_per_area(book, start, target, table, mass, one) for one in known]
            low, high = min(span[1] for span in spans), max(span[2] for span in spans)
    except BadInput as error:
        if raising or start <= NEUTRAL:
            raise
        raise BadInput(
            said(
                "no table of sulfur begins at pH {ph:g}: such a soil mostly holds free lime, which eats it",
                ph=start,
            ),
            "if it fizzes in vinegar use a pot or raised bed of acid medium",
        ) from error
    rules = book.table("amendments")
    most, wait = rules[f"most {table} at once"]["figure"], rules[f"{table} interval"]["figure"]
    doses = liming.doses_of_at_most(best, most.number, 3 if raising else None)
    links: list[Because] = []
    if best == 0:
        links.append(computed("The soil is there already: nothing is needed", 0.0, "g"))
    else:
        text = (
            "From pH {start} to {target} in a {texture}, by straight lines between rows of a table; the "
            "nearest row says {value}"
        )
        nearest = _nearest_row(book, start, table, mass, column)
        links = [
            from_fact(
                text,
                nearest,
                start=said("{ph:g}", ph=start),
                target=said("{ph:g}", ph=target),
                texture=said(column),
            ),
            from_fact("Not more than {value} at once", most),
            from_fact("Wait {value} between doses", wait),
        ]
        if asked != column:
            stands = phrase(
                "The table has no {asked}; {texture} stands for it by its clay",
                asked=said(asked),
                texture=said(column),
            )
            links.append(Because(stands, None, "", "judgement", "", "judgement"))
    material = said("none" if best == 0 else "ground limestone" if raising else "elemental sulfur")
    return Amendment(material, Quantity(best, "g m-2", low, high), doses, wait.number, tuple(links))


def _columns(
    book: Knowledge, table: str, mass: str, texture: str
) -> tuple[list[float], list[Fact], float]:
    """pH, mass and target of a table for a texture."""
    rows = [row for row in book.table(table).values() if row["texture"].text == texture]
    return (
        [row["start_ph"].number for row in rows],
        [row[mass] for row in rows],
        rows[0]["end_ph"].number,
    )


def _per_area(
    book: Knowledge, start: float, target: float, table: str, mass: str, texture: str
) -> tuple[float, float, float]:
    """Material for a square metre: best, low and high [g m-2]."""
    ph, facts, end = _columns(book, table, mass, texture)
    needed = liming.lime_requirement_table if table == "lime" else liming.sulfur_requirement_table
    masses = (
        [fact.number for fact in facts],
        [fact.least for fact in facts],
        [fact.most for fact in facts],
    )
    best, low, high = (needed(start, target, ph, one, end) for one in masses)
    return best, min(best, low), max(best, high)


def _nearest_row(book: Knowledge, start: float, table: str, mass: str, texture: str) -> Fact:
    ph, facts, _ = _columns(book, table, mass, texture)
    return min(zip(ph, facts, strict=True), key=lambda pair: abs(pair[0] - start))[1]


# ---------------------------------------------------------------- for a tree of the garden


def out_of_range(view: View) -> bool:
    """Whether the ground was tested and is too sour or too limy for this tree, by every account."""
    tested = _tested(view)
    if tested is None or view.tree.pot is not None:
        return False
    return not view.species["ph_low"].least <= tested <= view.species["ph_high"].most


def ground_advice(view: View, row: dict[str, Fact], window: Window) -> Advice:
    """What to do about ground that is out of the tree's range."""
    tested, low, high = _tested(view), view.species["ph_low"], view.species["ph_high"]
    if tested is None:
        raise BadInput("there is no soil test to go by")
    sour = tested < low.number
    text = "{kind} wants pH {value} and more" if sour else "{kind} wants no more than pH {value}"
    aim = low if sour else high
    links = (
        recorded("The soil test says pH {ph}", ph=said("{ph:g}", ph=tested)),
        from_fact(text, aim, kind=view.species.name),
    )
    try:
        mend = amendment(view.book, tested, aim.number, _texture(view))
    except BadInput as error:
        return _advice(
            view, row, window, (*links, computed("{why}", why=error.message)), _live_with_it(sour)
        )
    area = fed_ring(view.size, view.book)[2]
    total = Quantity(
        mend.need.value * area,
        "g",
        (mend.need.low or 0.0) * area,
        (mend.need.high or mend.need.value) * area,
    )
    dose = total.value / mend.doses
    steps = (
        phrase(
            "Scatter {dose} of {material} over {area} round it, off the trunk; rake in and water."
            if mend.doses == 1
            else "Scatter {dose} of {material} over {area} round it, off the trunk; rake in and water. "
            "{doses} such doses in all, {apart} apart.",
            dose=amount(dose, "g"),
            material=mend.material,
            area=amount(area, "m2"),
            doses=mend.doses,
            apart=amount(mend.apart, "d"),
        ),
        phrase(
            "Test the soil again before each further dose, and write the new pH in the garden file."
        ),
        phrase("A laboratory's own recommendation (buffer pH) comes before a table by texture."),
    )
    return _advice(
        view,
        row,
        window,
        (*links, *mend.because),
        steps,
        quantity=Quantity(
            dose, "g", (total.low or 0.0) / mend.doses, (total.high or dose) / mend.doses
        ),
        display=phrase("{dose} of {material}", dose=amount(dose, "g"), material=mend.material),
    )


def _advice(
    view: View,
    row: dict[str, Fact],
    window: Window,
    links: tuple[Because, ...],
    steps: tuple[Phrase, ...],
    quantity: Quantity | None = None,
    display: Phrase | None = None,
) -> Advice:
    tested = _tested(view)
    sour = tested is not None and tested < view.species["ph_low"].number
    return Advice(
        id=view.advice_id("inspect", "soil-pH", window.best),
        tree=view.tree.id,
        kind="inspect",
        window=window,
        headline=phrase("The ground is too sour for it")
        if sour
        else phrase("The ground is too limy for it"),
        quantity=quantity,
        display=display,
        steps=steps,
        cautions=view.cautions("inspect", "amendment"),
        minutes=row["minutes"].number,
        because=links,
        changes=phrase("A new soil test, or a leaf test that shows nothing is lacking"),
        details={
            "inspection": SOIL_PH,
            "ph": tested,
            "ph_from": view.species["ph_low"].number,
            "ph_to": view.species["ph_high"].number,
        },
    )


def _live_with_it(sour: bool) -> tuple[Phrase, ...]:
    """Where no table reaches: what helps the tree all the same."""
    if sour:
        return (
            phrase(
                "So sour a soil lies beyond the tables: ask a laboratory for its lime requirement."
            ),
        )
    return (
        phrase("Do not fight free lime with sulfur; feed products that sour, and mulch instead."),
        phrase(
            "Where young leaves yellow between green veins, iron as a chelate made for limy soil (EDDHA) "
            "helps; zinc and manganese are sprayed on the spring flush at two thirds of full size, by the label."
        ),
        phrase("Take a leaf test first: what does not lack needs no spray."),
    )


def _tested(view: View) -> float | None:
    test = view.garden.site.soil_test
    return None if test is None else test.ph


def _texture(view: View) -> str | None:
    soil = view.garden.site.soil
    return soil if isinstance(soil, str) else None
