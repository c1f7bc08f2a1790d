"""The shop file to start from: every table once, with remarks that say what it is for."""

import textwrap

from ringwright.base import defaults
from ringwright.making.shop.shop import USUAL_PACE_S
from ringwright.metals.all_metals import METALS
from ringwright.metals.temper import TEMPERS

# A space that no line is broken at, so that names stay whole.
_FIRM = "\N{NO-BREAK SPACE}"
_NAMES = ", ".join(metal.name.replace(" ", _FIRM) for metal in METALS)
_METALS = textwrap.fill(
    f"One table for each wire. Metals: {_NAMES}; or one of your own, see{_FIRM}[[metal]].",
    86,
    initial_indent="# ",
    subsequent_indent="# ",
).replace(_FIRM, " ")
_BED = ", ".join(f'"{defaults.typed(side)}"' for side in defaults.BED_MM)

STARTING_SHOP = f"""\
# What is on your shelf, for `ringwright match` and the cutting plan.
# Change, add or delete tables as you like: every one of them may be left out.
# Lengths carry their unit and stand in quotes: "0.9mm", "3/16in", "18awg", "18swg".
# Prices are plain numbers in the currency named under [rates].

# --- wire ----------------------------------------------------------------------------
{_METALS}
# Tempers: {", ".join(TEMPERS)} (not every metal has all).
# For a metal whose strength is not listed, e.g. carat gold, a trial ring gives the springback.
# The price is price_per_kg or price_per_m; without one, that of the [[metal]] is taken.

[[wire]]
name = "copper 0.9"
size = "0.9mm"
metal = "copper"
temper = "soft"
price_per_kg = 25.0

[[wire]]
name = "silver 20 AWG"
size = "20awg"
metal = "sterling silver"
temper = "half hard"

# --- prices by metal, and metals of your own -------------------------------------------

[[metal]]
name = "sterling silver"
price_per_kg = 1100.0

# [[metal]]
# name = "my bronze"
# density_g_per_cm3 = 8.8
# youngs_modulus_mpa = 110000
# tempers = [{{ name = "soft", yield_mpa = 120, tensile_mpa = 300 }}]
# nickel = "none"     # or "traces" or "alloyed"
# lead = "none"
# price_per_kg = 30.0

# --- mandrels ------------------------------------------------------------------------
# What you wind on: measure them, a "3 mm" rod is rarely 3.00 mm.

[[mandrel]]
size = "2.5mm"

[[mandrel]]
size = "3mm"

[[mandrel]]
size = "3.5mm"

[[mandrel]]
name = "knitting needle"
size = "1/8in"

# --- rings bought ready cut ------------------------------------------------------------
# Give inner or outer, whichever the seller states.

[[stock_ring]]
name = "bright rings"
wire = "18swg"
inner = "3/16in"
metal = "aluminium 5356"
price_per_100 = 2.5
colour = "bright"
# Sold by the pack: pack_of = 250, with price_per_pack = 6.0 in place of price_per_100.

# --- how rings are cut -----------------------------------------------------------------
# The width of the saw cut. Delete this table if you cut with shears or cutters.

[saw]
kerf = "{defaults.typed(defaults.KERF_MM)}"
coil = "{defaults.typed(defaults.COIL_MM)}"      # the longest coil you wind at a time

# --- trial rings -----------------------------------------------------------------------
# Wind a few turns of a wire, let go and measure inside: the springback of that spool is then
# taken from your rings, not from a standard. One [[trial]] table for each; two or three from
# unlike mandrels are surer. A new spool is a new [[wire]] and wants trials of its own.
# measured is "coil" (before any cut), "sawn ring" or "sheared ring" (closed).

# [[trial]]
# wire = "copper 0.9"
# mandrel = "3mm"
# inner = "3.06mm"
# measured = "coil"

# How far the reading of your caliper may be off.
[caliper]
error = "{defaults.typed(defaults.CALIPER_MM)}"

# --- printer, money, time --------------------------------------------------------------

[printer]
bed = [{_BED}]
nozzle = "{defaults.typed(defaults.NOZZLE_MM)}"
layer_height = "{defaults.typed(defaults.LAYER_MM)}"
clearance = "{defaults.typed(defaults.CLEARANCE_MM)}"

# overhead is a share of material, clasp and work, for rent, tools, power and fees; markup is the
# wholesale price over the cost, retail the retail price over the wholesale price.
[rates]
currency = "EUR"
per_hour = 20.0
overhead = "10%"
markup = 1.5
retail = 2.0

# Your own seconds for one ring; time yourself over twenty.
[pace]
wind = "1s"
cut = "3s"
open = "5s"
close = "6s"
weave = "20s"
# These have usual times (common practice, no source) until you give your own: deburr and sort
# for one ring, setup for one wire on one mandrel, tumble for what you stand by of one load,
# clasp and pack for one piece.
# setup = "{USUAL_PACE_S["setup"] / 60.0:g}min"
# deburr = "{USUAL_PACE_S["deburr"]:g}s"
# tumble = "{USUAL_PACE_S["tumble"] / 60.0:g}min"
# sort = "{USUAL_PACE_S["sort"]:g}s"
# clasp = "{USUAL_PACE_S["clasp"] / 60.0:g}min"
# pack = "{USUAL_PACE_S["pack"] / 60.0:g}min"
"""
