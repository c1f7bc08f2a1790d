"""Copper, brass, bronze and nickel silver, each one record."""

from __future__ import annotations

import math
from functools import partial

from ringwright.metals.annealing import BRASS, COPPER, NICKEL_SILVER, TIN_BRONZE
from ringwright.metals.metal import ALLOYED, NOMINAL, TRACES, Metal, Surface
from ringwright.metals.temper import Temper, proven_temper, tempers_of, wire_temper

_CDA = "ASM Handbook vol. 2, wrought copper alloys, from memory"
ZINC = "Heated above a dull red, zinc leaves brass as fume: anneal low and with good air."

BRASS_SHEET = "producer's data sheet (Olin Brass, C26000 to ASTM B36)"
# Round wire of 0.5 mm and over, whatever its diameter. Least and most tensile strength in ksi;
# of spring wire the standard gives the least, and the most is from memory.
_B134 = "ASTM B134 for round wire, as adfastcomponents.com lists it"
_MPA_PER_KSI = 6.894757


def _b134(
    quarter: tuple[float, float],
    half: tuple[float, float],
    hard: tuple[float, float],
    spring: tuple[float, float],
) -> tuple[Temper, ...]:
    spans = {"quarter hard": quarter, "half hard": half, "hard": hard, "spring hard": spring}
    return tuple(
        wire_temper(name, _B134, (math.inf, low * _MPA_PER_KSI, high * _MPA_PER_KSI))
        for name, (low, high) in spans.items()
    )


BRASS_TEMPERS = (
    *tempers_of(BRASS_SHEET, ("soft", 145.0, 365.0)),
    *_b134((62.0, 77.0), (79.0, 94.0), (102.0, 117.0), (120.0, 132.0)),
)
_RED_BRASS_WIRE = _b134((53.0, 65.0), (66.0, 77.0), (83.0, 92.0), (100.0, 110.0))
_BRONZE_WIRE = _b134((45.0, 57.0), (56.0, 67.0), (70.0, 79.0), (84.0, 93.0))

_EN_13602 = "EN 13602, as metalleschmidt.de lists it; the most from memory"
_EN_12166 = "EN 12166 for CuSn6, nearly the same, as metalleschmidt.de lists it"
_B2 = "ASTM B2, medium-hard wire, rounded, from memory"
_B159 = "ASTM B159 for spring wire, from memory"
_B206 = "ASTM B206, rounded, from memory"
BRASS_G_PER_CM3, BRASS_MODULUS_MPA = 8.53, 110_000.0

_SILICON_BRONZE_SHEET = "producer's data sheet (Atlas Metal, C65500)"

# Most are from one handbook.
_metal = partial(Metal, alloy_source=NOMINAL, density_source=_CDA, modulus_source=_CDA)

COPPER_ALLOYS: tuple[Metal, ...] = (
    _metal(
        name="copper",
        also=("C11000", "pure copper", "electrolytic copper"),
        alloy=(("Cu", 99.9),),
        density_g_per_cm3=8.94,
        surface=Surface((0.85, 0.43, 0.20)),
        youngs_modulus_mpa=117_000.0,
        tempers=(
            wire_temper("soft", _EN_13602, (math.inf, 200.0, 260.0)),
            wire_temper(
                "half hard", _B2, (1.1, 360.0, 415.0), (2.1, 345.0, 400.0), (math.inf, 320.0, 385.0)
            ),
            wire_temper(
                "hard",
                _EN_13602,
                (1.12, 460.0, 510.0),
                (1.5, 440.0, 490.0),
                (math.inf, 430.0, 480.0),
            ),
            wire_temper(
                "spring hard", "drawn as far as it goes, from memory", (math.inf, 480.0, 550.0)
            ),
        ),
        annealing=COPPER,
    ),
    _metal(
        name="red brass",
        also=("C23000", "85/15 brass", "rich low brass"),
        alloy=(("Cu", 85.0), ("Zn", 15.0)),
        density_g_per_cm3=8.75,
        surface=Surface((0.79, 0.57, 0.32)),
        youngs_modulus_mpa=117_000.0,
        tempers=(*tempers_of(_CDA, ("soft", 83.0, 276.0)), *_RED_BRASS_WIRE),
        lead=TRACES,
        beware=ZINC,
        annealing=BRASS,
    ),
    _metal(
        name="jeweller's brass",
        also=(
            "C22600",
            "jeweler's brass",
            "jewelry brass",
            "jewellery bronze",
            "jewelry bronze",
            "87.5/12.5 brass",
        ),
        alloy=(("Cu", 87.5), ("Zn", 12.5)),
        density_g_per_cm3=8.78,
        surface=Surface((0.75, 0.53, 0.29)),
        youngs_modulus_mpa=117_000.0,
        tempers=(*tempers_of(_CDA, ("soft", 90.0, 276.0)), *_RED_BRASS_WIRE),
        lead=TRACES,
        beware=ZINC,
        annealing=BRASS,
    ),
    Metal(
        name="yellow brass",
        also=("C26000", "brass 260", "260 brass", "cartridge brass", "brass", "70/30 brass"),
        alloy=(("Cu", 70.0), ("Zn", 30.0)),
        alloy_source=NOMINAL,
        density_g_per_cm3=BRASS_G_PER_CM3,
        density_source=BRASS_SHEET,
        surface=Surface((0.85, 0.69, 0.33)),
        youngs_modulus_mpa=BRASS_MODULUS_MPA,
        modulus_source=BRASS_SHEET,
        tempers=BRASS_TEMPERS,
        lead=TRACES,
        beware=ZINC,
        annealing=BRASS,
    ),
    _metal(
        name="bronze",
        also=("C22000", "commercial bronze", "90/10 bronze"),
        alloy=(("Cu", 90.0), ("Zn", 10.0)),
        density_g_per_cm3=8.80,
        surface=Surface((0.69, 0.46, 0.24)),
        youngs_modulus_mpa=117_000.0,
        tempers=(*tempers_of(_CDA, ("soft", 69.0, 255.0)), *_BRONZE_WIRE),
        lead=TRACES,
        beware=ZINC,
        annealing=BRASS,
    ),
    _metal(
        name="phosphor bronze",
        also=("C51000", "tin bronze"),
        alloy=(("Cu", 95.0), ("Sn", 5.0)),
        density_g_per_cm3=8.86,
        surface=Surface((0.77, 0.51, 0.33)),
        youngs_modulus_mpa=110_000.0,
        tempers=(
            proven_temper(
                "soft",
                _EN_12166,
                (0.5, 380.0, 480.0, 170.0),
                (1.5, 370.0, 470.0, 170.0),
                (4.0, 350.0, 440.0, 160.0),
                (math.inf, 340.0, 430.0, 150.0),
            ),
            proven_temper(
                "quarter hard",
                _EN_12166,
                (0.5, 480.0, 580.0, 320.0),
                (1.5, 460.0, 560.0, 310.0),
                (4.0, 430.0, 530.0, 290.0),
                (math.inf, 420.0, 520.0, 280.0),
            ),
            proven_temper(
                "half hard",
                _EN_12166,
                (0.5, 590.0, 710.0, 450.0),
                (1.5, 560.0, 670.0, 430.0),
                (4.0, 530.0, 630.0, 410.0),
                (math.inf, 510.0, 610.0, 390.0),
            ),
            wire_temper(
                "hard",
                f"{_EN_12166} (three-quarter hard)",
                (0.5, 700.0, 830.0),
                (1.5, 670.0, 790.0),
                (math.inf, 630.0, 740.0),
            ),
            wire_temper(
                "spring hard",
                _B159,
                (0.64, 1000.0, 1100.0),
                (1.6, 930.0, 1030.0),
                (math.inf, 860.0, 980.0),
            ),
        ),
        lead=TRACES,
        annealing=TIN_BRONZE,
    ),
    Metal(
        name="silicon bronze",
        also=("C65500", "high-silicon bronze", "high silicon bronze A"),
        alloy=(("Cu", 96.1), ("Si", 3.0), ("Mn", 0.9)),
        alloy_source=f"{_SILICON_BRONZE_SHEET}; manganese: that of Austral Wright Metals",
        density_g_per_cm3=8.53,
        density_source=_SILICON_BRONZE_SHEET,
        surface=Surface((0.77, 0.50, 0.31)),
        youngs_modulus_mpa=103_000.0,
        modulus_source=f"{_SILICON_BRONZE_SHEET}: 15,000 ksi; makeitfrom.com has 120 GPa",
        tempers=tempers_of(
            "makeitfrom.com, C65500 in H01 and H08",
            ("quarter hard", 180.0, 450.0),
            ("spring hard", 430.0, 760.0),
        ),
        # Its limits: nickel to 0.6 per cent and lead to 0.05 (the same data sheet).
        nickel=TRACES,
        lead=TRACES,
        annealing=TIN_BRONZE,
    ),
    _metal(
        name="nickel silver",
        also=("C75200", "german silver", "alpaca", "new silver"),
        alloy=(("Cu", 65.0), ("Ni", 18.0), ("Zn", 17.0)),
        density_g_per_cm3=8.73,
        surface=Surface((0.80, 0.78, 0.71)),
        youngs_modulus_mpa=124_000.0,
        tempers=(
            *tempers_of(_CDA, ("soft", 172.0, 393.0)),
            wire_temper("half hard", _B206, (math.inf, 540.0, 640.0)),
            wire_temper("hard", _B206, (math.inf, 650.0, 760.0)),
        ),
        nickel=ALLOYED,
        lead=TRACES,
        beware=ZINC,
        annealing=NICKEL_SILVER,
    ),
)
