"""Gold by carat and colour, and gold-filled, each one record.

Of carat golds a yield strength was found for one alloy alone, soft yellow gold of 14 carat; a trial
ring takes its place for the others. Makers' alloys of one carat and colour differ: their own
density goes before the one here.
"""

from __future__ import annotations

import math

from ringwright.metals.annealing import (
    FINE_GOLD,
    GOLD,
    GOLD_FILLED,
    NICKEL_WHITE_GOLD,
    RED_GOLD,
)
from ringwright.metals.copper_alloys import (
    BRASS_G_PER_CM3,
    BRASS_MODULUS_MPA,
    BRASS_SHEET,
    BRASS_TEMPERS,
    ZINC,
)
from ringwright.metals.metal import ALLOYED, DEBURR_SKIN, NOMINAL, NONE, TRACES, Metal, Surface
from ringwright.metals.temper import Strength, Temper, wire_temper

_YELLOW_14K_G_PER_CM3 = 13.07
# One part in twenty by weight is gold of 14 carat; volumes add up.
_GOLD_FILLED_G_PER_CM3 = 1.0 / (0.05 / _YELLOW_14K_G_PER_CM3 + 0.95 / BRASS_G_PER_CM3)

_GOST = "GOST 30649-99, {}"
_GOST_TABLE = "{} of GOST 30649-99, as evek.biz and its sister sites list it"
_ADDED_UP = (
    "computed from its composition, volumes added up; 24carat.co.uk gives {} for golds of its kind"
)
_WOLDMAN = "Woldman and Gibbons, Engineering Alloys, as told by timezone.com"
_WHITE = (
    "White gold is often plated with rhodium: the plating wears off where rings rub, and the "
    "skin then meets the alloy."
)
# Proof stress 315, tensile strength 525 of an alloy with 305 parts of silver.
_SOFT_14K = Temper(
    "soft",
    "about the figures of bruno-welz.de, 585/ Gelbgoldlegierung, and a quarter either way, as "
    "makers' alloys differ (no source)",
    ((math.inf, Strength((235.0, 395.0), (420.0, 630.0))),),
)
_GOLD_MODULUS_MPA = 95_000.0
_GOLD_MODULUS = "alloys of gold, silver and copper for dentistry, 90 to 100 GPa, from memory"


def _carat_gold(
    carat: int,
    fineness: int,
    colour: str,
    alloy: tuple[tuple[str, float], ...],
    alloy_source: str,
    density: float,
    density_source: str,
    look: tuple[float, float, float],
    *,
    by: str = "",
    nickel: str = NONE,
    beware: str = "",
    tempers: tuple[Temper, ...] = (),
) -> Metal:
    """A gold of a carat and a colour, with the ways in which both are said.

    Parameters
    ----------
    by : what makes it white, where there are several such golds
    """
    carats = [f"{carat} ct", f"{carat} carat", f"{carat} karat", f"{carat}k", f"{carat}kt"]
    marks = [*carats, str(fineness)]
    hues = [colour, "red", "pink"] if colour == "rose" else [colour]
    whole = [f"{mark} {by}{hue} gold" for mark in marks for hue in hues]
    whole += [f"{mark} {by}{hue}" for mark in marks for hue in hues]
    loosely = ["gold", *carats, *(f"{mark} gold" for mark in marks)]
    loosely += [f"{hue} gold" for hue in hues]
    if by:
        loosely += [f"{by}{colour} gold", *(f"{mark} {colour} gold" for mark in marks)]
        loosely += [f"{mark} {colour}" for mark in marks]
    if colour == "rose":
        annealing = RED_GOLD
    elif nickel == ALLOYED:
        annealing = NICKEL_WHITE_GOLD
    else:
        annealing = GOLD
    return Metal(
        name=whole[0],
        also=tuple(whole[1:]),
        loosely=tuple(loosely),
        alloy=alloy,
        alloy_source=alloy_source,
        density_g_per_cm3=density,
        density_source=density_source,
        surface=Surface(look),
        tempers=tempers,
        youngs_modulus_mpa=_GOLD_MODULUS_MPA if tempers else None,
        modulus_source=_GOLD_MODULUS if tempers else "",
        nickel=nickel,
        beware=beware,
        annealing=annealing,
    )


GOLDS: tuple[Metal, ...] = (
    _carat_gold(
        9,
        375,
        "yellow",
        (("Cu", 45.0), ("Au", 37.5), ("Ag", 10.0), ("Zn", 7.5)),
        "a usual composition, from memory; makers' alloys vary",
        11.15,
        _ADDED_UP.format("10.9 to 12.7"),
        (0.87, 0.75, 0.50),
    ),
    _carat_gold(
        9,
        375,
        "rose",
        (("Cu", 60.5), ("Au", 37.5), ("Ag", 2.0)),
        _GOST.format("alloy 375-20"),
        11.26,
        _ADDED_UP.format("10.9 to 12.7"),
        (0.86, 0.58, 0.45),
    ),
    _carat_gold(
        10,
        417,
        "yellow",
        (("Au", 41.7), ("Cu", 41.0), ("Ag", 12.0), ("Zn", 5.3)),
        "a usual composition, from memory; makers' alloys vary",
        11.6,
        "calculatorfriend.com, gold of 10 carat",
        (0.88, 0.75, 0.48),
    ),
    _carat_gold(
        10,
        417,
        "rose",
        (("Cu", 55.5), ("Au", 41.7), ("Ag", 2.8)),
        "copper with a little silver, from memory; makers' alloys vary",
        11.59,
        "reference.com, red gold of 10 carat",
        (0.87, 0.59, 0.46),
    ),
    _carat_gold(
        14,
        585,
        "yellow",
        (("Au", 58.5), ("Cu", 21.5), ("Ag", 20.0)),
        _GOST.format("alloy 585-200"),
        13.60,
        f"{_GOST_TABLE.format('alloy 585-200')}; with zinc in it 13.1, from memory",
        (0.91, 0.75, 0.42),
        tempers=(_SOFT_14K,),
    ),
    _carat_gold(
        14,
        585,
        "rose",
        (("Au", 58.5), ("Cu", 33.5), ("Ag", 8.0)),
        _GOST.format("alloy 585-80"),
        13.24,
        _GOST_TABLE.format("alloy 585-80"),
        (0.88, 0.60, 0.48),
    ),
    _carat_gold(
        14,
        585,
        "white",
        (("Au", 59.0), ("Cu", 25.5), ("Ni", 12.3), ("Zn", 3.2)),
        _WOLDMAN,
        12.93,
        _ADDED_UP.format("12.9 to 14.6"),
        (0.83, 0.81, 0.76),
        by="nickel ",
        nickel=ALLOYED,
        beware=_WHITE,
    ),
    _carat_gold(
        14,
        585,
        "white",
        (("Au", 58.5), ("Ag", 25.5), ("Pd", 16.0)),
        _GOST.format("alloy 585-255-160"),
        14.73,
        _ADDED_UP.format("12.9 to 14.6"),
        (0.80, 0.78, 0.74),
        by="palladium ",
        nickel=TRACES,
        beware=_WHITE,
    ),
    _carat_gold(
        18,
        750,
        "yellow",
        (("Au", 75.0), ("Ag", 12.5), ("Cu", 12.5)),
        _GOST.format("alloy 750-125"),
        15.45,
        _GOST_TABLE.format("alloy 750-125"),
        (0.93, 0.75, 0.35),
    ),
    _carat_gold(
        18,
        750,
        "rose",
        (("Au", 75.0), ("Cu", 22.5), ("Ag", 2.5)),
        "renato.design, 18k Rose Gold",
        15.30,
        "renato.design, 18k Rose Gold",
        (0.89, 0.62, 0.50),
    ),
    _carat_gold(
        18,
        750,
        "white",
        (("Au", 75.0), ("Ni", 17.3), ("Zn", 5.5), ("Cu", 2.2)),
        "allaboutthechemistry.blogspot.com, white gold of 18 carat",
        14.62,
        _ADDED_UP.format("14.7 to 16.9"),
        (0.84, 0.82, 0.77),
        by="nickel ",
        nickel=ALLOYED,
        beware=_WHITE,
    ),
    _carat_gold(
        18,
        750,
        "white",
        (("Au", 75.0), ("Pd", 15.0), ("Ag", 10.0)),
        "renato.design, 18k White Gold (Palladium-Whitened)",
        16.1,
        "renato.design, 18k White Gold (Palladium-Whitened)",
        (0.81, 0.79, 0.75),
        by="palladium ",
        nickel=TRACES,
        beware=_WHITE,
    ),
    Metal(
        name="fine gold",
        also=("24 ct gold", "24 carat gold", "24k gold", "24 karat gold", "pure gold", "999 gold"),
        loosely=("gold", "yellow gold"),
        alloy=(("Au", 99.9),),
        alloy_source=NOMINAL,
        density_g_per_cm3=19.32,
        density_source="shelbygemfactory.com, Gold Alloys: specific gravity of gold",
        surface=Surface((0.97, 0.74, 0.26)),
        youngs_modulus_mpa=79_000.0,
        modulus_source="totalmateria.com, Gold and Gold Alloys",
        tempers=(
            wire_temper("soft", "fine gold wire, from memory, rough", (math.inf, 100.0, 140.0)),
            wire_temper("hard", "fine gold wire, from memory, rough", (math.inf, 200.0, 260.0)),
        ),
        annealing=FINE_GOLD,
    ),
    Metal(
        name="gold-filled",
        also=("gold filled", "14/20 gold-filled", "14k gold-filled"),
        loosely=("gold",),
        alloy=(),
        alloy_source="a skin of 14 carat gold on a core of brass, which is no one alloy",
        density_g_per_cm3=round(_GOLD_FILLED_G_PER_CM3, 2),
        density_source="computed: one part in twenty by weight of 14 carat gold (the least that US "
        "16 CFR part 23 lets be called so, from memory; 13.07 g/cm3, from memory) on brass of 8.53 "
        "g/cm3",
        surface=Surface((0.91, 0.76, 0.42)),
        youngs_modulus_mpa=BRASS_MODULUS_MPA,
        modulus_source=f"that of its core: {BRASS_SHEET}",
        tempers=BRASS_TEMPERS,
        lead=TRACES,
        beware="The gold is a thin skin: filing, long tumbling and heating lay the brass bare. "
        + ZINC,
        annealing=GOLD_FILLED,
        deburr=DEBURR_SKIN,
    ),
)
