"""The head of the demonstration garden file: place, rules, shelters, shelf, a kind of its own."""

HEAD = """\
# Tern Steps: a demonstration garden. Everything here is INVENTED, the weather too.
#
# No such terrace, tree, crop, price or weather record exists. It was written for $TODAY to show
# what a garden file can say; copy what you need into a file of your own. As long as this file is
# untouched, a newer demonstration may take its place. Once you change it, it is yours and stays.
#
# How to write one:
# - A measure stands in quotes with its unit: "2.1 m", "7 ft", "18 cm", "10 lb", "45 L".
# - A date is written year-month-day without quotes: 2024-03-20.
# - Only [garden], [site] and, for each [[tree]], id, kind and planted are needed. The plan fills
#   the rest from its tables and says what it supposed.
# - What you add later sharpens the plan: a bloom date, the weight of a crop, a girth.
bearwell = 1                              # version of this format

[garden]
name = "Tern Steps"
units = "metric"                          # or "us": only how numbers are shown

[site]
latitude = 41.69                          # degrees; negative south of the equator
longitude = -8.83                         # degrees; negative west of Greenwich
elevation = "35 m"
timezone = "Europe/Lisbon"
soil = "sandy loam"                       # a texture class: a ball of it crumbles when poked
soil_test = { ph = 5.9, organic_matter = "2.4 %", p = { method = "mehlich-3", value = "31 ppm" } }
irrigation_water_ec = "0.4 dS/m"
colder_than_station = "1.0 K"             # how much colder than the station on clear nights

[weather]
daily = ["weather/tern-steps.csv"]        # beside this file; days after today count as a forecast

# A local rule that forbids nutrients on some days. The plan keeps to it and says what it moved.
[[no_feeding]]
from = "06-01"
to = "09-30"
nutrients = ["N", "P"]
reason = "summer fertilizer rule of the terrace"

# How you want feeding planned. late_rounds is "even" or "stop before frost": growers disagree, and the plan
# tells both sides. Rounds keep clear of forecast days of heavy rain.
[feeding]
late_rounds = "even"
heavy_rain = "25 mm"
rain_days = 2
# area_cap = "1 lb/1000ft2"               # where a rule limits nitrogen on the ground at once: kept to, in parts

# How you want cutting planned: citrus "after frost" (waits until nights that hurt are over) or "after harvest".
[pruning]
late_rounds = "after frost"
# How you water: the can you carry, and how much there is in a week (a cistern, a share of a well). When it
# does not suffice, the plan says who comes first. Drippers are written beside their tree.
[watering]
can = "10 L"
most_a_week = "6000 L"

# Days on which a local rule forbids watering, in a part of the year. Here pots are excepted.
[[no_watering]]
from = "07-01"
to = "08-31"
weekdays = ["tuesday", "thursday", "saturday"]
pots = false
reason = "summer watering days of the terrace"

# Clear calm nights of this terrace: air and dew point two hours after sunset, and the lowest after it. From six
# of them on the plan fits its own rule. An evening's reading says how tonight will go.
[cold]
nights = [
  { date = 2022-12-11, t0 = "5.8 degC", td = "1.0 degC", tmin = "0.3 degC" },
  { date = 2023-01-19, t0 = "3.9 degC", td = "-2.2 degC", tmin = "-1.6 degC" },
  { date = 2023-01-25, t0 = "4.6 degC", td = "-3.4 degC", tmin = "-1.9 degC" },
  { date = 2023-02-07, t0 = "6.7 degC", td = "0.4 degC", tmin = "0.6 degC" },
  { date = 2024-01-09, t0 = "2.8 degC", td = "-4.1 degC", tmin = "-2.8 degC" },
  { date = 2024-01-20, t0 = "4.1 degC", td = "-0.6 degC", tmin = "-1.2 degC" },
  { date = 2024-12-29, t0 = "5.1 degC", td = "-1.9 degC", tmin = "-0.7 degC" },
  { date = 2025-01-13, t0 = "3.3 degC", td = "-1.2 degC", tmin = "-1.5 degC" },
]$EVENING

# Structures that trees stand under or against in winter.
[[shelter]]
id = "north-hoop"
shape = "hoop"                            # hoop, box, gable or wall
length = "6 m"
width = "4 m"
height = "3.2 m"
cover = "single polyethylene film"
heater = "1000 W"                         # switched on by hand, when the plan asks for it
water = "400 L"                           # barrels that give back the warmth of the day
place = { east = "9.9 m", north = "9.9 m" }   # its middle, from the corner at the gate
lies = "90 deg"                           # its length runs east and west

[[shelter]]
id = "granite-wall"
shape = "wall"
length = "8 m"
height = "2.2 m"
cover = "wall only"
place = { east = "4.4 m", north = "12.6 m" }

# A kind of your own takes everything from its parent but what you state; low and high say how sure
# you are of it.
[kind.tern-early]
name = "'Tern Early' satsuma (invented)"
parent = "satsuma"
[kind.tern-early.facts]
bloom_to_ripe = { value = 175, low = 160, high = 190, unit = "d", note = "sweet before the cold" }
harvest_hold = { value = 30, low = 20, high = 40, unit = "d", note = "puffy if left longer" }
"""

SHELF = """\
# The shelf. The label is N-P2O5-K2O as printed on the bag, in percent of its mass. Weigh one level
# cup of each: then the plan can speak in cups.
[[product]]
id = "balanced"
name = "balanced organic granules"
label = "5-5-5"
release = "granular organic"
pack = "10 kg"
price = 18.50
on_hand = "7 kg"
cup_mass = "150 g"

[[product]]
id = "quick-meal"
name = "quick organic meal"
label = "12-1-1"
release = "quick organic meal"
pack = "5 kg"
price = 16.00
on_hand = "3.5 kg"
cup_mass = "130 g"

[[product]]
id = "pot-prills"
name = "controlled-release prills for pots"
label = "15-8-12"
release = "controlled release"
kept_for = ["calamondin-pot"]             # only for these: tree ids, kinds, groups, "pot" or "ground"
pack = "2 kg"
price = 24.00
on_hand = "1.4 kg"
at_most = "120 g"                         # what the label allows in one dose
cup_mass = "210 g"

[[product]]
id = "acid-mix"
name = "acid-forming granules for blueberries"
label = "9-3-6"
release = "granular mineral"
kept_for = ["blueberry"]
pack = "3 kg"
price = 11.00
on_hand = "1.2 kg"
cup_mass = "200 g"

[[product]]
id = "potash"
name = "sulfate of potash"
label = "0-0-50"
release = "granular mineral"
pack = "5 kg"
price = 12.50
on_hand = "4 kg"
cup_mass = "270 g"

# Compost frees so little nitrogen that it carries no round: it goes on as mulch, not as a feed.
[[product]]
id = "compost"
name = "garden compost"
label = "1-0.5-1"
release = "plant compost"
price = 0.00
on_hand = "60 kg"

# The trees. harvests, observed, counts and done are the diary: what came off, what was seen, what
# was counted, what was done. One line each; the plan learns from every one. Water is weighed like
# the rest: a litre is a kilogram.
"""
