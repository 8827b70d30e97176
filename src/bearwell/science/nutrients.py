"""Fertilizer arithmetic: labels, elements and masses."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from bearwell.science._arrays import above_zero, not_negative, share_of_one

# g mol-1, abridged standard atomic weights of IUPAC/CIAAW (Prohaska et al. 2022, table 2)
NITROGEN: Final = 14.007
OXYGEN: Final = 15.999
MAGNESIUM: Final = 24.305
PHOSPHORUS: Final = 30.974
POTASSIUM: Final = 39.098
CALCIUM: Final = 40.078

# Share of each oxide that is the element; stoichiometry
P_IN_P2O5: Final = 2.0 * PHOSPHORUS / (2.0 * PHOSPHORUS + 5.0 * OXYGEN)
K_IN_K2O: Final = 2.0 * POTASSIUM / (2.0 * POTASSIUM + OXYGEN)
CA_IN_CAO: Final = CALCIUM / (CALCIUM + OXYGEN)
MG_IN_MGO: Final = MAGNESIUM / (MAGNESIUM + OXYGEN)
N_IN_NO3: Final = NITROGEN / (NITROGEN + 3.0 * OXYGEN)


def phosphorus_from_p2o5(phosphate: float) -> float:
    """Mass of phosphorus in a mass of phosphate as labels state it.

    Parameters
    ----------
    phosphate : mass of P2O5 [g]

    Returns
    -------
    mass of phosphorus [g]

    Raises
    ------
    BadInput: when the mass is negative

    Valid for
    ---------
    labels that state P2O5

    Notes
    -----
    P2O5 times 2 P/(2 P + 5 O) = 0.4364.

    References
    ----------
    prohaska-2022, table 2
    """
    return not_negative(phosphate, "phosphate") * P_IN_P2O5


def p2o5_from_phosphorus(phosphorus: float) -> float:
    """Mass of phosphate, as labels state it, that holds a mass of phosphorus.

    Parameters
    ----------
    phosphorus : mass of phosphorus [g]

    Returns
    -------
    mass of P2O5 [g]

    Raises
    ------
    BadInput: when the mass is negative

    Valid for
    ---------
    labels that state P2O5

    Notes
    -----
    P times (2 P + 5 O)/(2 P) = 2.2914.

    References
    ----------
    prohaska-2022, table 2
    """
    return not_negative(phosphorus, "phosphorus") / P_IN_P2O5


def potassium_from_k2o(potash: float) -> float:
    """Mass of potassium in a mass of potash as labels state it.

    Parameters
    ----------
    potash : mass of K2O [g]

    Returns
    -------
    mass of potassium [g]

    Raises
    ------
    BadInput: when the mass is negative

    Valid for
    ---------
    labels that state K2O

    Notes
    -----
    K2O times 2 K/(2 K + O) = 0.8301.

    References
    ----------
    prohaska-2022, table 2
    """
    return not_negative(potash, "potash") * K_IN_K2O


def k2o_from_potassium(potassium: float) -> float:
    """Mass of potash, as labels state it, that holds a mass of potassium.

    Parameters
    ----------
    potassium : mass of potassium [g]

    Returns
    -------
    mass of K2O [g]

    Raises
    ------
    BadInput: when the mass is negative

    Valid for
    ---------
    labels that state K2O

    Notes
    -----
    K times (2 K + O)/(2 K) = 1.2046.

    References
    ----------
    prohaska-2022, table 2
    """
    return not_negative(potassium, "potassium") / K_IN_K2O


def calcium_from_cao(lime: float) -> float:
    """Mass of calcium in a mass of calcium oxide as labels state it.

    Parameters
    ----------
    lime : mass of CaO [g]

    Returns
    -------
    mass of calcium [g]

    Raises
    ------
    BadInput: when the mass is negative

    Valid for
    ---------
    labels that state CaO

    Notes
    -----
    CaO times Ca/(Ca + O) = 0.7147.

    References
    ----------
    prohaska-2022, table 2
    """
    return not_negative(lime, "calcium oxide") * CA_IN_CAO


def magnesium_from_mgo(magnesia: float) -> float:
    """Mass of magnesium in a mass of magnesium oxide as labels state it.

    Parameters
    ----------
    magnesia : mass of MgO [g]

    Returns
    -------
    mass of magnesium [g]

    Raises
    ------
    BadInput: when the mass is negative

    Valid for
    ---------
    labels that state MgO

    Notes
    -----
    MgO times Mg/(Mg + O) = 0.6030.

    References
    ----------
    prohaska-2022, table 2
    """
    return not_negative(magnesia, "magnesium oxide") * MG_IN_MGO


def nitrogen_from_nitrate(nitrate: float) -> float:
    """Mass of nitrogen in a mass of nitrate, as water reports state it.

    Parameters
    ----------
    nitrate : mass of NO3 [g]

    Returns
    -------
    mass of nitrogen [g]

    Raises
    ------
    BadInput: when the mass is negative

    Valid for
    ---------
    reports "as nitrate"; those "as nitrogen" need no change

    Notes
    -----
    NO3 times N/(N + 3 O) = 0.2259.

    References
    ----------
    prohaska-2022, table 2
    """
    return not_negative(nitrate, "nitrate") * N_IN_NO3


def product_mass_for_nutrient(nutrient: float, content: float) -> float:
    """Mass of a product that carries a wanted mass of a nutrient.

    Parameters
    ----------
    nutrient : mass wanted, in the form the label states [g]
    content : share of the product that is this nutrient, as the label states it [1]

    Returns
    -------
    mass of product [g]

    Raises
    ------
    BadInput: when the mass is negative or the content is not above 0 and up to 1

    Valid for
    ---------
    what the label guarantees; how much of it a tree can use this season is another matter

    Notes
    -----
    nutrient / content.

    References
    ----------
    common-practice
    """
    wanted = not_negative(nutrient, "nutrient")
    return wanted / above_zero(share_of_one(content, "content"), "content")


def nutrient_in_product(product: float, content: float) -> float:
    """Mass of a nutrient carried by a mass of product.

    Parameters
    ----------
    product : mass of product [g]
    content : share of the product that is this nutrient, as the label states it [1]

    Returns
    -------
    mass of the nutrient, in the form the label states [g]

    Raises
    ------
    BadInput: when the mass is negative or the content outside 0 to 1

    Valid for
    ---------
    what the label guarantees

    Notes
    -----
    product content.

    References
    ----------
    common-practice
    """
    return not_negative(product, "product") * share_of_one(content, "content")


def nutrients_supplied(product: float, label: Mapping[str, float]) -> dict[str, float]:
    """Elements carried by a mass of product, phosphate and potash turned into P and K.

    Parameters
    ----------
    product : mass of product [g]
    label : share of the product by the word on its label: N, P2O5, K2O, CaO, MgO or a symbol [1]

    Returns
    -------
    mass of each element by its symbol [g]

    Raises
    ------
    BadInput: when the mass is negative or a share outside 0 to 1

    Valid for
    ---------
    what the label guarantees

    Notes
    -----
    product share, times the element's part of the oxide.

    References
    ----------
    prohaska-2022, table 2
    """
    oxides = {
        "P2O5": ("P", phosphorus_from_p2o5),
        "K2O": ("K", potassium_from_k2o),
        "CaO": ("Ca", calcium_from_cao),
        "MgO": ("Mg", magnesium_from_mgo),
    }
    supplied: dict[str, float] = {}
    for word, share in label.items():
        mass = nutrient_in_product(product, share)
        if word in oxides:
            word, element_of = oxides[word]
            mass = element_of(mass)
        supplied[word] = supplied.get(word, 0.0) + mass
    return supplied


def nutrient_removed(fruit: float, content: float) -> float:
    """Mass of a nutrient carried away in a harvest.

    Parameters
    ----------
    fruit : fresh mass of fruit [g]
    content : mass of the nutrient in fresh fruit [g/kg]

    Returns
    -------
    mass of the nutrient [g]

    Raises
    ------
    BadInput: when a mass or content is negative

    Valid for
    ---------
    fresh fruit, whole

    Notes
    -----
    fruit content / 1000.

    References
    ----------
    common-practice
    """
    return not_negative(fruit, "fruit") * not_negative(content, "content") / 1000.0  # g to kg


def nutrients_removed(fruit: float, contents: Mapping[str, float]) -> dict[str, float]:
    """Mass of each nutrient carried away in a harvest.

    Parameters
    ----------
    fruit : fresh mass of fruit [g]
    contents : mass of each nutrient in fresh fruit, by its symbol [g/kg]

    Returns
    -------
    mass of each nutrient by its symbol [g]

    Raises
    ------
    BadInput: when a mass or content is negative

    Valid for
    ---------
    fresh fruit, whole

    Notes
    -----
    nutrient_removed for each.

    References
    ----------
    common-practice
    """
    return {name: nutrient_removed(fruit, content) for name, content in contents.items()}


def product_for_solution(concentration: float, content: float) -> float:
    """Mass of product in each litre of a feeding solution.

    Parameters
    ----------
    concentration : nutrient wanted in the solution [mg/L]
    content : share of the product that is this nutrient [1]

    Returns
    -------
    product in the solution [g/L]

    Raises
    ------
    BadInput: when the concentration is negative or the content is not above 0 and up to 1

    Valid for
    ---------
    products that dissolve completely

    Notes
    -----
    concentration / (1000 content).

    References
    ----------
    common-practice
    """
    wanted = not_negative(concentration, "concentration")
    return wanted / (1000.0 * above_zero(share_of_one(content, "content"), "content"))  # mg to g


def nutrient_to_apply(need: float, efficiency: float) -> float:
    """Mass of a nutrient to apply when only a share of it reaches the tree.

    Parameters
    ----------
    need : mass the tree must take up [g]
    efficiency : share of what is applied that the tree takes up [1]

    Returns
    -------
    mass to apply [g]

    Raises
    ------
    BadInput: when the need is negative or the efficiency is not above 0 and up to 1

    Valid for
    ---------
    a season's account

    Notes
    -----
    need / efficiency.

    References
    ----------
    common-practice
    """
    return not_negative(need, "need") / above_zero(share_of_one(efficiency, "share"), "efficiency")


def mass_balance_need(removed: float, growth: float, loss: float, efficiency: float) -> float:
    """Mass of a nutrient to apply in a year, by what the tree spends.

    Parameters
    ----------
    removed : carried away with fruit [g]
    growth : built into new canopy, wood and roots that stay [g]
    loss : lost from the tree otherwise: leaves shed and cuttings carried off [g]
    efficiency : share of what is applied that the tree takes up [1]

    Returns
    -------
    mass to apply [g]

    Raises
    ------
    BadInput: when a mass is negative or the efficiency is not above 0 and up to 1

    Valid for
    ---------
    a whole year of a tree whose reserve ends as it began; what the soil itself supplies is not taken off

    Notes
    -----
    (removed + growth + loss) / efficiency.

    References
    ----------
    common-practice
    """
    spent = not_negative(removed, "removed") + not_negative(growth, "growth")
    return nutrient_to_apply(spent + not_negative(loss, "loss"), efficiency)


def product_for_liquid_feed(concentration: float, volume: float, content: float) -> float:
    """Mass of product for a volume of feeding solution.

    Parameters
    ----------
    concentration : nutrient wanted in the solution, as the label states it [mg/L]
    volume : solution to make [L]
    content : share of the product that is this nutrient [1]

    Returns
    -------
    mass of product [g]

    Raises
    ------
    BadInput: when the concentration or volume is negative or the content is not above 0 and up to 1

    Valid for
    ---------
    products that dissolve completely; in thin solutions a part per million is a milligram in a litre

    Notes
    -----
    concentration volume / (1000 content).

    References
    ----------
    common-practice
    """
    return product_for_solution(concentration, content) * not_negative(volume, "volume")


def solution_concentration(product: float, volume: float, content: float) -> float:
    """Concentration of a nutrient in a feeding solution.

    Parameters
    ----------
    product : mass of product dissolved [g]
    volume : solution made of it [L]
    content : share of the product that is this nutrient [1]

    Returns
    -------
    concentration, the same number as parts per million [mg/L]

    Raises
    ------
    BadInput: when the mass is negative, the volume is not more than zero or the content outside 0 to 1

    Valid for
    ---------
    products that dissolve completely

    Notes
    -----
    1000 product content / volume.

    References
    ----------
    common-practice
    """
    return 1000.0 * nutrient_in_product(product, content) / above_zero(volume, "volume")  # g to mg


def soil_nutrient_mass(content: float, depth: float, bulk_density: float) -> float:
    """Mass of a nutrient under each square metre, from a soil test in parts per million.

    Parameters
    ----------
    content : nutrient in the dry soil [mg/kg]
    depth : depth of the layer sampled [m]
    bulk_density : dry mass of a volume of soil [g/L]

    Returns
    -------
    mass in the layer [g m-2]

    Raises
    ------
    BadInput: when an input is negative

    Valid for
    ---------
    what the extraction found, which is an index and not all that the soil holds

    Notes
    -----
    content depth density / 1000; a gram in a litre is a kilogram in a cubic metre.

    References
    ----------
    definition
    """
    soil = not_negative(depth, "depth") * not_negative(bulk_density, "bulk density")
    return not_negative(content, "content") * soil / 1000.0  # mg to g
