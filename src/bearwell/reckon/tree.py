"""Reckoners of the tree and the bag: dose, removal, canopy."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bearwell.errors import BadInput
from bearwell.garden.values import grade_of
from bearwell.knowledge import knowledge
from bearwell.reasons import Because, amount, computed, from_fact
from bearwell.reckon.model import (
    Answer,
    Option,
    Reckoner,
    choice,
    measured,
    percentage,
)
from bearwell.reckon.sky import cited
from bearwell.said import said
from bearwell.science import canopy, nutrients, shapes
from bearwell.season.size import canopy_form


def _kind(text: str) -> str:
    return knowledge().kind(text).key


def _dose(given: Mapping[str, Any]) -> Answer:
    label, nutrient, wanted = given["label"], given["nutrient"], given["amount"]
    share = dict(zip(("n", "p2o5", "k2o"), label, strict=True))
    if share[nutrient] == 0:
        raise BadInput(
            said(
                "a {label} holds no {nutrient}",
                label="-".join(f"{part:g}" for part in label),
                nutrient=nutrient.upper(),
            ),
            "choose another product",
        )
    product = nutrients.product_mass_for_nutrient(wanted, share[nutrient] / 100)
    n, p2o5, k2o = (nutrients.nutrient_in_product(product, part / 100) for part in label)
    results = {
        "product_g": product,
        "n_g": n,
        "p2o5_g": p2o5,
        "k2o_g": k2o,
        "p_g": nutrients.phosphorus_from_p2o5(p2o5),
        "k_g": nutrients.potassium_from_k2o(k2o),
    }
    because = (
        computed(
            "Wanted mass over the label's share: {wanted} of {nutrient} from {share} %",
            product,
            "g",
            wanted=amount(wanted, "g"),
            nutrient=nutrient.upper(),
            share=said("{share:g}", share=share[nutrient]),
        ),
        cited(
            "Labels state phosphate and potash; the elements are 0.436 and 0.830 of them",
            None,
            "1",
            "prohaska-2022",
            "standard atomic weights",
        ),
    )
    return {key: round(value, 4) for key, value in results.items()}, because, _cautions("feed")


def _removal(given: Mapping[str, Any]) -> Answer:
    kind, fruit = knowledge().kind(given["kind"]), given["harvest"]
    results: dict[str, Any] = {}
    links: list[Because] = []
    for letter in ("n", "p", "k"):
        fact = kind[f"removal_{letter}"]
        for suffix, content in (("", fact.number), ("_low", fact.least), ("_high", fact.most)):
            results[f"{letter}_g{suffix}"] = round(nutrients.nutrient_removed(fruit, content), 2)
        links.append(
            from_fact(
                "Fresh fruit of {kind} takes away {value} of {nutrient}",
                fact,
                kind=kind.name,
                nutrient=letter.upper(),
            )
        )
    return results, tuple(links), ()


def _canopy(given: Mapping[str, Any]) -> Answer:
    spreads = given["spread"]
    if len(spreads) > 2:
        raise BadInput(
            "spread is given once, or twice for along and across", "--spread 2.2 --spread 2.0"
        )
    along, across = spreads[0], spreads[-1]
    skirt = given.get("skirt", 0.0)
    form = canopy_form(given.get("shape", "spheroid"), knowledge())
    size = canopy.CanopySize(given["height"], along, across)
    volume = shapes.canopy_volume(size, skirt, form)
    results: dict[str, Any] = {"volume_m3": round(volume, 4)}
    text = (
        "Ellipsoid from skirt to top: π/6 × crown height × both spreads"
        if form.name == "spheroid"
        else "Volume as {shape} from skirt to top"
    )
    shape = said(form.name)
    links = [cited(text, round(volume, 4), "m3", "common-practice", "geometry", shape=shape)]
    row = knowledge().item("shapes", form.name)
    links += [
        from_fact(text, row[column], shape=shape)
        for column, text in (
            ("taper", "An ordinary {shape}: narrow end over wide end {value}"),
            ("straight", "An ordinary {shape}: upright share {value}"),
        )
        if column in row
    ]
    notes: list[str] = []
    if given.get("remove") is not None:
        share = given["remove"] / 100
        after = shapes.canopy_after_removal(size, skirt, form, share)
        results |= {
            "after_volume_m3": round(volume * (1 - share), 4),
            "after_height_m": round(after.height, 3),
            "after_spread_along_m": round(after.spread_along, 3),
            "after_spread_across_m": round(after.spread_across, 3),
        }
        links.append(computed(_shrinks(form)))
        if share > 1 / 3:
            notes.append(
                "More than a third of the canopy in one year sets most fruit trees back; spread it over years."
            )
        if share > 0:
            notes += _cautions("prune")
    return results, tuple(links), tuple(notes)


def _shrinks(form: shapes.Form) -> str:
    """What a cut does to the measures of a shape."""
    if form.cut != shapes.ALL_ROUND:
        if form.name == "hedge":
            return (
                "Height and width shrink by the square root of what is left; length and skirt stay"
            )
        return "Height and width shrink by the square root of what is left; depth and skirt stay"
    if form.name == "skirted":
        return "All measures shrink alike until the volume left is right; the skirt stays"
    return "Each measure shrinks by the cube root of what is left, the skirt stays"


def _shape(text: str) -> str:
    return knowledge().item_key("shapes", text)


def _cautions(job: str) -> tuple[str, ...]:
    rows = knowledge().table("cautions").values()
    return tuple(row["text"].text for row in rows if row["job"].text == job and "when" not in row)


RECKONERS = (
    Reckoner(
        "dose",
        "How much of a product carries a wanted amount of a nutrient, and what else comes with it.",
        (
            Option("label", grade_of, "N-P2O5-K2O", "the label as printed"),
            Option("nutrient", choice("n", "p2o5", "k2o"), "text", "n, p2o5 or k2o"),
            Option("amount", measured("mass"), "g", "wanted mass of that nutrient"),
        ),
        _dose,
        ("product_g", "n_g", "p2o5_g", "k2o_g", "p_g", "k_g"),
        '--label 5-5-5 --nutrient n --amount "0.5 lb"',
    ),
    Reckoner(
        "removal",
        "Nutrients that a harvest carries away.",
        (
            Option("kind", _kind, "kind", "kind of tree"),
            Option("harvest", measured("mass"), "g", 'mass of fruit, such as "25 kg"'),
        ),
        _removal,
        tuple(f"{letter}_g{end}" for letter in "npk" for end in ("", "_low", "_high")),
        '--kind satsuma --harvest "25 kg"',
    ),
    Reckoner(
        "canopy",
        "Volume of a canopy, and its size after a cut.",
        (
            Option("height", measured("height"), "m", "height of the tree"),
            Option(
                "spread",
                measured("spread"),
                "m",
                "spread; give it twice for along and across",
                multiple=True,
            ),
            Option(
                "skirt",
                measured("skirt"),
                "m",
                "height of the lowest foliage; 0 if left out",
                required=False,
            ),
            Option(
                "shape",
                _shape,
                "text",
                "shape of the canopy, spheroid if left out; see docs/reference/garden-file.md",
                required=False,
            ),
            Option("remove", percentage, "%", "share of the volume to take off", required=False),
        ),
        _canopy,
        (
            "volume_m3",
            "after_volume_m3",
            "after_height_m",
            "after_spread_along_m",
            "after_spread_across_m",
        ),
        "--height 3 --spread 3 --remove 25",
    ),
)
