"""Lime and sulfur: how much a soil needs by a table over its present pH, and how it is split."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import Floats, above_zero, not_negative, series, share_of_one
from bearwell.science.nutrients import CALCIUM, OXYGEN

# g mol-1, abridged standard atomic weights of IUPAC/CIAAW (Prohaska et al. 2022, table 2)
CARBON: Final = 12.011
SULFUR: Final = 32.06

# Mass of sulfur whose acid dissolves a mass of calcium carbonate: one to one by moles
S_FOR_CACO3: Final = SULFUR / (CALCIUM + CARBON + 3.0 * OXYGEN)


def _table(
    table_ph: ArrayLike, table_mass: ArrayLike, table_target: float
) -> tuple[Floats, Floats]:
    """Table in rising order of pH, with nothing needed at its target."""
    ph, mass = series(table_ph, "pH of the table"), series(table_mass, "mass of the table")
    if ph.shape != mass.shape or ph.size == 0:
        raise BadInput("a table needs one mass for each pH, and at least one")
    if np.any(np.isnan(ph)) or np.any(np.isnan(mass)) or np.any(mass < 0.0):
        raise BadInput("a table holds masses of zero or more, none missing")
    if table_target not in ph:
        ph, mass = np.append(ph, table_target), np.append(mass, 0.0)
    order = np.argsort(ph)
    ph, mass = ph[order], mass[order]
    if np.any(np.diff(ph) <= 0.0):
        raise BadInput("a table states each pH once")
    return ph, mass


def _between(start: float, target: float, ph: Floats, mass: Floats, word: str) -> float:
    """Need from one pH to another: the difference of the needs to the table's own target."""
    for value, sentence in (
        (start, "the present pH {value:g} is outside the table of {what}, {low:g} to {high:g}"),
        (target, "the wanted pH {value:g} is outside the table of {what}, {low:g} to {high:g}"),
    ):
        if not float(ph[0]) <= value <= float(ph[-1]):
            raise BadInput(
                said(sentence, value=value, what=said(word), low=float(ph[0]), high=float(ph[-1])),
                "have a laboratory work out the need from a buffer pH",
            )
    need = float(np.interp(start, ph, mass)) - float(np.interp(target, ph, mass))
    return max(need, 0.0)


def lime_requirement_table(
    start_ph: float,
    target_ph: float,
    table_ph: ArrayLike,
    table_mass: ArrayLike,
    table_target: float,
) -> float:
    """Ground limestone to raise the pH of a soil, from a table for its texture.

    Parameters
    ----------
    start_ph : present pH of the soil, in water [pH]
    target_ph : pH wanted [pH]
    table_ph : present pH of each row of the table, shape (n,) [pH]
    table_mass : limestone to the table's target from each of them, shape (n,) [g m-2]
    table_target : pH the table leads to [pH]

    Returns
    -------
    ground limestone of full neutralising value; 0 when the soil is there already [g m-2]

    Raises
    ------
    BadInput: when a pH is outside the table or the table is not in order

    Valid for
    ---------
    what the table is for: a texture class and a depth; a laboratory's buffer pH comes first

    Notes
    -----
    Straight lines between the rows, nothing at the target; to a lower target the need from there on
    is taken off.

    References
    ----------
    common-practice
    """
    ph, mass = _table(table_ph, table_mass, table_target)
    if float(ph[-1]) > table_target:
        raise BadInput("a table of lime ends at its target")
    if start_ph >= target_ph and float(ph[0]) <= target_ph <= table_target:
        return 0.0
    return _between(start_ph, target_ph, ph, mass, said("lime"))


def sulfur_requirement_table(
    start_ph: float,
    target_ph: float,
    table_ph: ArrayLike,
    table_mass: ArrayLike,
    table_target: float,
) -> float:
    """Elemental sulfur to lower the pH of a soil, from a table for its texture.

    Parameters
    ----------
    start_ph : present pH of the soil, in water [pH]
    target_ph : pH wanted [pH]
    table_ph : present pH of each row of the table, shape (n,) [pH]
    table_mass : sulfur to the table's target from each of them, shape (n,) [g m-2]
    table_target : pH the table leads to [pH]

    Returns
    -------
    elemental sulfur; 0 when the soil is there already [g m-2]

    Raises
    ------
    BadInput: when a pH is outside the table or the table is not in order

    Valid for
    ---------
    what the table is for: a texture class and a depth; a soil without free lime

    Notes
    -----
    Straight lines between the rows, nothing at the target; to a higher target the need from there on
    is taken off.

    References
    ----------
    common-practice
    """
    ph, mass = _table(table_ph, table_mass, table_target)
    if float(ph[0]) < table_target:
        raise BadInput("a table of sulfur begins at its target")
    if start_ph <= target_ph and table_target <= target_ph <= float(ph[-1]):
        return 0.0
    return _between(start_ph, target_ph, ph, mass, said("sulfur"))


def liming_material(limestone: float, neutralising_value: float) -> float:
    """Mass of a liming material that does the work of pure ground limestone.

    Parameters
    ----------
    limestone : pure ground limestone wanted [g]
    neutralising_value : calcium carbonate equivalent of the material, 1 for pure limestone [1]

    Returns
    -------
    mass of the material [g]

    Raises
    ------
    BadInput: when the mass is negative or the equivalent is not more than zero or above 2

    Valid for
    ---------
    material ground as fine; magnesium oxide comes to about 2.5 and is refused with other slips above 2

    Notes
    -----
    limestone / CCE.

    References
    ----------
    psu-home-garden-lime, correction by calcium carbonate equivalent
    """
    value = above_zero(neutralising_value, "calcium carbonate equivalent")
    if value > 2.0:
        raise BadInput(
            said("a calcium carbonate equivalent of {value:g} is not plausible", value=value),
            "1 is 100 %",
        )
    return not_negative(limestone, "limestone") / value


def sulfur_for_free_lime(lime_share: float, depth: float, bulk_density: float) -> float:
    """Sulfur that only dissolves the free lime of a layer, before its pH begins to fall.

    Parameters
    ----------
    lime_share : calcium carbonate in the dry soil, by mass [1]
    depth : depth of the layer [m]
    bulk_density : dry mass of a volume of soil [g/L]

    Returns
    -------
    elemental sulfur [g m-2]

    Raises
    ------
    BadInput: when the share is outside 0 to 1, or the depth or density is negative

    Valid for
    ---------
    sulfur wholly turned into acid

    Notes
    -----
    S + 3/2 O2 + H2O = H2SO4, H2SO4 + CaCO3 = CaSO4 + H2O + CO2: 32.06 g of sulfur for 100.09 g. One
    cubic metre is 1000 L.

    References
    ----------
    prohaska-2022, table 2
    """
    soil = not_negative(depth, "depth") * 1000.0 * not_negative(bulk_density, "bulk density")
    return share_of_one(lime_share, "share of lime") * soil * S_FOR_CACO3


def doses_of_at_most(total: float, at_most: float, most_doses: int | None = None) -> int:
    """Number of equal doses that a total is split into.

    Parameters
    ----------
    total : everything to be given [g m-2]
    at_most : most in one dose [g m-2]
    most_doses : no more doses than this, however large they get; no limit if left out [count]

    Returns
    -------
    number of doses, 0 when nothing is to be given [count]

    Raises
    ------
    BadInput: when the total is negative, or the most in a dose or the number is not more than zero

    Valid for
    ---------
    lime and sulfur; the wait between doses is a matter of its own

    Notes
    -----
    total / at_most, rounded up; a billionth over the limit does not ask for one more.

    References
    ----------
    psu-home-garden-lime, two doses above 10 lb and three above 20 lb on 100 square feet
    """
    whole = not_negative(total, "total") / above_zero(at_most, "most in a dose")
    if most_doses is not None and most_doses < 1:
        raise BadInput(said("{count} doses cannot be given", count=most_doses))
    doses = max(math.ceil(whole - 1e-9), 1 if total > 0.0 else 0)
    return doses if most_doses is None else min(doses, most_doses)


def equivalent_lime(product: float, lime_per_product: float) -> float:
    """Pure limestone with the same effect on the soil's pH as a mass of fertilizer.

    Parameters
    ----------
    product : mass of product [g]
    lime_per_product : limestone each unit of mass is worth; negative for one that makes acid [1]

    Returns
    -------
    mass of calcium carbonate: added when positive, needed to undo the acid when negative [g]

    Raises
    ------
    BadInput: when the mass is negative or the worth of a product is beyond 3 either way

    Valid for
    ---------
    all of the nitrogen turned to nitrate and taken up or washed out

    Notes
    -----
    product times worth. Tables print pounds for 100 pounds: ammonium sulfate -110, so -1.10.

    References
    ----------
    auburn-anr-174, lime equivalent of materials
    """
    if not abs(lime_per_product) <= 3.0:
        raise BadInput(
            said(
                "{times:g} times its mass in limestone is not plausible for a fertilizer",
                times=lime_per_product,
            ),
            "tables print pounds for 100 pounds: divide by 100",
        )
    return not_negative(product, "product") * lime_per_product
