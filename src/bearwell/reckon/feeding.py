"""Reckoners of feeding: liquid-feed, release, salt, leaching, lime; wider forms of dose and removal."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from bearwell.errors import BadInput
from bearwell.knowledge import Fact, knowledge
from bearwell.plan.ground import amendment
from bearwell.quantities import convert, pointed
from bearwell.quantities import unit as unit_named
from bearwell.reasons import Because, amount, computed, from_fact
from bearwell.reckon import tree
from bearwell.reckon.model import Answer, Option, Reckoner, measured, number, percentage
from bearwell.reckon.sky import cited
from bearwell.said import said
from bearwell.science import liming, mineralization, nutrients, salinity

_PLAIN: Final = {one.name: one for one in tree.RECKONERS}
_LABEL: Final = next(one for one in _PLAIN["dose"].options if one.name == "label")
_KIND: Final = next(one for one in _PLAIN["removal"].options if one.name == "kind")

# What a label may state beside N-P2O5-K2O, and the element behind each oxide.
_MAIN: Final = ("N", "P2O5", "K2O")
_OTHERS: Final = ("CaO", "MgO", "Ca", "Mg", "S", "Fe", "Mn", "Zn", "Cu", "B", "Mo")
_WORDS: Final = {word.lower(): word for word in (*_MAIN, "P", "K", *_OTHERS)}
_OXIDE_OF: Final[dict[str, tuple[str, Callable[[float], float]]]] = {
    "P": ("P2O5", nutrients.p2o5_from_phosphorus),
    "K": ("K2O", nutrients.k2o_from_potassium),
}


def _in_unit(unit: str, low: float, high: float, what: str) -> Callable[[str], float]:
    """A reader of "84 d" or of a bare number in ``unit``, between bounds."""

    def read(text: str) -> float:
        match = re.fullmatch(r"\s*([+-]?(?:\d+\.?\d*|\.\d+))\s*([^\s,].*?)?\s*", pointed(text))
        if match is None:
            raise BadInput(
                said("'{given}' is not a number with a unit", given=text),
                said('such as "2 {unit}"', unit=unit),
            )
        value, name = float(match[1]), match[2]
        if name and unit_named(name).family != unit_named(unit).family:
            raise BadInput(
                said("'{given}' is a {family}", given=text, family=said(unit_named(name).family)),
                said("{what} in {unit}", what=said(what), unit=unit),
            )
        value = convert(value, name, unit) if name else value
        if not low <= value <= high:
            raise BadInput(
                said("{text} is out of range for {what}", text=text, what=said(what)),
                said("from {low:g} to {high:g} {unit}", low=low, high=high, unit=unit),
            )
        return value

    return read


def _word(text: str) -> str:
    """A nutrient as labels write it."""
    found = _WORDS.get(text.strip().lower())
    if found is None:
        raise BadInput(
            said("'{text}' is not a nutrient", text=text),
            said("one of {listed}", listed=", ".join(_WORDS.values())),
        )
    return found


def _part(text: str) -> tuple[str, float]:
    """A further part of a label: "MgO 4 %"."""
    match = re.fullmatch(r"\s*([A-Za-z]+[A-Za-z0-9]*)\s*[=:\s]\s*(\S.*)", text)
    if match is None:
        raise BadInput(said("'{text}' is not a part of a label", text=text), 'such as "MgO 4 %"')
    word = _word(match[1])
    if word not in _OTHERS:
        raise BadInput(
            said("{nutrient} belongs to --label", nutrient=word),
            said("--also takes {listed}", listed=", ".join(_OTHERS)),
        )
    return word, percentage(match[2])


def _want(text: str) -> tuple[str, float]:
    """A further nutrient wanted: "k2o 60 g"."""
    match = re.fullmatch(r"\s*([A-Za-z]+[A-Za-z0-9]*)\s*[=:\s]\s*(\S.*)", text)
    if match is None:
        raise BadInput(
            said("'{text}' is not a nutrient with a mass", text=text), 'such as "k2o 60 g"'
        )
    return _word(match[1]), measured("mass")(match[2])


def _release_class(text: str) -> str:
    wanted = text.strip().lower().replace("-", " ").replace("_", " ")
    knowledge().item("releases", wanted)
    return wanted


def _texture(text: str) -> str:
    wanted = text.strip().lower().replace("-", " ").replace("_", " ")
    knowledge().item("soils", wanted)
    return wanted


# ---------------------------------------------------------------- dose and removal


def _label_shares(given: Mapping[str, Any]) -> dict[str, float]:
    """Shares of the product by every part of its label."""
    shares = dict(zip(_MAIN, (part / 100 for part in given["label"]), strict=True))
    for word, percent in given.get("also", ()):
        element = "Ca" if word.startswith("Ca") else "Mg" if word.startswith("Mg") else word
        twins = {f"{element}O", element} & set(shares)
        if twins:
            raise BadInput(
                said("--also states {element} twice", element=element),
                "as the element or as its oxide, not both",
            )
        shares[word] = percent / 100
    if sum(shares.values()) > 1.0 + 1e-9:
        raise BadInput(
            said("the label adds up to {percent:g} %", percent=100 * sum(shares.values())),
            "check it against the bag",
        )
    return shares


def _supplied(product: float, shares: Mapping[str, float]) -> dict[str, float]:
    """Mass of every nutrient in a mass of product, as the label words it and as elements."""
    stated = {word: nutrients.nutrient_in_product(product, part) for word, part in shares.items()}
    return nutrients.nutrients_supplied(product, shares) | stated


def _dose(given: Mapping[str, Any]) -> Answer:
    shares = _label_shares(given)
    word, wanted = given["nutrient"], given["amount"]
    carrier, turned = _OXIDE_OF.get(word, (word, float))
    whole = _supplied(1.0, shares)
    if whole.get(carrier, 0.0) == 0.0:
        label = "-".join(f"{part:g}" for part in given["label"])
        raise BadInput(
            said("a {label} holds no {nutrient}", label=label, nutrient=word),
            "choose another product",
        )
    links: list[Because] = []
    if carrier in ("N", "P2O5", "K2O"):
        mass = turned(wanted)
        if carrier != word:
            text = "{wanted} of the element {element} is {mass} of {oxide}"
            named: dict[str, Any] = {"wanted": amount(wanted, "g"), "mass": amount(mass, "g")}
            links.append(computed(text, mass, "g", element=word, oxide=carrier, **named))
        plain = {**given, "nutrient": carrier.lower(), "amount": mass}
        results, because, cautions = _PLAIN["dose"].compute(plain)
        product = nutrients.product_mass_for_nutrient(mass, shares[carrier])
        links += because
    else:
        product = nutrients.product_mass_for_nutrient(wanted, whole[carrier])
        results = {"product_g": round(product, 4)}
        for name in (*_MAIN, "P", "K"):
            results[f"{name.lower()}_g"] = round(whole[name] * product, 4)
        text = "Wanted mass over what a gram of the product holds: {wanted} of {element}"
        links.append(computed(text, product, "g", wanted=amount(wanted, "g"), element=word))
        cautions = _cautions()
    found = _supplied(product, shares)
    extra = [name for name in found if name not in (*_MAIN, "P", "K")]
    results["also"] = [{"nutrient": name, "supplied_g": round(found[name], 4)} for name in extra]
    results["wants"] = []
    for name, mass in given.get("want", ()):
        has = found.get(name, 0.0)
        results["wants"].append(
            {
                "nutrient": name,
                "wanted_g": round(mass, 4),
                "supplied_g": round(has, 4),
                "short_g": round(max(mass - has, 0.0), 4),
                "over_g": round(max(has - mass, 0.0), 4),
            }
        )
    if results["wants"]:
        links.append(
            computed(
                "One product cannot meet every want: what is short needs another, what is over is lost or "
                "builds up"
            )
        )
    return results, tuple(links), cautions


def _removal(given: Mapping[str, Any]) -> Answer:
    results, because, cautions = _PLAIN["removal"].compute(given)
    kind, links = knowledge().kind(given["kind"]), list(because)
    for word in ("Ca", "Mg"):
        fact = kind.get(f"removal_{word.lower()}")
        for suffix, pick in (("", "number"), ("_low", "least"), ("_high", "most")):
            content = getattr(fact, pick) if fact is not None else None
            results[f"{word.lower()}_g{suffix}"] = (
                round(nutrients.nutrient_removed(given["harvest"], content), 2)
                if content is not None
                else None
            )
        if fact is not None:
            text = "Fresh fruit of {kind} takes away {value} of {nutrient}"
            links.append(from_fact(text, fact, kind=kind.name, nutrient=word))
    return results, tuple(links), cautions


# ---------------------------------------------------------------- liquid feed and release


def _liquid_feed(given: Mapping[str, Any]) -> Answer:
    n, p2o5, k2o = given["label"]
    if n == 0:
        raise BadInput("the label holds no N", "a feed by ppm of N needs a product with N")
    litres, strength = given["volume"], given["ppm_n"]
    product = nutrients.product_for_liquid_feed(strength, litres, n / 100)
    results = {
        "product_g": round(product, 4),
        "per_litre_g": round(nutrients.product_for_solution(strength, n / 100), 4),
        "n_g": round(nutrients.nutrient_in_product(product, n / 100), 4),
        "p2o5_g": round(nutrients.nutrient_in_product(product, p2o5 / 100), 4),
        "k2o_g": round(nutrients.nutrient_in_product(product, k2o / 100), 4),
    }
    because = (
        computed(
            "A part per million is a milligram in a litre: {strength} mg of N a litre, over the label's "
            "{share} %, for {volume}",
            results["product_g"],
            "g",
            strength=said("{strength:g}", strength=strength),
            share=said("{share:g}", share=n),
            volume=amount(litres, "L"),
        ),
        cited(
            "Orange trees in pots, fed weekly, grew best at 100 to 200 mg of N a litre and were stunted at "
            "50 and less",
            None,
            "mg/L",
            "guazzelli-container",
            "abstract: critical level 155 to 165 mg/L",
        ),
    )
    notes = (
        ("That is stronger than pot trees have been shown to use: salt builds up and roots burn.",)
        if strength > 250.0
        else ()
    )
    return results, because, (*notes, *_cautions())


def _release(given: Mapping[str, Any]) -> Answer:
    name, days, warmth = given["release_class"], given["days"], given["temperature"]
    row = knowledge().item("releases", name)
    season = row["first_season"]
    columns = ("fast_share", "fast_half_life", "slow_share", "slow_half_life")
    fast, quick, slow, late = (row[column].number for column in columns)

    def fraction(q10: float) -> float:
        return float(
            mineralization.released_fraction_two_pool(days, warmth, fast, quick, slow, late, q10)
        )

    best = fraction(row["q10"].number)
    ends = [fraction(q10) for q10 in (row["q10"].least, row["q10"].most)]
    low = min(*ends, best) * season.least / season.number
    high = min(max(*ends, best) * season.most / season.number, 1.0)
    links = (
        from_fact(
            "{release}: {value} of its nitrogen is in a pool that empties fast, half of it in {half} at 20 °C",
            row["fast_share"],
            release=said(name),
            half=amount(row["fast_half_life"].number, "d"),
        ),
        from_fact(
            "and {value} in one that empties slowly, half in {half}; the rest stays bound this year",
            row["slow_share"],
            half=amount(row["slow_half_life"].number, "d"),
        ),
        from_fact("Ten degrees more make it {value} times as fast", row["q10"]),
        cited("Freed: fast (1 − 2^(−t/half)) + slow (1 − 2^(−t/half)), t the days weighed by warmth",
              round(best, 4), "1", "wang-2004", "double exponential model"),
        from_fact("Products of this class differ: the range is that of a first season, {value}", season),
    )  # fmt: skip
    notes: list[str] = []
    if not 0.0 <= warmth <= 35.0:
        notes.append(
            "The half-lives rest on incubations at 10 to 25 °C; this is a guess far beyond."
        )
    if name == "controlled release":
        notes.append("The months printed on the bag come first; they are for about 21 °C.")
    results = {"fraction": round(best, 4), "low": round(low, 4), "high": round(high, 4)}
    return results, links, tuple(notes)


# ---------------------------------------------------------------- salt


def _salt_rows(key: str) -> list[tuple[int, dict[str, Fact]]]:
    """Rows of the salt table for the nearest relatives of a kind, with how near each is."""
    book = knowledge()
    lineage = book.kind(key).lineage
    found = []
    for row in book.table("salinity").values():
        of = book.species.get(row["kind"].text)
        line = of.lineage if of is not None else (row["kind"].text,)
        shared = 0
        for ours, theirs in zip(lineage, line, strict=False):
            if ours != theirs:
                break
            shared += 1
        if shared:
            # A row for this kind, or for a group it belongs to, comes before those of its relatives.
            found.append((shared + (100 if line == lineage[: len(line)] else 0), row))
    most = max((near for near, _ in found), default=0)
    return [(near, row) for near, row in found if near == most]


def _salt(given: Mapping[str, Any]) -> Answer:
    kind, ec = knowledge().kind(given["kind"]), given["soil_ec"]
    rows = _salt_rows(kind.key)
    if not rows:
        known = sorted({row["kind"].text for row in knowledge().table("salinity").values()})
        raise BadInput(
            said("no salt line is known for {kind}", kind=kind.name),
            said("known: {listed}", listed=", ".join(known)),
        )
    sets: list[dict[str, Any]] = []
    links: list[Because] = []
    for _, row in rows:
        left = 100.0 * float(
            salinity.relative_yield_maas_hoffman(ec, row["threshold"].number, row["slope"].number)
        )
        sets.append({"set": row["set"].text, "kind": row["kind"].text, "yield_pct": round(left, 2)})
        links.append(
            from_fact(
                "{set}, {kind}: nothing is lost up to {value}, then {slope} % for each dS/m",
                row["threshold"],
                set=row["set"].text,
                kind=row["kind"].text,
                slope=said("{slope:g}", slope=100 * row["slope"].number),
            )
        )
    shares = [one["yield_pct"] for one in sets]
    text = "Yield = 100 − slope × (soil EC − threshold), between 0 and 100"
    links.append(cited(text, shares[0], "%", "maas-grattan-1999", "equation 1"))
    notes: list[str] = []
    if rows[0][0] < 100:
        notes.append(
            said(
                "No line was measured for {kind}: those of its relatives stand in, and may be far off.",
                kind=kind.name,
            )
        )
    if len(sets) > 1:
        notes.append(
            said("Sets differ and are not averaged; the first is '{set}'.", set=sets[0]["set"])
        )
    notes.append("Soil EC is that of a saturated paste, a mean over the root zone.")
    results = {
        "relative_yield_pct": shares[0],
        "low_pct": min(shares),
        "high_pct": max(shares),
        "sets": sets,
    }
    return results, tuple(links), tuple(notes)


def _leaching(given: Mapping[str, Any]) -> Answer:
    water, soil = given["water_ec"], given["soil_ec"]
    share = salinity.leaching_requirement_ayers(water, soil)
    results = {
        "requirement": round(share, 4),
        "water_factor": round(salinity.water_with_leaching(1.0, share), 4),
    }
    because = (
        cited("Leaching requirement = water EC / (5 × soil EC − water EC)", results["requirement"], "1",
              "ayers-1985", "equation 9", "memory"),
        cited("Water to give = use / (1 − requirement)", results["water_factor"], "1",
              "ayers-1985", "equation 7", "memory"),
    )  # fmt: skip
    notes = (
        (
            "A third and more of the water would have to drain: better water or a hardier kind serves sooner.",
        )
        if share > 1 / 3
        else ()
    )
    return results, because, notes


# ---------------------------------------------------------------- lime and sulfur


def _neutralising(text: str) -> float:
    """A calcium carbonate equivalent, "90" or "90 %"."""
    return number(10, 200, "a calcium carbonate equivalent")(text.replace("%", "").strip())


def _lime(given: Mapping[str, Any]) -> Answer:
    start, target, area = given["start_ph"], given["target_ph"], given["area"]
    mend = amendment(knowledge(), start, target, given.get("texture"))
    raising = target > start
    value = given.get("cce", 100.0) / 100 if raising else 1.0
    best, low, high = (
        liming.liming_material(one or 0.0, value)
        for one in (mend.need.value, mend.need.low, mend.need.high)
    )
    results: dict[str, Any] = {
        "material": mend.material,
        "mass_g": round(best * area, 2),
        "mass_low_g": round(low * area, 2),
        "mass_high_g": round(high * area, 2),
        "per_m2_g": round(best, 2),
        "doses": mend.doses,
        "dose_g": round(best * area / mend.doses, 2) if mend.doses else 0.0,
        "apart_d": mend.apart,
        "free_lime_sulfur_g": None,
    }
    links = list(mend.because)
    if value != 1.0 and best > 0:
        links.append(
            cited(
                "Material = recommendation × 100 / its calcium carbonate equivalent",
                round(value, 4),
                "1",
                "psu-home-garden-lime",
                "correction for the material",
            )
        )
    notes = ["A laboratory's buffer pH overrides a table by texture."]
    if not raising and best > 0:
        notes.append("Give sulfur a season in warm moist soil, then test again before giving more.")
    if given.get("free_lime"):
        rule = knowledge().item("amendments", "sulfur for free lime")["figure"]
        extra = rule.number * given["free_lime"] * area
        if not raising:
            results["free_lime_sulfur_g"] = round(extra, 2)
            links.append(
                from_fact(
                    "Each percent of free lime in the top 15 cm first eats {value} of sulfur", rule
                )
            )
            notes.append(
                "Free lime makes acidifying impractical; a pot or a bed of acid medium is better."
            )
    return (
        results,
        tuple(links),
        (*notes, "Dust hurts eyes and lungs: wear goggles, a mask and gloves."),
    )


def _cautions() -> tuple[str, ...]:
    rows = knowledge().table("cautions").values()
    return tuple(
        row["text"].text for row in rows if row["job"].text == "feed" and "when" not in row
    )


def _extended(
    name: str, options: Sequence[Option], fields: Sequence[str], **changes: Any
) -> Reckoner:
    """A plain reckoner with more options and fields."""
    plain = _PLAIN[name]
    return replace(plain, options=tuple(options), fields=(*plain.fields, *fields), **changes)


RECKONERS = (
    _extended(
        "dose",
        (
            _LABEL,
            Option("nutrient", _word, "text", "n, p2o5 or k2o as labels say it; p or k for the element; or a part given with --also"),
            Option("amount", measured("mass"), "g", "wanted mass of that nutrient"),
            Option("also", _part, "text", 'a further part of the label, such as "MgO 4 %"', required=False, multiple=True),
            Option("want", _want, "text", 'a further nutrient wanted, such as "k2o 60 g", to see what is short or over', required=False, multiple=True),
        ),
        ("also", "wants"),
        compute=_dose,
    ),
    _extended(
        "removal",
        _PLAIN["removal"].options,
        tuple(f"{letter}_g{end}" for letter in ("ca", "mg") for end in ("", "_low", "_high")),
        compute=_removal,
    ),
    Reckoner(
        "liquid-feed",
        "How much of a soluble product makes a feed of a given strength.",
        (
            _LABEL,
            Option("ppm-n", number(0, 5000, "parts per million of N"), "mg/L", "strength wanted, in parts per million of N"),
            Option("volume", measured("volume_of_water"), "L", 'feed to mix, such as "10 L"'),
        ),
        _liquid_feed,
        ("product_g", "per_litre_g", "n_g", "p2o5_g", "k2o_g"),
        "--label 20-20-20 --ppm-n 150 --volume 10",
    ),
    Reckoner(
        "release",
        "How much of a product's nitrogen has come free after some days in soil of a temperature.",
        (
            Option("release-class", _release_class, "text", "soluble, granular mineral, controlled release, granular organic, quick organic meal, composted manure, plant compost or foliar"),
            Option("days", _in_unit("d", 0, 3660, "the time since it was given"), "d", 'time since it was given, such as "12 weeks"'),
            Option("temperature", measured("air_temperature"), "degC", "mean temperature of the soil over that time"),
        ),
        _release,
        ("fraction", "low", "high"),
        '--release-class "granular organic" --days 84 --temperature 20',
    ),
    Reckoner(
        "salt",
        "How much of its yield a tree keeps in a salty soil.",
        (
            _KIND,
            Option("soil-ec", measured("conductivity"), "dS/m", "conductivity of the saturated soil paste"),
        ),
        _salt,
        ("relative_yield_pct", "low_pct", "high_pct", "sets"),
        "--kind navel --soil-ec 3",
    ),
    Reckoner(
        "leaching",
        "Share of the water that must drain so that salt does not build up.",
        (
            Option("water-ec", measured("conductivity"), "dS/m", "conductivity of the water you give"),
            Option("soil-ec", measured("conductivity"), "dS/m", "conductivity of the soil to keep to"),
        ),
        _leaching,
        ("requirement", "water_factor"),
        "--water-ec 1.1 --soil-ec 1.7",
    ),
    Reckoner(
        "lime",
        "Lime to raise the pH of a soil, or sulfur to lower it.",
        (
            Option("start-ph", number(3, 10, said("pH")), "pH", "present pH of the soil, in water"),
            Option("target-ph", number(3, 10, said("pH")), "pH", "pH wanted"),
            Option("area", _in_unit("m2", 0.01, 1e6, "the area"), "m2", 'area to treat, such as "100 sq ft"'),
            Option("texture", _texture, "text", "texture class of the soil; loam, and the range of all, if left out", required=False),
            Option("cce", _neutralising, "%", "neutralising value of the lime; 100 if left out", required=False),
            Option("free-lime", percentage, "%", "free lime in the soil, if a laboratory found some", required=False),
        ),
        _lime,
        ("material", "mass_g", "mass_low_g", "mass_high_g", "per_m2_g", "doses", "dose_g", "apart_d", "free_lime_sulfur_g"),
        '--start-ph 5.5 --target-ph 6.5 --area "10 m2" --texture loam',
    ),
)  # fmt: skip
