"""The leaf key: known descriptions lead to their cause, and the scoring can be followed with a pencil.

Descriptions marked "published" are those of the source named; the others are common practice and have none.
"""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell.api import diagnose, knowledge, leaf_key
from bearwell.errors import BadInput, KnowledgeError
from bearwell.knowledge import Knowledge
from bearwell.plan.diagnose import (
    LIKELY,
    MOST_SHOWN,
    POSSIBLE,
    UNEXPLAINED,
    WORTH_NAMING,
    Diagnosis,
    LeafKey,
    season_of,
)

BOOK = knowledge()
KEY = leaf_key()
SUMMER, WINTER = date(2026, 7, 10), date(2026, 1, 20)


def best(signs: str, kind: str | None = None, day: date | None = None) -> Diagnosis:
    return diagnose(signs.split(), kind=kind, day=day)[0]


def named(signs: str, kind: str | None = None, day: date | None = None) -> dict[str, Diagnosis]:
    return {one.key: one for one in diagnose(signs.split(), kind=kind, day=day)}


# ---------------------------------------------------------------- descriptions in print
# (signs, kind, day, cause, where the description is published)
PUBLISHED = [
    ("old-leaves between-veins green-arrow", "apple", SUMMER, "magnesium-short",
     "PNW handbook key: older leaves, islands of yellow between side veins, V-shaped green areas"),
    ("old-leaves edge-burn curled-up small", "apple", SUMMER, "potassium-short",
     "PNW handbook key: older leaves, margins first, curling upward, smaller than normal"),
    ("young-leaves rosette small purple-bronze", "peach", SUMMER, "zinc-short",
     "PNW handbook key: rosettes of small chlorotic leaves, older leaves may appear bronze"),
    ("young-leaves fine-green-net nearly-white", "pear", SUMMER, "iron-short",
     "PNW handbook key: fine lace-like network of green veins, youngest devoid of green"),
    ("young-leaves between-veins dieback bushy", "apple", SUMMER, "copper-short",
     "PNW handbook key: tip leaves chlorotic, tips die back, new shoots from lower buds"),
    ("young-leaves boat dieback", "apple", SUMMER, "boron-short",
     "PNW handbook key: young leaves curved boat-like, buds aborted, new shoots die back"),
    ("whole-tree small purple-bronze", "apple", SUMMER, "phosphorus-short",
     "PNW handbook key: leaves small, stalks, undersides of veins and young shoots purple"),
    ("corky-fruit young-leaves", "apple", SUMMER, "boron-short",
     "PNW 121E: first signs of boron shortage are cork and cracks in the fruit"),
    ("hard-gummy", "navel", SUMMER, "boron-short", "UF SS422: hard fruit with gum in the rind"),
    ("old-leaves even-yellow", "navel", SUMMER, "nitrogen-short",
     "AZ1007: general yellowing from the older leaves on, no distinct pattern"),
    ("old-leaves green-arrow", "clementine", SUMMER, "magnesium-short",
     "Maui Master Gardeners: yellow blotch by the midrib, then a green inverted V at the base"),
    ("broad-green-bands between-veins", "navel", SUMMER, "manganese-short",
     "Maui Master Gardeners: dark green bands along midrib and main veins, light green between"),
    ("young-leaves small dieback edge-burn", "apple", SUMMER, "calcium-short",
     "University of Maryland: new leaves small and chlorotic with dead tips, shoots die back"),
    ("whole-tree even-yellow cold-wet", "lemon", WINTER, "cold-roots",
     "UC Santa Clara: yellow citrus in winter is most often cold wet soil"),
    ("one-branch yellow-veins bark-hurt", "navel", SUMMER, "girdled",
     "UF CH142: yellow veins are frequently due to girdling"),
    ("small tip-burn wilted-wet black-roots dieback", "hass", SUMMER, "root-rot",
     "UC IPM: small pale leaves, brown tips, wilted in wet soil, fine roots black"),
    ("tip-burn salty-water", "hass", SUMMER, "salt",
     "UCCE Faber: salt burn always starts at the leaf tip and moves back"),
    ("narrow bushy dieback", "peach", SUMMER, "weedkiller",
     "Montana State: narrow leaves, dieback, many distorted shoots below"),
    ("young-leaves trails curled-up", "lemon", SUMMER, "leafminer",
     "UC Contra Costa: curling young leaves with curvy tracks"),
    ("mottle-uneven yellow-shoot lopsided", "navel", date(2026, 11, 5), "greening",
     "UF CREC: blotchy mottle, yellow shoots, lopsided fruit"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("signs", "kind", "day", "cause", "where"), PUBLISHED, ids=[f"{c[3]}-{c[1]}" for c in PUBLISHED]
)
def test_a_published_description_leads_to_its_cause(
    signs: str, kind: str, day: date, cause: str, where: str
) -> None:
    assert best(signs, kind, day).key == cause, where


# Common practice, no source.
COMMON = [
    ("young-leaves even-yellow", "navel", SUMMER, "sulfur-short"),
    ("old-leaves pale-dots mites dry", "lemon", SUMMER, "mites"),
    ("scattered bleached-patch hot-sun", "navel", SUMMER, "sunburn"),
    ("young-leaves blackened frost", "lemon", WINTER, "frost-harm"),
    ("whole-tree curled-up wilted-dry dry", "hass", SUMMER, "thirst"),
    ("old-leaves even-yellow new-flush", "navel", date(2026, 4, 10), "ageing"),
    ("whole-tree even-yellow", "persimmon", date(2026, 10, 25), "autumn-colour"),
    ("young-leaves blistered twisted", "peach", date(2026, 4, 10), "leaf-curl"),
    ("one-branch burnt-tips", "pear", date(2026, 5, 10), "fire-blight"),
    ("scattered spots-halo", "lemon", SUMMER, "canker"),
    ("one-branch wilted-dry blackened", "hass", SUMMER, "laurel-wilt"),
    ("scattered rings", "peach", date(2026, 5, 10), "plum-pox"),
]


@pytest.mark.parametrize(("signs", "kind", "day", "cause"), COMMON, ids=[c[3] for c in COMMON])
def test_a_usual_description_leads_to_its_cause(
    signs: str, kind: str, day: date, cause: str
) -> None:
    assert best(signs, kind, day).key == cause


# ---------------------------------------------------------------- telling apart


def test_every_shortage_asked_for_is_in_the_key() -> None:
    known = {one.row["nutrient"].text for one in KEY.causes if "nutrient" in one.row}

    assert known == {"N", "P", "K", "Mg", "Ca", "Fe", "Mn", "Zn", "B", "Cu", "S"}


def test_the_same_look_in_winter_is_cold_and_in_summer_hunger() -> None:
    """UC Santa Clara and AZ1007: nitrogen is there in winter, roots do not take it from cold soil."""
    look = "whole-tree even-yellow"

    assert best(f"{look} cold-wet", "navel", WINTER).key == "cold-roots"
    assert "cold-roots" not in named(look, "navel", SUMMER)
    assert best(look, "navel", SUMMER).key == "nitrogen-short"


def test_the_pattern_on_both_halves_parts_zinc_from_greening() -> None:
    """UF PP328: shortages are alike on both sides of the midrib, greening is not."""
    even = named("young-leaves mottle-same small", "navel", SUMMER)
    uneven = named("young-leaves mottle-uneven small", "navel", SUMMER)

    assert next(iter(even)) == "zinc-short"
    assert "greening" not in even
    assert uneven["greening"].score > (uneven["zinc-short"].score if "zinc-short" in uneven else 0)


def test_salt_parts_potassium_from_burn() -> None:
    """Scorched edges of old leaves: what came before decides. UCCE Faber, UC San Luis Obispo."""
    assert best("old-leaves edge-burn", "apple", SUMMER).key == "potassium-short"
    assert best("old-leaves edge-burn salt-crust", "apple", SUMMER).key == "salt"


def test_wilting_in_wet_soil_is_not_thirst() -> None:
    """UC IPM on root rot: foliage wilts even when the soil under the tree is wet."""
    assert "thirst" not in named("whole-tree wilted-wet", "hass", SUMMER)
    assert best("whole-tree wilted-wet", "hass", SUMMER).key == "root-rot"


# ---------------------------------------------------------------- what must be reported


@pytest.mark.parametrize(
    ("sign", "kind", "cause"),
    [
        ("mottle-uneven", "satsuma", "greening"),
        ("spots-halo", "lemon", "canker"),
        ("rings", "apricot", "plum-pox"),
        ("lopsided", "navel", "greening"),
    ],
)
def test_one_telling_sign_names_what_must_be_reported(sign: str, kind: str, cause: str) -> None:
    found = named(f"old-leaves even-yellow {sign}", kind, SUMMER)

    assert cause in found
    assert "move" in found[cause].report
    assert "Call" in found[cause].send


def test_a_disease_of_citrus_is_not_named_for_a_peach() -> None:
    assert "greening" not in named("mottle-uneven", "peach", SUMMER)
    assert "greening" in named("mottle-uneven", None, SUMMER), "named when the kind is not known"


def test_every_cause_that_must_be_reported_says_not_to_move_it() -> None:
    reported = [one for one in KEY.causes if one.row["sort"].text == "report"]

    assert len(reported) >= 3
    assert all("not move" in one.row["report"].text.lower() for one in reported)


# ---------------------------------------------------------------- cautions


def test_iron_carries_the_warning_for_children() -> None:
    iron = named("young-leaves fine-green-net", "navel", SUMMER)["iron-short"]

    assert any("child" in text for text in iron.cautions)
    assert any("label is the law" in text for text in iron.cautions)


def test_a_pest_is_named_before_it_is_treated() -> None:
    mites = named("pale-dots mites", "lemon", SUMMER)["mites"]

    assert any("named by your extension service" in text for text in mites.cautions)
    assert any("bees" in text for text in mites.cautions)


# ---------------------------------------------------------------- the scoring


def test_the_score_can_be_followed_with_a_pencil() -> None:
    """By the table: old leaves 3, even yellow 4, not fed 2; corky veins are not explained."""
    found = named("old-leaves even-yellow long-unfed corky-veins")["nitrogen-short"]

    assert found.score == 3 + 4 + 2 - UNEXPLAINED
    assert found.unexplained == ("veins thick, split or corky",)
    assert found.against == ()
    assert found.likelihood == "likely"


def test_a_sign_against_a_cause_is_counted_and_shown() -> None:
    without = named("old-leaves even-yellow")["nitrogen-short"]
    with_it = named("old-leaves even-yellow between-veins")["nitrogen-short"]

    weight = next(one for one in KEY.causes if one.key == "nitrogen-short").weights["between-veins"]
    assert weight < 0
    assert with_it.score == without.score + weight
    assert with_it.against == ("yellow between the veins",)


ANSWERS = st.tuples(
    *(
        st.lists(
            st.sampled_from([sign.key for sign in one.signs]),
            max_size=3 if one.several else 1,
            unique=True,
        )
        for one in KEY.asked
    )
).map(lambda lists: frozenset(sign for some in lists for sign in some))
SEEN = ANSWERS.filter(lambda signs: bool(signs & KEY.seen))
KINDS = st.sampled_from([None, "navel", "lemon", "hass", "apple", "peach", "fig", "rabbiteye"])
DAYS = st.none() | st.dates(date(2024, 1, 1), date(2027, 12, 31))


@given(signs=SEEN, kind=KINDS, day=DAYS, in_pot=st.sampled_from([None, True, False]))
def test_any_answers_give_a_ranked_and_honest_list(
    signs: frozenset[str], kind: str | None, day: date | None, in_pot: bool | None
) -> None:
    found = diagnose(signs, kind=kind, day=day, in_pot=in_pot)

    plain = [one for one in found if one.likelihood != "to be ruled out"]
    assert [one.score for one in plain[:MOST_SHOWN]] == sorted(
        (one.score for one in plain[:MOST_SHOWN]), reverse=True
    )
    assert len({one.key for one in found}) == len(found)
    for one in found:
        weights = next(cause.weights for cause in KEY.causes if cause.key == one.key)
        given_words = {KEY.words[sign] for sign in signs}
        total = sum(weights.get(s, 0) for s in signs) - UNEXPLAINED * len(one.unexplained)
        at_most = sum(max(weights.get(s, 0), 0) for s in ("winter", "spring", "summer", "autumn"))
        assert total - 5 <= one.score <= total + at_most + 1
        assert set(one.unexplained) <= given_words
        assert one.score >= WORTH_NAMING or one.sort == "report"
        assert (one.likelihood == "likely") == (one.score >= LIKELY)
        if one.likelihood == "possible":
            assert POSSIBLE <= one.score < LIKELY
        assert one.because
        assert all(link.source in BOOK.sources for link in one.because)


@given(signs=SEEN)
def test_the_order_of_ticking_does_not_matter(signs: frozenset[str]) -> None:
    assert diagnose(sorted(signs)) == diagnose(sorted(signs, reverse=True))


# ---------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("signs", "complaint"),
    [
        (["old-leafs"], "no sign"),
        (["old-leaves", "young-leaves"], "Which leaves"),
        (["fine-green-net", "corky-veins"], "How are the veins"),
        ([], "nothing is ticked"),
        (["dry", "frost"], "nothing is ticked"),
        (["summer"], "nothing is ticked"),
    ],
)
def test_answers_that_cannot_be_are_refused(signs: list[str], complaint: str) -> None:
    with pytest.raises(BadInput, match=complaint):
        diagnose(signs)


def test_an_unknown_kind_is_refused_with_the_nearest() -> None:
    with pytest.raises(BadInput, match="navle"):
        diagnose(["old-leaves"], kind="navle")


def test_nothing_that_fits_is_said_by_an_empty_list() -> None:
    assert diagnose(["trails"], kind="fig", day=SUMMER) == []


# ---------------------------------------------------------------- seasons and tables


@pytest.mark.parametrize(
    ("day", "southern", "season"),
    [
        (date(2026, 1, 15), False, "winter"),
        (date(2026, 2, 28), False, "winter"),
        (date(2026, 3, 1), False, "spring"),
        (date(2026, 6, 1), False, "summer"),
        (date(2026, 9, 1), False, "autumn"),
        (date(2026, 12, 1), False, "winter"),
        (date(2024, 12, 31), False, "winter"),
        (date(2026, 1, 15), True, "summer"),
        (date(2026, 7, 15), True, "winter"),
        (date(2026, 10, 15), True, "spring"),
    ],
)
def test_seasons(day: date, southern: bool, season: str) -> None:
    assert season_of(day, southern=southern) == season


def test_every_sign_is_of_use_and_every_group_is_known() -> None:
    used = {sign for cause in KEY.causes for sign, weight in cause.weights.items() if weight}
    groups = {group for cause in KEY.causes for group in cause.groups}

    assert set(KEY.words) - used - {"in-ground"} == set()
    assert groups <= set(BOOK.species) | {"evergreen", "ever-bearing", "deciduous"}
    assert all(max(cause.weights.values()) >= 3 for cause in KEY.causes)
    assert {row["question"].text for row in BOOK.table("signs").values()} == set(
        BOOK.table("leafquestions")
    )


def test_a_misspelt_sign_in_the_table_is_refused() -> None:
    table = {"x": {**next(iter(BOOK.table("symptoms").values()))}}
    fact = table["x"]["signs"]
    table["x"]["signs"] = type(fact)(
        fact.name, "old-leafs 3", "text", None, None, fact.source, fact.locator, fact.confidence, "", "x"
    )  # fmt: skip
    wrong = Knowledge(
        BOOK.species, BOOK.feeding, {**BOOK.tables, "symptoms": table}, BOOK.sources, BOOK.schema
    )

    with pytest.raises(KnowledgeError, match="old-leafs"):
        _ = LeafKey(wrong).causes
