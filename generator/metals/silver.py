"""Silver and its alloys, each one record."""

from __future__ import annotations

from ringwright.metals.annealing import ARGENTIUM, FINE_SILVER, SILVER
from ringwright.metals.metal import ASM_2, NOMINAL, Metal, Surface
from ringwright.metals.temper import tempers_of

_ARGENTIUM_SHEET = "renato.design, Argentium Silver {}, which quotes the maker's technical data"

SILVERS: tuple[Metal, ...] = (
    Metal(
        name="sterling silver",
        also=("925 silver", "silver 925", "sterling"),
        loosely=("silver",),
        alloy=(("Ag", 92.5), ("Cu", 7.5)),
        alloy_source=NOMINAL,
        density_g_per_cm3=10.36,
        density_source="producer's data sheet (ESPI Metals, sterling silver)",
        surface=Surface((0.91, 0.90, 0.87)),
        youngs_modulus_mpa=75_000.0,
        modulus_source=ASM_2,
        tempers=tempers_of(
            "tensile strength of wire, and yield when soft: producer's data sheet (ESPI Metals, "
            "sterling silver); yield of harder wire as 0.80 to 0.88 of it, from memory",
            ("soft", 124.0, 283.0),
            ("half hard", 310.0, 386.0),
            ("hard", 420.0, 496.0),
            ("spring hard", 485.0, 552.0),
        ),
        beware="Old or foreign silver alloys and silver solders may hold cadmium or nickel.",
        annealing=SILVER,
    ),
    Metal(
        name="fine silver",
        also=("pure silver", "999 silver"),
        loosely=("silver",),
        alloy=(("Ag", 99.9),),
        alloy_source=NOMINAL,
        density_g_per_cm3=10.49,
        density_source=ASM_2,
        surface=Surface((0.93, 0.92, 0.90)),
        youngs_modulus_mpa=71_000.0,
        modulus_source=ASM_2,
        tempers=(
            *tempers_of(ASM_2, ("soft", 54.0, 125.0)),
            *tempers_of("from memory", ("hard", 303.0, 374.0)),
        ),
        annealing=FINE_SILVER,
    ),
    Metal(
        name="argentium 935",
        also=("argentium silver 935", "935 argentium", "935 silver", "935 argentium silver"),
        loosely=("silver", "argentium", "argentium silver"),
        alloy=(("Ag", 93.5), ("Cu", 5.25), ("Ge", 1.25)),
        alloy_source=_ARGENTIUM_SHEET.format("935") + ": germanium 1.1 to 1.4, copper the rest",
        density_g_per_cm3=10.38,
        density_source=_ARGENTIUM_SHEET.format("935"),
        surface=Surface((0.92, 0.91, 0.89)),
        youngs_modulus_mpa=75_000.0,
        modulus_source=f"taken to be that of sterling silver, which it nearly is: {ASM_2}",
        tempers=tempers_of(_ARGENTIUM_SHEET.format("935"), ("soft", 115.0, 215.0)),
        annealing=ARGENTIUM,
    ),
    Metal(
        name="argentium 960",
        also=("argentium silver 960", "960 argentium", "960 silver", "960 argentium silver"),
        loosely=("silver", "argentium", "argentium silver"),
        alloy=(("Ag", 96.0), ("Cu", 2.8), ("Ge", 1.2)),
        alloy_source=_ARGENTIUM_SHEET.format("960"),
        density_g_per_cm3=10.41,
        density_source=_ARGENTIUM_SHEET.format("960"),
        surface=Surface((0.93, 0.92, 0.90)),
        annealing=ARGENTIUM,
    ),
)
