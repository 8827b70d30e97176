"""The trees of the demonstration garden, all invented, as dates within the year and measures."""

from __future__ import annotations

from dataclasses import dataclass

from bearwell.garden.model import Event

Work = tuple[int, int, str]


@dataclass(frozen=True)
class Seen:
    """An event noted in most years: its usual month and day in its season.

    ``years_on`` is 1 where it falls into the year after its bloom, ``share`` how much of the
    year's swing it follows, ``not_seen`` the seasons, in years ago, for which nobody wrote it down.
    """

    event: Event
    month: int
    day: int
    years_on: int = 0
    share: float = 1.0
    not_seen: tuple[int, ...] = ()


@dataclass(frozen=True)
class Kept:
    """One invented tree and its diary. ``planted`` is years before this one, month and day.

    ``measures`` are lines of the garden file. ``crops`` are mass and fruit, newest first, each
    complete by ``picked_by`` of its year; none before ``bears_after`` years. ``halves`` is how the
    newest one was shared between the two sides of the tree.
    """

    id: str
    kind: str
    planted: tuple[int, int, int]
    measures: tuple[str, ...] = ()
    lesson: tuple[str, ...] = ()
    name: str = ""
    seen: tuple[Seen, ...] = ()
    crops: tuple[tuple[str, int], ...] = ()
    picked_by: tuple[int, int] = (12, 31)
    halves: str = ""
    counts: tuple[Work, ...] = ()
    leaves: tuple[Work, ...] = ()
    lacks: tuple[Work, ...] = ()
    done: tuple[Work, ...] = ()
    note: str = ""
    bears_after: float = 2.0
    always_young: bool = False


def _fed(product: str, *rounds: tuple[int, int, str]) -> tuple[Work, ...]:
    return tuple(
        (month, day, f'job = "feed", product = "{product}", amount = "{amount}"')
        for month, day, amount in rounds
    )


def _cut(month: int, day: int, note: str) -> Work:
    return month, day, f'job = "prune", note = "{note}"'


def _looked(month: int, day: int, note: str) -> Work:
    return month, day, f'job = "inspect", note = "{note}"'


def _walks(*paths: tuple[float, int]) -> str:
    """A count by branch walks: the chance of each and the fruit at its end."""
    rows = (f"{{ probability = {chance}, fruit = {fruit} }}" for chance, fruit in paths)
    return f"paths = [{', '.join(rows)}]"


def _potful(amount: str) -> tuple[Work, ...]:
    """Waterings of a pot in the dry months; a litre of water is a kilogram."""
    days = ((6, 18), (6, 27), (7, 5), (7, 12), (7, 19), (7, 26), (8, 2), (8, 9), (8, 16), (8, 24),
            (9, 2), (9, 12), (9, 24))  # fmt: skip
    return tuple((month, day, f'job = "water", amount = "{amount}"') for month, day in days)


def _soaked(amount: str) -> tuple[Work, ...]:
    """Deep waterings of a tree in the ground through a dry summer."""
    days = ((6, 21), (7, 1), (7, 11), (7, 21), (7, 31), (8, 10), (8, 20), (8, 30), (9, 10))
    return tuple((month, day, f'job = "water", amount = "{amount}"') for month, day in days)


def _pot_feeds(product: str, amount: str, *months: int) -> tuple[Work, ...]:
    return _fed(product, *((month, 8, amount) for month in months))


TREES: tuple[Kept, ...] = (
    Kept(
        "satsuma-gate",
        "tern-early",
        (9, 3, 24),
        (
            'age_at_planting = "2 yr"',
            'rootstock = "trifoliate orange"',
            'grows_in = "ground"                       # or a pot: see the calamondin below',
            'height = "2.4 m"',
            'spread = ["2.6 m", "2.4 m"]               # along and across',
            'skirt = "0.4 m"                           # height of the lowest foliage',
            'trunk_girth = "31 cm"                     # around the trunk, 15 cm above the union',
            'limbs = ["14 cm", "12 cm", "10 cm", "7 cm"]  # around each main limb, at its base',
            'shoot_growth = "28 cm"                    # shoots of this year, a middling one',
            'drip = { emitters = 6, flow = "4 L/h" }         # as printed on the dripper',
        ),
        lesson=(
            "Ripens in autumn and leaves months to prune before it flowers. Its kind is our own.",
            "The count walked four branches outwards: probability is the chance of that walk,",
            "fruit what hung at its end.",
        ),
        name="Satsuma by the gate",
        seen=(
            Seen("full bloom", 5, 8),
            Seen("harvest start", 10, 30, share=0.6),
            Seen("harvest end", 11, 29, share=0.6, not_seen=(2,)),
        ),
        crops=(("26 kg", 212), ("19 kg", 0), ("24 kg", 0), ("17 kg", 0), ("15 kg", 0)),
        picked_by=(12, 15),
        counts=((7, 24, _walks((0.11, 31), (0.07, 24), (0.16, 43), (0.09, 27))),),
        leaves=(
            (
                8,
                12,
                'norms = "Florida citrus", n = "2.5 %", k = "1.3 %", mg = "0.33 %", zn = "17 ppm"',
            ),
        ),
        done=(
            *_fed(
                "balanced",
                (3, 22, "1.2 kg"),
                (5, 26, "1.2 kg"),
                (10, 6, "1.05 kg"),
                (12, 18, "1.05 kg"),
            ),
            *_soaked("110 kg"),
            _cut(3, 9, "main cut after the cold, a quarter of the canopy"),
            _looked(6, 3, "leaf miner on two shoots, left alone"),
        ),
    ),
    Kept(
        "navel-wall",
        "navel",
        (12, 4, 2),
        (
            'rootstock = "citrange"',
            'height = "2.9 m"',
            'spread = ["3.0 m", "2.6 m"]',
            'skirt = "0.5 m"',
            'trunk_girth = "41 cm"',
            'shelter = "granite-wall"',
        ),
        lesson=(
            "Ripens in late winter, as it is about to flower again: weeks, not months, to prune.",
            "A harvest counts for the year it was mostly picked in.",
        ),
        name="Navel on the granite wall",
        seen=(
            Seen("full bloom", 5, 9),
            Seen("harvest start", 2, 24, years_on=1, share=0.5),
            Seen("harvest end", 4, 18, years_on=1, share=0.5, not_seen=(3,)),
        ),
        crops=(("31 kg", 0), ("36 kg", 0), ("28 kg", 0), ("33 kg", 0), ("25 kg", 0)),
        picked_by=(5, 6),
        done=(
            *_fed("balanced", (3, 24, "2.1 kg"), (5, 27, "2.1 kg"), (10, 5, "1.8 kg")),
            *_soaked("140 kg"),
            _cut(4, 22, "light, only what the fruit had bent"),
            _looked(9, 10, "clean"),
        ),
    ),
    Kept(
        "calamondin-pot",
        "calamondin",
        (4, 5, 2),
        (
            'grows_in = { container = "45 L", medium = "bark and peat" }',
            'height = "1.3 m"',
            'spread = ["1.0 m", "0.9 m"]',
            'trunk_girth = "11 cm"',
        ),
        lesson=("Flowers and fruits all year in a pot; the gap for a cut is when it is barest.",),
        name="Calamondin in the blue pot",
        seen=(Seen("full bloom", 5, 18), Seen("harvest start", 2, 4, years_on=1, share=0.5)),
        crops=(("3.1 kg", 0), ("2.2 kg", 0)),
        lacks=((9, 20, 'nutrient = "Mg"'),),
        done=(
            *_pot_feeds("pot-prills", "90 g", 3),
            *_potful("6 kg"),
            _looked(4, 15, "scale on the stems, brushed off with soapy water"),
        ),
    ),
    Kept(
        "clementine-graft",
        "clementine",
        (0, 3, 20),
        (
            'age_at_planting = "1 yr"',
            'rootstock = "trifoliate orange"',
            'height = "1.1 m"',
            'spread = "0.8 m"                          # one measure will do for a round tree',
            'skirt = "0.3 m"',
            'trunk_girth = "7 cm"',
            'shelter = "north-hoop"',
        ),
        lesson=(
            "A young graft that sets far more than its roots can carry. A small tree is counted",
            "fruit by fruit.",
        ),
        name="Young clementine",
        counts=((7, 18, "fruit = 64"),),
        done=(
            *_fed("quick-meal", (3, 28, "65 g"), (5, 24, "65 g"), (10, 8, "65 g")),
            *_soaked("20 kg"),
            _looked(7, 18, "leaves pale on the side with most fruit"),
        ),
        always_young=True,
    ),
    Kept(
        "hass-hoop",
        "hass",
        (6, 5, 10),
        (
            'height = "3.5 m"',
            'spread = ["2.8 m", "2.5 m"]',
            'skirt = "0.4 m"',
            'trunk_girth = "38 cm"',
            'shelter = "north-hoop"                    # and now too tall for it',
            'cut_more = { share = "30 %", reason = "it must clear the hoop before winter" }',
            'drip = { emitters = 6, flow = "4 L/h" }',
        ),
        lesson=("The tenderest of all: under the hoop from November to March.",),
        name="Avocado under the hoop",
        seen=(
            Seen("full bloom", 5, 12),
            Seen("harvest start", 7, 6, years_on=1, share=0.5, not_seen=(4,)),
        ),
        crops=(("9 kg", 45), ("14 kg", 70), ("4 kg", 21)),
        picked_by=(11, 10),
        bears_after=3.0,
        done=(
            *_fed("quick-meal", (3, 30, "780 g"), (5, 28, "780 g"), (10, 10, "650 g")),
            *_soaked("150 kg"),
            _looked(2, 12, "hoop closed on four nights, no harm"),
        ),
    ),
    Kept(
        "anna-steps",
        "anna",
        (7, 1, 28),
        (
            'rootstock = "M26"',
            'height = "2.6 m"',
            'spread = ["2.3 m", "2.2 m"]',
            'skirt = "0.6 m"',
            'trunk_girth = "24 cm"',
        ),
        lesson=("A low-chill apple: ripe in July, while the others still swell.",),
        name="Anna on the steps",
        seen=(
            Seen("full bloom", 3, 28),
            Seen("harvest start", 7, 22, share=0.6),
            Seen("harvest end", 8, 3, share=0.6, not_seen=(1, 3)),
        ),
        crops=(("21 kg", 0), ("18 kg", 0), ("23 kg", 0), ("12 kg", 0), ("7 kg", 0)),
        picked_by=(8, 20),
        counts=((5, 14, "fruit = 210"),),
        done=(
            *_fed("balanced", (3, 4, "1.2 kg"), (5, 22, "900 g")),
            _cut(2, 20, "winter cut, late"),
        ),
    ),
    Kept(
        "golden-low",
        "golden-delicious",
        (11, 2, 8),
        (
            'rootstock = "MM106"',
            'height = "3.3 m"',
            'spread = ["3.2 m", "3.0 m"]',
            'skirt = "0.8 m"',
            'trunk_girth = "42 cm"',
        ),
        lesson=("A high-chill apple in a mild place: heavy and light years by turns.",),
        name="Golden on the low terrace",
        seen=(
            Seen("full bloom", 4, 5),
            Seen("harvest start", 9, 2, share=0.6),
            Seen("leaf fall", 12, 12, share=0.5, not_seen=(2, 3)),
        ),
        crops=(("44 kg", 0), ("16 kg", 0), ("41 kg", 0), ("19 kg", 0), ("38 kg", 0)),
        picked_by=(9, 28),
        done=(
            *_fed("balanced", (3, 6, "2.4 kg"), (5, 23, "2.1 kg")),
            _cut(2, 14, "water shoots out"),
        ),
    ),
    Kept(
        "peach-south",
        "peach",
        (5, 2, 3),
        (
            'rootstock = "GF677"',
            'height = "2.5 m"',
            'spread = ["3.1 m", "2.8 m"]',
            'skirt = "0.5 m"',
            'trunk_girth = "29 cm"',
            'limbs = ["17 cm", "15 cm", "12 cm"]',
            'drip = { emitters = 4, flow = "2 L/h" }',
        ),
        lesson=("Bears on last year's shoots: cut hard in late winter, thin hard in spring.",),
        name="Peach on the south bank",
        seen=(
            Seen("full bloom", 3, 14),
            Seen("natural drop end", 5, 2, share=0.6, not_seen=(1, 4)),
            Seen("harvest start", 7, 8, share=0.6),
        ),
        crops=(("17 kg", 0), ("22 kg", 0), ("9 kg", 0)),
        picked_by=(7, 25),
        counts=((5, 5, _walks((0.12, 31), (0.08, 17), (0.14, 30))),),
        done=(
            *_fed("balanced", (2, 26, "2.1 kg"), (5, 20, "1.8 kg")),
            *_soaked("160 kg"),
            _cut(2, 16, "a third of the old shoots out"),
            _looked(3, 30, "leaf curl on the lower shoots"),
        ),
    ),
    Kept(
        "apricot-west",
        "apricot",
        (8, 2, 15),
        (
            'rootstock = "myrobalan"',
            'height = "3.1 m"',
            'spread = ["3.2 m", "3.3 m"]',
            'trunk_girth = "39 cm"',
        ),
        lesson=("Cut only in dry summer weather. No skirt is given: the plan supposes one.",),
        name="Apricot on the west side",
        seen=(Seen("full bloom", 3, 5), Seen("harvest start", 6, 16, share=0.6, not_seen=(2,))),
        crops=(("18 kg", 0), ("6 kg", 0), ("21 kg", 0), ("14 kg", 0)),
        picked_by=(7, 2),
        done=(
            *_fed("balanced", (2, 20, "3 kg"), (5, 18, "2.4 kg")),
            _cut(7, 10, "after picking, in a dry week"),
        ),
    ),
    Kept(
        "fig-corner",
        "brown-turkey",
        (10, 3, 1),
        ('height = "2.7 m"',),
        lesson=(
            "Only its height was ever measured, and no date kept: the plan says what it supposes.",
        ),
        name="Fig in the corner",
        crops=(("9 kg", 0), ("11 kg", 0)),
        picked_by=(10, 30),
        bears_after=1.0,
        done=(_cut(2, 22, "opened the middle"),),
    ),
    Kept(
        "olive-old",
        "olive",
        (34, 11, 12),
        (
            'height = "4.1 m"',
            'spread = ["4.0 m", "3.7 m"]',
            'skirt = "1.0 m"',
            'trunk_girth = "86 cm"',
            'wanted_height = "3.3 m"                   # to pick without a ladder; spread over years',
        ),
        lesson=(
            "An old olive in the swing of on and off years. Only many weights show it; its two sides",
            "swing apart.",
        ),
        name="The old olive",
        seen=(
            Seen("full bloom", 6, 4),
            Seen("harvest start", 11, 8, share=0.5, not_seen=(2,)),
            Seen("harvest end", 12, 6, share=0.5, not_seen=(1, 2)),
        ),
        crops=(
            ("43 kg", 0),
            ("5 kg", 0),
            ("39 kg", 0),
            ("7 kg", 0),
            ("36 kg", 0),
            ("4 kg", 0),
            ("41 kg", 0),
        ),
        picked_by=(12, 22),
        halves='halves = { east = "31 kg", west = "12 kg" }',
        done=(*_fed("balanced", (3, 20, "1.2 kg")), _cut(3, 12, "suckers and the crossing limb")),
    ),
    Kept(
        "fuyu-top",
        "fuyu",
        (8, 3, 8),
        (
            'height = "3.0 m"',
            'spread = ["2.8 m", "2.9 m"]',
            'skirt = "0.7 m"',
            'trunk_girth = "30 cm"',
        ),
        name="Persimmon on the top terrace",
        seen=(
            Seen("full bloom", 6, 9),
            Seen("harvest start", 11, 10, share=0.5),
            Seen("harvest end", 12, 4, share=0.5, not_seen=(3,)),
        ),
        crops=(("24 kg", 0), ("18 kg", 0), ("15 kg", 0), ("11 kg", 0)),
        picked_by=(12, 20),
        counts=((7, 22, 'frame = "50 cm", frames = [1, 2, 0, 1, 3, 1]'),),
        bears_after=3.0,
        done=(*_fed("balanced", (4, 12, "3.3 kg")), _cut(3, 2, "long shoots shortened")),
    ),
    Kept(
        "blueberry-emerald",
        "emerald",
        (4, 10, 20),
        (
            'grows_in = { container = "40 L", medium = "bark and peat" }',
            'height = "1.2 m"',
            'spread = "0.9 m"',
        ),
        lesson=(
            "Two southern highbush blueberries in pots of acid medium; they pollinate each other.",
        ),
        name="Blueberry, tub one",
        seen=(Seen("full bloom", 3, 30), Seen("harvest start", 6, 18, share=0.6)),
        crops=(("1.9 kg", 0), ("1.3 kg", 0)),
        picked_by=(8, 1),
        done=(
            *_pot_feeds("acid-mix", "25 g", 3, 4, 5),
            *_potful("5 kg"),
            _cut(2, 25, "two oldest canes out"),
        ),
    ),
    Kept(
        "blueberry-star",
        "star",
        (4, 10, 20),
        ('grows_in = { container = "40 L", medium = "bark and peat" }',),
        lesson=("The same pot, never measured and nothing written down.",),
        name="Blueberry, tub two",
        done=_potful("5 kg"),
    ),
    Kept(
        "loquat-shed",
        "loquat",
        (13, 4, 10),
        (
            'height = "3.4 m"',
            'spread = ["3.2 m", "3.5 m"]',
            'skirt = "0.9 m"',
            'trunk_girth = "47 cm"',
        ),
        lesson=("Flowers in autumn, so its young fruit must come through the winter.",),
        name="Loquat behind the shed",
        seen=(
            Seen("full bloom", 10, 30),
            Seen("harvest start", 5, 12, years_on=1, share=0.5, not_seen=(1,)),
            Seen("harvest end", 6, 2, years_on=1, share=0.5, not_seen=(1, 4)),
        ),
        crops=(("19 kg", 0), ("27 kg", 0), ("8 kg", 0), ("24 kg", 0)),
        picked_by=(6, 20),
        done=(
            *_fed("balanced", (5, 29, "2.7 kg"), (10, 12, "2.1 kg")),
            _cut(6, 24, "after picking"),
        ),
    ),
    Kept(
        "pomegranate-bank",
        "pomegranate",
        (6, 3, 15),
        ('height = "2.1 m"', 'spread = ["1.9 m", "1.7 m"]'),
        lesson=("No girth and no skirt: measure them once and the doses grow surer.",),
        name="Pomegranate on the bank",
        seen=(Seen("full bloom", 6, 28, not_seen=(2, 3)), Seen("harvest start", 11, 2, share=0.5)),
        crops=(("8 kg", 0), ("5 kg", 0)),
        picked_by=(11, 25),
        bears_after=3.0,
    ),
    Kept(
        "kumquat-pot",
        "kumquat-nagami",
        (5, 4, 22),
        (
            'rootstock = "flying dragon"',
            'grows_in = { container = "60 L", medium = "loam-based" }',
            'height = "1.4 m"',
            'spread = ["1.1 m", "1.0 m"]',
            'skirt = "0.3 m"',
            'trunk_girth = "14 cm"',
        ),
        name="Kumquat by the steps",
        seen=(
            Seen("full bloom", 7, 6),
            Seen("harvest start", 2, 2, years_on=1, share=0.5, not_seen=(2,)),
        ),
        crops=(("4.5 kg", 0), ("3.8 kg", 0), ("2.6 kg", 0)),
        picked_by=(5, 15),
        done=(*_pot_feeds("balanced", "150 g", 1, 3, 4, 5, 10, 11), *_potful("7 kg")),
    ),
    Kept(
        "conference-fence",
        "conference",
        (9, 2, 20),
        (
            'rootstock = "quince A"',
            'height = "2.9 m"',
            'spread = ["2.4 m", "0.8 m"]',
            'skirt = "0.6 m"',
            'trunk_girth = "33 cm"',
            'shape = "espalier"                        # flat along the fence; else by its kind',
        ),
        lesson=("No dates of its own yet: all its stages rest on the calendar of its kind.",),
        name="Pear along the fence",
        crops=(("20 kg", 0), ("26 kg", 0), ("17 kg", 0)),
        picked_by=(9, 12),
        counts=((5, 16, 'fruit = 46, part = "25 %"'),),
        done=(*_fed("balanced", (3, 1, "450 g")), _cut(2, 12, "spurs thinned")),
    ),
)
