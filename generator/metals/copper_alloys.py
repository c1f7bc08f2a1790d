"""Copper, brass, bronze and nickel silver, each one record."""

from __future__ import annotations

from functools import partial

from ringwright.metals.metal import (
    ALLOYED,
    NOMINAL,
    TRACES,
    Metal,
    Surface,
    tempers_of,
)

_CDA = "ASM Handbook vol. 2, wrought copper alloys, from memory"
ZINC = "Heated above a dull red, zinc leaves brass as fume: anneal low and with good air."

BRASS_SHEET = "producer's data sheet (Olin Brass, C26000 to ASTM B36)"
BRASS_TEMPERS = tempers_of(
    BRASS_SHEET,
    ("soft", 145.0, 365.0),
    ("quarter hard", 230.0, 372.0),
    ("half hard", 350.0, 428.0),
    ("hard", 495.0, 525.0),
    ("spring hard", 595.0, 657.0),
)
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
        tempers=tempers_of(
            _CDA,
            ("soft", 69.0, 220.0),
            ("half hard", 250.0, 290.0),
            ("hard", 310.0, 345.0),
            ("spring hard", 345.0, 380.0),
        ),
    ),
    _metal(
        name="red brass",
        also=("C23000", "85/15 brass", "rich low brass"),
        alloy=(("Cu", 85.0), ("Zn", 15.0)),
        density_g_per_cm3=8.75,
        surface=Surface((0.79, 0.57, 0.32)),
        youngs_modulus_mpa=117_000.0,
        tempers=tempers_of(
            _CDA,
            ("soft", 83.0, 276.0),
            ("half hard", 338.0, 393.0),
            ("hard", 393.0, 483.0),
            ("spring hard", 434.0, 579.0),
        ),
        lead=TRACES,
        beware=ZINC,
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
        tempers=tempers_of(
            _CDA, ("soft", 90.0, 276.0), ("half hard", 325.0, 372.0), ("hard", 370.0, 455.0)
        ),
        lead=TRACES,
        beware=ZINC,
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
    ),
    _metal(
        name="bronze",
        also=("C22000", "commercial bronze", "90/10 bronze"),
        alloy=(("Cu", 90.0), ("Zn", 10.0)),
        density_g_per_cm3=8.80,
        surface=Surface((0.69, 0.46, 0.24)),
        youngs_modulus_mpa=117_000.0,
        tempers=tempers_of(
            _CDA,
            ("soft", 69.0, 255.0),
            ("half hard", 310.0, 358.0),
            ("hard", 372.0, 421.0),
            ("spring hard", 427.0, 496.0),
        ),
        lead=TRACES,
        beware=ZINC,
    ),
    _metal(
        name="phosphor bronze",
        also=("C51000", "tin bronze"),
        alloy=(("Cu", 95.0), ("Sn", 5.0)),
        density_g_per_cm3=8.86,
        surface=Surface((0.77, 0.51, 0.33)),
        youngs_modulus_mpa=110_000.0,
        tempers=tempers_of(
            _CDA,
            ("soft", 145.0, 345.0),
            ("half hard", 379.0, 469.0),
            ("hard", 517.0, 558.0),
            ("spring hard", 552.0, 690.0),
        ),
        lead=TRACES,
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
    ),
    _metal(
        name="nickel silver",
        also=("C75200", "german silver", "alpaca", "new silver"),
        alloy=(("Cu", 65.0), ("Ni", 18.0), ("Zn", 17.0)),
        density_g_per_cm3=8.73,
        surface=Surface((0.80, 0.78, 0.71)),
        youngs_modulus_mpa=124_000.0,
        tempers=tempers_of(
            _CDA, ("soft", 172.0, 393.0), ("half hard", 427.0, 510.0), ("hard", 510.0, 586.0)
        ),
        nickel=ALLOYED,
        lead=TRACES,
        beware=ZINC,
    ),
)
