"""Aluminium, steel, titanium and niobium, each one record."""

from __future__ import annotations

import math

from ringwright.metals.annealing import (
    ALUMINIUM,
    GALVANISED,
    REACTIVE,
    SPRING_STEEL,
    STAINLESS,
)
from ringwright.metals.metal import (
    ALLOYED,
    ASM_1,
    ASM_2,
    DEBURR_SKIN,
    DEBURR_WET,
    NOMINAL,
    TRACES,
    UNLOADING_STAINLESS,
    Metal,
    Surface,
)
from ringwright.metals.temper import Temper, tempers_of, wire_temper

_JIS_H4040 = "JIS H 4040 for drawn wire, as h2abc.com lists it; the most from memory"
_SOFT_STAINLESS = wire_temper(
    "soft",
    "JIS G 4309, wire W1, from memory",
    (0.16, 730.0, 980.0),
    (0.5, 680.0, 930.0),
    (1.6, 650.0, 900.0),
    (5.0, 610.0, 860.0),
    (math.inf, 520.0, 790.0),
)
_QUARTER_HARD_STAINLESS = wire_temper(
    "quarter hard",
    "JIS G 4309, wire W2, from memory",
    (1.6, 780.0, 1130.0),
    (math.inf, 740.0, 1080.0),
)
# No standard of wire says what half hard is.
_MILLS = "as wire mills draw it, about 150 to 190 ksi, from memory; strip of that name is weaker"
_STAINLESS_WIRE: tuple[Temper, ...] = (
    _SOFT_STAINLESS,
    _QUARTER_HARD_STAINLESS,
    wire_temper(
        "half hard", _MILLS, (0.7, 1100.0, 1400.0), (1.6, 1050.0, 1350.0), (math.inf, 950.0, 1250.0)
    ),
    wire_temper(
        "hard",
        "JIS G 4314, wire WPA, as dashangmesh.com lists it up to 0.7 mm, thicker from memory",
        (0.4, 1600.0, 1850.0),
        (0.7, 1530.0, 1780.0),
        (1.0, 1500.0, 1750.0),
        (1.6, 1400.0, 1650.0),
        (math.inf, 1300.0, 1550.0),
    ),
    wire_temper(
        "spring hard",
        "ASTM A313 for 302 and 304, as interwiregroup.com lists it up to 2 mm, thicker from memory",
        (0.508, 2068.0, 2275.0),
        (0.787, 1965.0, 2172.0),
        (1.041, 1896.0, 2096.0),
        (1.27, 1841.0, 2034.0),
        (1.6, 1779.0, 1965.0),
        (2.04, 1696.0, 1896.0),
        (math.inf, 1500.0, 1800.0),
    ),
)
_ROUGH = "as drawn, from memory, rough"
_TITANIUM_MINIMA = "least: ASTM B863; most: from memory"
_ALUMINIUM = (
    "Aluminium gives no colour before it melts, and lye and acids eat it: do not pickle it."
)
_DUST = "Titanium swarf and dust burn: no dry grinding, and sand at hand."

OTHER_METALS: tuple[Metal, ...] = (
    Metal(
        name="aluminium 5356",
        also=(
            "5356",
            "aluminum 5356",
            "bright aluminium",
            "bright aluminum",
            "aluminium",
            "aluminum",
        ),
        alloy=(("Al", 95.0), ("Mg", 5.0)),
        alloy_source=NOMINAL,
        density_g_per_cm3=2.64,
        density_source=ASM_2,
        surface=Surface((0.82, 0.84, 0.86), 0.26),
        youngs_modulus_mpa=71_000.0,
        modulus_source=ASM_2,
        tempers=(
            *tempers_of(f"{ASM_2} (alloy 5056-O, nearly the same)", ("soft", 152.0, 290.0)),
            *tempers_of(f"{ASM_2} (alloy 5056-H18, nearly the same)", ("hard", 407.0, 434.0)),
        ),
        beware=_ALUMINIUM,
        annealing=ALUMINIUM,
    ),
    Metal(
        name="aluminium 1100",
        also=("1100", "aluminum 1100", "soft aluminium", "pure aluminium"),
        alloy=(("Al", 99.0),),
        alloy_source=NOMINAL,
        density_g_per_cm3=2.71,
        density_source=ASM_2,
        surface=Surface((0.83, 0.85, 0.86), 0.28),
        youngs_modulus_mpa=69_000.0,
        modulus_source=ASM_2,
        tempers=(
            wire_temper("soft", _JIS_H4040, (math.inf, 75.0, 110.0)),
            wire_temper("half hard", _JIS_H4040, (math.inf, 110.0, 145.0)),
            wire_temper("hard", _JIS_H4040, (math.inf, 150.0, 190.0)),
        ),
        beware=_ALUMINIUM,
        annealing=ALUMINIUM,
    ),
    Metal(
        name="stainless steel 304",
        also=("304", "stainless", "stainless steel", "1.4301", "302"),
        loosely=("steel",),
        alloy=(("Fe", 72.0), ("Cr", 19.0), ("Ni", 9.0)),
        alloy_source=NOMINAL,
        density_g_per_cm3=8.00,
        density_source="EN 10088-1 gives 7.9; ASM Handbook vol. 1 8.00; both from memory",
        surface=Surface((0.715, 0.725, 0.74)),
        youngs_modulus_mpa=193_000.0,
        modulus_source=ASM_1,
        unloading=UNLOADING_STAINLESS,
        tempers=_STAINLESS_WIRE,
        nickel=ALLOYED,
        annealing=STAINLESS,
    ),
    Metal(
        name="stainless steel 316L",
        also=("316L", "316", "surgical steel", "1.4404"),
        loosely=("steel",),
        alloy=(("Fe", 68.5), ("Cr", 17.0), ("Ni", 12.0), ("Mo", 2.5)),
        alloy_source=NOMINAL,
        density_g_per_cm3=8.00,
        density_source="EN 10088-1 and ASM Handbook vol. 1, both from memory",
        surface=Surface((0.705, 0.71, 0.72)),
        youngs_modulus_mpa=193_000.0,
        modulus_source=ASM_1,
        unloading=UNLOADING_STAINLESS,
        tempers=(
            _SOFT_STAINLESS,
            _QUARTER_HARD_STAINLESS,
            wire_temper(
                "half hard",
                f"{_MILLS}; 316 hardens less than 304",
                (0.7, 1000.0, 1300.0),
                (1.6, 950.0, 1250.0),
                (math.inf, 880.0, 1150.0),
            ),
        ),
        nickel=ALLOYED,
        annealing=STAINLESS,
    ),
    Metal(
        name="titanium grade 1",
        also=("titanium", "commercially pure titanium", "ti grade 1"),
        alloy=(("Ti", 99.5),),
        alloy_source=NOMINAL,
        density_g_per_cm3=4.51,
        density_source=ASM_2,
        surface=Surface((0.56, 0.55, 0.53), 0.28),
        youngs_modulus_mpa=103_000.0,
        modulus_source=ASM_2,
        tempers=(
            wire_temper("soft", _TITANIUM_MINIMA, (math.inf, 240.0, 420.0)),
            wire_temper("hard", _ROUGH, (math.inf, 480.0, 680.0)),
        ),
        beware=_DUST,
        deburr=DEBURR_WET,
        annealing=REACTIVE,
    ),
    Metal(
        name="titanium grade 2",
        also=("ti grade 2",),
        alloy=(("Ti", 99.3),),
        alloy_source=NOMINAL,
        density_g_per_cm3=4.51,
        density_source=ASM_2,
        surface=Surface((0.56, 0.55, 0.53), 0.28),
        youngs_modulus_mpa=103_000.0,
        modulus_source=ASM_2,
        tempers=(
            wire_temper("soft", _TITANIUM_MINIMA, (math.inf, 345.0, 520.0)),
            wire_temper("hard", _ROUGH, (math.inf, 600.0, 800.0)),
        ),
        beware=_DUST,
        deburr=DEBURR_WET,
        annealing=REACTIVE,
    ),
    Metal(
        name="titanium grade 5",
        also=("ti grade 5", "ti-6al-4v", "6al-4v"),
        alloy=(("Ti", 90.0), ("Al", 6.0), ("V", 4.0)),
        alloy_source=NOMINAL,
        density_g_per_cm3=4.43,
        density_source=ASM_2,
        surface=Surface((0.54, 0.53, 0.52), 0.28),
        youngs_modulus_mpa=114_000.0,
        modulus_source=ASM_2,
        tempers=tempers_of(
            "ASTM B863 minima and what is usual, from memory", ("soft", 880.0, 970.0)
        ),
        beware=_DUST,
        deburr=DEBURR_WET,
        annealing=REACTIVE,
    ),
    Metal(
        name="niobium",
        also=("R04200", "columbium"),
        alloy=(("Nb", 99.8),),
        alloy_source=NOMINAL,
        density_g_per_cm3=8.57,
        density_source=ASM_2,
        surface=Surface((0.47, 0.47, 0.52), 0.26),
        youngs_modulus_mpa=103_000.0,
        modulus_source=ASM_2,
        tempers=(
            wire_temper("soft", "least: ASTM B392; both from memory", (math.inf, 125.0, 240.0)),
            wire_temper("hard", _ROUGH, (math.inf, 310.0, 520.0)),
        ),
        annealing=REACTIVE,
    ),
    Metal(
        name="galvanised steel",
        also=("mild steel", "galvanized steel", "iron"),
        loosely=("steel",),
        alloy=(("Fe", 99.0),),
        alloy_source="low-carbon steel under a thin coat of zinc, from memory",
        density_g_per_cm3=7.85,
        density_source=ASM_1,
        surface=Surface((0.66, 0.68, 0.70), 0.45),
        youngs_modulus_mpa=205_000.0,
        modulus_source=ASM_1,
        tempers=(
            wire_temper("soft", "EN 10223 for fencing wire, from memory", (math.inf, 350.0, 550.0)),
            wire_temper("hard", "low-carbon wire as drawn, from memory", (math.inf, 550.0, 800.0)),
        ),
        lead=TRACES,
        beware="Never heat or solder it: zinc fume makes ill. The zinc layer is not for long wear "
        "on the skin or near the mouth, may hold lead, and goes with filing and long tumbling.",
        annealing=GALVANISED,
        deburr=DEBURR_SKIN,
    ),
    Metal(
        name="spring steel",
        also=("music wire", "piano wire", "carbon spring steel"),
        loosely=("steel",),
        alloy=(("Fe", 98.5), ("C", 0.8), ("Mn", 0.5)),
        alloy_source="EN 10270-1, the middle of its limits, as mollificiomodenese.it lists them",
        density_g_per_cm3=7.85,
        density_source="EN 10270-1, as mollificiomodenese.it lists it",
        surface=Surface((0.60, 0.61, 0.62), 0.3),
        youngs_modulus_mpa=206_000.0,
        modulus_source="EN 10270-1, as mollificiomodenese.it lists it",
        tempers=(
            wire_temper(
                "hard",
                "EN 10270-1, wire SM, as mollificiomodenese.it lists it",
                (0.3, 2370.0, 2650.0),
                (0.5, 2200.0, 2470.0),
                (0.8, 2050.0, 2300.0),
                (1.0, 1980.0, 2220.0),
                (1.2, 1920.0, 2160.0),
                (1.6, 1830.0, 2050.0),
                (2.0, 1760.0, 1970.0),
                (math.inf, 1630.0, 1830.0),
            ),
            wire_temper(
                "spring hard",
                "ASTM A228, music wire, as interwiregroup.com lists it",
                (0.21, 2751.0, 3041.0),
                (0.31, 2599.0, 2875.0),
                (0.41, 2496.0, 2758.0),
                (0.51, 2413.0, 2668.0),
                (0.82, 2255.0, 2489.0),
                (1.02, 2172.0, 2406.0),
                (1.22, 2110.0, 2337.0),
                (1.6, 2020.0, 2234.0),
                (2.04, 1944.0, 2151.0),
                (math.inf, 1868.0, 2068.0),
            ),
        ),
        beware="It rusts, and its cut ends fly far and are sharp; it is much springier than any "
        "other wire here.",
        annealing=SPRING_STEEL,
    ),
)
