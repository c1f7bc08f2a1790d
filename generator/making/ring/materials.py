"""Metals of the jewellery bench: density, stiffness, strength by temper, what to beware of.

Every figure carries its source. "From memory" means that the named work is the place to
look it up, but that the figure was not read off it for this table; a maker's own trial ring
(:mod:`ringwright.making.ring.springback`) always goes before the table.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from ringwright.base.errors import BadInput

# What the flags for nickel and lead say.
NONE, TRACES, ALLOYED = "none", "traces", "alloyed"

NICKEL_LIMIT = (
    "EU REACH Annex XVII entry 27 limits what an article in long contact with the skin may "
    "release to 0.5 microgram of nickel per square centimetre and week, and to 0.2 for posts in "
    "pierced ears and other piercings; measured by EN 1811 (from memory)"
)

_ASM_2 = "ASM Handbook vol. 2, from memory"
_ASM_1 = "ASM Handbook vol. 1, from memory"
_CDA = "ASM Handbook vol. 2, wrought copper alloys, from memory"


@dataclass(frozen=True)
class Temper:
    """How hard a wire is drawn.

    Attributes
    ----------
    name : ``soft``, ``quarter hard``, ``half hard``, ``hard`` or ``spring hard``
    yield_mpa : stress at which it begins to stay bent (0.2 % proof stress)
    tensile_mpa : highest stress it carries, hardened by its own deformation
    source : where the two are from
    """

    name: str
    yield_mpa: float
    tensile_mpa: float
    source: str

    @property
    def bending_mpa(self) -> float:
        """The one stress that stands for the whole bend: half way from yield to tensile.

        Rings are bent so far (a tenth to a third on the outside) that soft wire hardens while
        it is wound. A perfectly plastic model needs one stress; the mean of the two is the
        usual flow stress of forming handbooks (from memory).
        """
        return (self.yield_mpa + self.tensile_mpa) / 2.0


@dataclass(frozen=True)
class Material:
    """A metal as wire.

    Attributes
    ----------
    name : how it is listed
    also : other names it goes by
    density_g_per_cm3, youngs_modulus_mpa : with ``density_source`` and ``modulus_source``
    tempers : softest first
    nickel, lead : ``none``, ``traces`` (as an impurity the standard allows) or ``alloyed``
    beware : what else to know before heating, pickling or wearing it; may be empty
    """

    name: str
    also: tuple[str, ...]
    density_g_per_cm3: float
    density_source: str
    youngs_modulus_mpa: float
    modulus_source: str
    tempers: tuple[Temper, ...]
    nickel: str = NONE
    lead: str = NONE
    beware: str = ""

    def temper(self, name: str) -> Temper:
        """The temper of a name; other usual names of it are taken too.

        Raises
        ------
        BadInput
            When this metal is not listed in such a temper.
        """
        for temper in self.tempers:
            if temper_key(temper.name) == temper_key(name):
                return temper
        known = " or ".join(repr(temper.name) for temper in self.tempers)
        raise BadInput(
            f"{self.name} is not listed in the temper {name[:40]!r}: expected {known}, or "
            "calibrate it with a trial ring"
        )

    def has_temper(self, name: str) -> bool:
        """Whether this metal is listed in such a temper."""
        return any(temper_key(temper.name) == temper_key(name) for temper in self.tempers)

    def yield_mpa(self, temper: str) -> float:
        """Yield stress in a temper; raises ``BadInput`` as :meth:`temper` does."""
        return self.temper(temper).yield_mpa

    def bending_strain(self, temper: str) -> float:
        """The stress of the bend over Young's modulus: all that springback depends on."""
        return self.temper(temper).bending_mpa / self.youngs_modulus_mpa

    def bending_strain_range(self, temper: str) -> tuple[float, float]:
        """The same if the wire did not harden at all, and if it hardened all it can."""
        found = self.temper(temper)
        modulus = self.youngs_modulus_mpa
        return found.yield_mpa / modulus, found.tensile_mpa / modulus

    def cautions(self) -> tuple[str, ...]:
        """What to know about wearing and heating this metal, one sentence each."""
        said = []
        if self.nickel == ALLOYED:
            said.append(
                f"{self.name} is alloyed with nickel, which sets off allergies. {NICKEL_LIMIT}."
            )
        elif self.nickel == TRACES:
            said.append(
                f"{self.name} may hold traces of nickel: ask for a statement of "
                f"composition. {NICKEL_LIMIT}."
            )
        if self.lead != NONE:
            said.append(
                f"{self.name} may hold a little lead: ask for a statement of composition; leaded "
                "metal is not for jewellery, and for nothing a child may put in its mouth."
            )
        if self.beware:
            said.append(self.beware)
        return tuple(said)


@lru_cache(maxsize=1000)
def _key(name: str) -> str:
    return "".join(mark for mark in name.casefold() if mark.isalnum())


def temper_key(name: str) -> str:
    """What two names of one temper have in common."""
    return _TEMPER_NAMES.get(_key(name), _key(name))


_TEMPER_NAMES = {
    "deadsoft": "soft",
    "annealed": "soft",
    "fullhard": "hard",
    "harddrawn": "hard",
    "spring": "springhard",
}


def _copper_alloy(
    name: str,
    also: tuple[str, ...],
    density: float,
    modulus: float,
    tempers: tuple[tuple[str, float, float], ...],
    **flags: str,
) -> Material:
    listed = tuple(Temper(temper, low, high, _CDA) for temper, low, high in tempers)
    return Material(name, also, density, _CDA, modulus, _CDA, listed, **flags)


_ZINC = "Heated above a dull red, zinc leaves brass as fume: anneal low and with good air."

_BRASS_260_SHEET = "producer's data sheet (Olin Brass, C26000 to ASTM B36)"
_BRASS_260_TEMPERS = tuple(
    Temper(name, low, high, _BRASS_260_SHEET)
    for name, low, high in (
        ("soft", 145.0, 365.0),
        ("quarter hard", 230.0, 372.0),
        ("half hard", 350.0, 428.0),
        ("hard", 495.0, 525.0),
        ("spring hard", 595.0, 657.0),
    )
)

_GOLD_14K_G_PER_CM3 = 13.07
_BRASS_260_G_PER_CM3 = 8.53
# One part in twenty by weight is gold of 14 carat; volumes add up.
_GOLD_FILLED_G_PER_CM3 = 1.0 / (0.05 / _GOLD_14K_G_PER_CM3 + 0.95 / _BRASS_260_G_PER_CM3)

_STAINLESS_304 = "ASTM A666 minima, from memory"

MATERIALS: tuple[Material, ...] = (
    Material(
        "sterling silver",
        ("925 silver", "silver 925", "sterling"),
        10.36,
        "producer's data sheet (ESPI Metals, sterling silver)",
        75_000.0,
        _ASM_2,
        tuple(
            Temper(
                name,
                low,
                high,
                "tensile strength of wire, and yield when soft: producer's data sheet (ESPI "
                "Metals, sterling silver); yield of harder wire as 0.80 to 0.88 of it, from memory",
            )
            for name, low, high in (
                ("soft", 124.0, 283.0),
                ("half hard", 310.0, 386.0),
                ("hard", 420.0, 496.0),
                ("spring hard", 485.0, 552.0),
            )
        ),
        beware="Old or foreign silver alloys and silver solders may hold cadmium or nickel.",
    ),
    Material(
        "fine silver",
        ("pure silver", "999 silver", "silver"),
        10.49,
        _ASM_2,
        71_000.0,
        _ASM_2,
        (
            Temper("soft", 54.0, 125.0, _ASM_2),
            Temper("hard", 303.0, 374.0, "from memory"),
        ),
    ),
    _copper_alloy(
        "copper",
        ("C11000", "pure copper", "electrolytic copper"),
        8.94,
        117_000.0,
        (
            ("soft", 69.0, 220.0),
            ("half hard", 250.0, 290.0),
            ("hard", 310.0, 345.0),
            ("spring hard", 345.0, 380.0),
        ),
    ),
    _copper_alloy(
        "red brass",
        ("C23000", "85/15 brass", "rich low brass"),
        8.75,
        117_000.0,
        (
            ("soft", 83.0, 276.0),
            ("half hard", 338.0, 393.0),
            ("hard", 393.0, 483.0),
            ("spring hard", 434.0, 579.0),
        ),
        lead=TRACES,
        beware=_ZINC,
    ),
    _copper_alloy(
        "jeweller's brass",
        (
            "C22600",
            "jeweler's brass",
            "jewelry brass",
            "jewellery bronze",
            "jewelry bronze",
            "87.5/12.5 brass",
        ),
        8.78,
        117_000.0,
        (
            ("soft", 90.0, 276.0),
            ("half hard", 325.0, 372.0),
            ("hard", 370.0, 455.0),
        ),
        lead=TRACES,
        beware=_ZINC,
    ),
    Material(
        "yellow brass",
        ("C26000", "brass 260", "260 brass", "cartridge brass", "brass", "70/30 brass"),
        _BRASS_260_G_PER_CM3,
        _BRASS_260_SHEET,
        110_000.0,
        _BRASS_260_SHEET,
        _BRASS_260_TEMPERS,
        lead=TRACES,
        beware=_ZINC,
    ),
    _copper_alloy(
        "bronze",
        ("C22000", "commercial bronze", "90/10 bronze"),
        8.80,
        117_000.0,
        (
            ("soft", 69.0, 255.0),
            ("half hard", 310.0, 358.0),
            ("hard", 372.0, 421.0),
            ("spring hard", 427.0, 496.0),
        ),
        lead=TRACES,
        beware=_ZINC,
    ),
    _copper_alloy(
        "phosphor bronze",
        ("C51000", "tin bronze"),
        8.86,
        110_000.0,
        (
            ("soft", 145.0, 345.0),
            ("half hard", 379.0, 469.0),
            ("hard", 517.0, 558.0),
            ("spring hard", 552.0, 690.0),
        ),
        lead=TRACES,
    ),
    _copper_alloy(
        "nickel silver",
        ("C75200", "german silver", "alpaca", "new silver"),
        8.73,
        124_000.0,
        (("soft", 172.0, 393.0), ("half hard", 427.0, 510.0), ("hard", 510.0, 586.0)),
        nickel=ALLOYED,
        lead=TRACES,
        beware=_ZINC,
    ),
    Material(
        "aluminium 5356",
        ("5356", "aluminum 5356", "bright aluminium", "bright aluminum", "aluminium", "aluminum"),
        2.64,
        _ASM_2,
        71_000.0,
        _ASM_2,
        (
            Temper("soft", 152.0, 290.0, f"{_ASM_2} (alloy 5056-O, nearly the same)"),
            Temper("hard", 407.0, 434.0, f"{_ASM_2} (alloy 5056-H18, nearly the same)"),
        ),
        beware="Aluminium gives no colour before it melts, and lye and acids eat it: do not "
        "pickle it with other metals.",
    ),
    Material(
        "aluminium 1100",
        ("1100", "aluminum 1100", "soft aluminium", "pure aluminium"),
        2.71,
        _ASM_2,
        69_000.0,
        _ASM_2,
        (
            Temper("soft", 34.0, 90.0, f"{_ASM_2} (1100-O)"),
            Temper("half hard", 117.0, 124.0, f"{_ASM_2} (1100-H14)"),
            Temper("hard", 152.0, 165.0, f"{_ASM_2} (1100-H18)"),
        ),
    ),
    Material(
        "stainless steel 304",
        ("304", "stainless", "stainless steel", "1.4301", "302"),
        8.00,
        "EN 10088-1 gives 7.9; ASM Handbook vol. 1 8.00; both from memory",
        193_000.0,
        _ASM_1,
        (
            Temper("soft", 205.0, 515.0, _STAINLESS_304),
            Temper("quarter hard", 515.0, 860.0, _STAINLESS_304),
            Temper("half hard", 760.0, 1035.0, _STAINLESS_304),
            Temper("hard", 965.0, 1275.0, _STAINLESS_304),
        ),
        nickel=ALLOYED,
    ),
    Material(
        "stainless steel 316L",
        ("316L", "316", "surgical steel", "1.4404"),
        8.00,
        "EN 10088-1 and ASM Handbook vol. 1, both from memory",
        193_000.0,
        _ASM_1,
        (
            Temper("soft", 170.0, 485.0, "ASTM A240 minima, from memory"),
            Temper("quarter hard", 515.0, 860.0, _STAINLESS_304),
            Temper("half hard", 690.0, 1035.0, _STAINLESS_304),
        ),
        nickel=ALLOYED,
    ),
    Material(
        "titanium grade 1",
        ("titanium", "commercially pure titanium", "ti grade 1"),
        4.51,
        _ASM_2,
        103_000.0,
        _ASM_2,
        (Temper("soft", 170.0, 240.0, "minima as in ASTM B338 and B863"),),
        beware="Titanium swarf and dust burn: no dry grinding, and sand at hand.",
    ),
    Material(
        "titanium grade 2",
        ("ti grade 2",),
        4.51,
        _ASM_2,
        103_000.0,
        _ASM_2,
        (Temper("soft", 275.0, 345.0, "minima as in ASTM B338 and B863"),),
        beware="Titanium swarf and dust burn: no dry grinding, and sand at hand.",
    ),
    Material(
        "titanium grade 5",
        ("ti grade 5", "ti-6al-4v", "6al-4v"),
        4.43,
        _ASM_2,
        114_000.0,
        _ASM_2,
        (Temper("soft", 828.0, 895.0, "ASTM B348 minima, from memory"),),
        beware="Titanium swarf and dust burn: no dry grinding, and sand at hand.",
    ),
    Material(
        "niobium",
        ("R04200", "columbium"),
        8.57,
        _ASM_2,
        103_000.0,
        _ASM_2,
        (
            Temper("soft", 73.0, 125.0, "ASTM B392 minima, from memory"),
            Temper("hard", 275.0, 345.0, "from memory, rough"),
        ),
    ),
    Material(
        "galvanised steel",
        ("mild steel", "galvanized steel", "steel", "iron"),
        7.85,
        _ASM_1,
        205_000.0,
        _ASM_1,
        (
            Temper("soft", 240.0, 400.0, "low-carbon fencing wire, from memory"),
            Temper("hard", 550.0, 650.0, "low-carbon wire as drawn, from memory"),
        ),
        lead=TRACES,
        beware="Never heat or solder it: zinc fume makes ill. The zinc layer is not for long wear "
        "on the skin or near the mouth, and may hold lead.",
    ),
    Material(
        "gold-filled",
        ("gold filled", "14/20 gold-filled", "14k gold-filled"),
        round(_GOLD_FILLED_G_PER_CM3, 2),
        "computed: one part in twenty by weight of 14 carat gold (the least that US 16 CFR part "
        "23 lets be called so, from memory; 13.07 g/cm3, from memory) on brass of 8.53 g/cm3",
        110_000.0,
        f"that of its core: {_BRASS_260_SHEET}",
        _BRASS_260_TEMPERS,
        lead=TRACES,
        beware="The gold is a thin skin: filing, long tumbling and heating lay the brass bare. "
        + _ZINC,
    ),
)


def material(name: str, extra: Iterable[Material] = ()) -> Material:
    """The metal of a name; capitals, spaces and hyphens do not matter.

    Parameters
    ----------
    name : as in the table, or one of its other names
    extra : metals of the maker's own, which go before those of the table

    Raises
    ------
    BadInput
        When no metal has that name; the nearest are named.
    """
    by_key: dict[str, Material] = {}
    for metal in (*extra, *MATERIALS):
        for known in (metal.name, *metal.also):
            by_key.setdefault(_key(known), metal)
    if found := by_key.get(_key(name)):
        return found
    near = difflib.get_close_matches(_key(name)[:40], by_key, n=3)
    names = list(dict.fromkeys(by_key[key].name for key in near))
    hint = (
        f"perhaps {' or '.join(names)} is meant"
        if names
        else (f"expected one of {', '.join(metal.name for metal in MATERIALS)}")
    )
    raise BadInput(f"no metal is called {name[:40]!r}: {hint}")
