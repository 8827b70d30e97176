"""What reckoners, their results and their units are called in words."""

from __future__ import annotations

from bearwell.faces.language import N_

TITLES = {
    "daylight": N_("Daylight"),
    "humidity": N_("Humidity"),
    "reference-et": N_("Reference evapotranspiration"),
    "chill": N_("Chill"),
    "tree-water": N_("Tree water"),
    "soil-water": N_("Soil water"),
    "bloom-skill": N_("Bloom skill"),
    "night": N_("Night"),
    "night-minimum": N_("Night minimum"),
    "bud-damage": N_("Bud damage"),
    "freeze-risk": N_("Freeze risk"),
    "shelter": N_("Shelter"),
    "dose": N_("Dose"),
    "removal": N_("Removal"),
    "canopy": N_("Canopy"),
    "bearing": N_("Bearing"),
    "branch-count": N_("Branch count"),
    "crop-target": N_("Crop target"),
    "limb": N_("Limb"),
    "liquid-feed": N_("Liquid feed"),
    "release": N_("Release"),
    "salt": N_("Salt"),
    "leaching": N_("Leaching"),
    "lime": N_("Lime"),
}
# Results whose names are signs rather than words.
SIGNS = {
    "et0": N_("reference evapotranspiration"),
    "ra": N_("sun above the air"),
    "rs": N_("sun on the ground"),
    "rn": N_("net radiation"),
    "n": N_("nitrogen, N"),
    "p2o5": N_("phosphate, P₂O₅"),
    "k2o": N_("potash, K₂O"),
    "p": N_("phosphorus, P"),
    "k": N_("potassium, K"),
    "gdh": N_("growing degree hours"),
    "n low": N_("nitrogen, N, at least"),
    "n high": N_("nitrogen, N, at most"),
    "p low": N_("phosphorus, P, at least"),
    "p high": N_("phosphorus, P, at most"),
    "k low": N_("potassium, K, at least"),
    "k high": N_("potassium, K, at most"),
    "t10": N_("coldest night in 10 winters"),
    "t20": N_("coldest night in 20 winters"),
    "t50": N_("coldest night in 50 winters"),
    "day length fao56": N_("day length by FAO-56"),
}
# Results whose names are words, without their units.
NAMES = (
    N_("after height"), N_("after spread across"), N_("after spread along"), N_("after volume"), N_("also"),
    N_("apart"), N_("base"), N_("bienniality"), N_("ca high"), N_("ca low"), N_("canopy area m2"), N_("curve"),
    N_("day length"), N_("degree hours below"), N_("detrended intensity"), N_("dew point"), N_("dose"), N_("doses"),
    N_("ending"), N_("estimate"), N_("expected by chance"), N_("failure chance"), N_("folds by mean date"),
    N_("fraction"), N_("free lime sulfur"), N_("from day"), N_("frost point"), N_("fruit best"), N_("fruit high"),
    N_("fruit low"), N_("heat share"), N_("heat sum cd"), N_("high"), N_("hours below"), N_("hours"),
    N_("intensity"), N_("intercept"), N_("kind"), N_("litres per day"), N_("location"), N_("low"), N_("mass high"),
    N_("mass low"), N_("mass"), N_("material"), N_("method"), N_("mg high"), N_("mg low"), N_("nutrient"),
    N_("over"), N_("p value"), N_("per litre"), N_("per m2"), N_("portions"), N_("positive utah"), N_("predicted"),
    N_("probability"), N_("product"), N_("readily"), N_("relative yield"), N_("requirement"), N_("rmse heat sum"),
    N_("rmse kind"), N_("rmse mean date"), N_("rmse"), N_("rule"), N_("rules"), N_("safe load"), N_("scale"),
    N_("seasons"), N_("set"), N_("sets"), N_("short"), N_("slope t"), N_("slope td"), N_("standard error"),
    N_("stress"), N_("supplied"), N_("t10 high"), N_("t10 low"), N_("t20 high"), N_("t20 low"), N_("t50 high"),
    N_("t50 low"), N_("total"), N_("use"), N_("utah"), N_("vapour pressure"), N_("verdict"), N_("volume"),
    N_("walks for an error of a tenth"), N_("wanted"), N_("wants"), N_("water factor"), N_("watts"), N_("wet bulb"),
    N_("working stress"), N_("yield"),
)  # fmt: skip
# The unit an option is taken in, where it is not written as it is.
UNITS = {
    "deg": N_("degrees"), "degC": "°C", "%": "%", "m s-1": "m/s", "MJ m-2 d-1": N_("MJ/m² a day"), "m2": "m²",
    "m3": "m³", "h": N_("hours"), "date": "", "text": "", "kind": "", "list": "", "file": "",
    "month-day": N_("month-day"), "mm d-1": N_("mm a day"), "d": N_("days"), "K": N_("°C difference"),
    "m3/m3": N_("share"), "1": "", "yr": N_("years"), "h-1": N_("times an hour"),
    "W m-2 K-1": N_("W/m² per °C"),
}  # fmt: skip
# The unit a result's name ends in, as people write it and as the table of units knows it.
SUFFIXES = {
    "_mpa": ("MPa", "MPa"), "_pct": ("%", ""), "_kpa": ("kPa", "kPa"), "_mm": ("mm", "mm"),
    "_mj": (N_("MJ/m² a day"), ""), "_m3": ("m³", "m3"), "_c": ("°C", "degC"), "_kg": ("kg", "kg"), "_g": ("g", "g"),
    "_m": ("m", "m"), "_h": (N_("hours"), ""), "_d": (N_("days"), ""),
}  # fmt: skip
