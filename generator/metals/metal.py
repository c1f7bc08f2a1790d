"""What is known of a metal as wire: alloy, names, density, strength, look, what to beware of."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from ringwright.base.errors import BadInput

RGB = tuple[float, float, float]

# What the flags for nickel and lead say.
NONE, TRACES, ALLOYED = "none", "traces", "alloyed"

NICKEL_LIMIT = (
    "EU REACH Annex XVII entry 27 limits what an article in long contact with the skin may "
    "release to 0.5 microgram of nickel per square centimetre and week, and to 0.2 for posts in "
    "pierced ears and other piercings; measured by EN 1811 (from memory)"
)

TEMPERS = ("soft", "quarter hard", "half hard", "hard", "spring hard")

# How blurred polished metal mirrors, from 0 to 1 (chalk); by eye.
POLISHED = 0.2


@dataclass(frozen=True)
class Temper:
    """How hard a wire is drawn.

    Attributes
    ----------
    name : one of ``TEMPERS``, or as a maker calls it
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
class Surface:
    """How a metal looks, by eye: that is a matter of alloy, polish and light.

    Attributes
    ----------
    colour : sRGB, 0 to 1
    roughness : how blurred it mirrors, from 0 (polished) to 1 (chalk)
    """

    colour: RGB
    roughness: float = POLISHED


@dataclass(frozen=True)
class Metal:
    """A metal as wire.

    Every figure has its source. "From memory" means that the named work is the place to look it
    up, but that the figure was not read off it; a maker's own trial ring always goes before.

    Attributes
    ----------
    name : how it is listed, in letters that go into any file
    also : other names that mean this metal and no other
    loosely : names that it shares with others, which are asked back about: ``silver``
    alloy : per cent by weight of each element, the largest first; empty where it is no one alloy
    alloy_source : of these; or why there are none
    density_g_per_cm3 : with ``density_source``
    surface : how it looks
    tempers : softest first; none where no strength was found, so that springback needs a trial
    youngs_modulus_mpa : with ``modulus_source``; None only where there are no tempers
    nickel, lead : ``none``, ``traces`` (as an impurity the standard allows) or ``alloyed``
    beware : what else to know before heating, pickling or wearing it; may be empty
    """

    name: str
    also: tuple[str, ...]
    alloy: tuple[tuple[str, float], ...]
    alloy_source: str
    density_g_per_cm3: float
    density_source: str
    surface: Surface
    loosely: tuple[str, ...] = ()
    tempers: tuple[Temper, ...] = ()
    youngs_modulus_mpa: float | None = None
    modulus_source: str = ""
    nickel: str = NONE
    lead: str = NONE
    beware: str = ""

    def temper(self, name: str) -> Temper:
        """The temper of a name; other usual names of it are taken too.

        Raises
        ------
        BadInput
            When this metal is not listed in such a temper, or in none.
        """
        for temper in self.tempers:
            if temper_key(temper.name) == temper_key(name):
                return temper
        if not self.tempers:
            raise BadInput(self.untried)
        known = " or ".join(repr(temper.name) for temper in self.tempers)
        raise BadInput(
            f"{self.name} is not listed in the temper {name[:40]!r}: expected {known}, or "
            "calibrate it with a trial ring"
        )

    def has_temper(self, name: str) -> bool:
        """Whether this metal is listed in such a temper."""
        return any(temper_key(temper.name) == temper_key(name) for temper in self.tempers)

    @property
    def usual_tempers(self) -> tuple[str, ...]:
        """The tempers to choose from: those listed, or all where no strength is known."""
        return tuple(temper.name for temper in self.tempers) or TEMPERS

    @property
    def untried(self) -> str:
        """Why a metal without tempers says nothing of springback, and what to do."""
        return (
            f"no strength of {self.name} is listed, so how far it springs back is not known: wind "
            "a trial ring of your wire, measure it, and give it with --trial or in the shop file"
        )

    def yield_mpa(self, temper: str) -> float:
        """Yield stress in a temper; raises ``BadInput`` as :meth:`temper` does."""
        return self.temper(temper).yield_mpa

    def bending_strain(self, temper: str) -> float:
        """The stress of the bend over Young's modulus: all that springback depends on."""
        return self.temper(temper).bending_mpa / self._modulus_mpa

    def bending_strain_range(self, temper: str) -> tuple[float, float]:
        """The same if the wire did not harden at all, and if it hardened all it can."""
        found, modulus = self.temper(temper), self._modulus_mpa
        return found.yield_mpa / modulus, found.tensile_mpa / modulus

    @property
    def _modulus_mpa(self) -> float:
        if self.youngs_modulus_mpa is None:
            raise BadInput(self.untried)
        return self.youngs_modulus_mpa

    def cautions(self) -> tuple[str, ...]:
        """What to know about wearing, heating and winding this metal, one sentence each."""
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
        if not self.tempers:
            said.append(
                f"No strength of {self.name} is listed: wind and measure a trial ring of your wire "
                "before you choose a mandrel, as its springback is not known without."
            )
        return tuple(said)


@lru_cache(maxsize=2000)
def name_key(name: str) -> str:
    """What two spellings of one name have in common: its letters and digits."""
    return "".join(mark for mark in name.casefold() if mark.isalnum())


def temper_key(name: str) -> str:
    """What two names of one temper have in common."""
    return _TEMPER_NAMES.get(name_key(name), name_key(name))


_TEMPER_NAMES = {
    "deadsoft": "soft",
    "annealed": "soft",
    "fullhard": "hard",
    "harddrawn": "hard",
    "spring": "springhard",
}


def tempers_of(source: str, *listed: tuple[str, float, float]) -> tuple[Temper, ...]:
    """Tempers from one source: name, yield and tensile strength in MPa."""
    return tuple(Temper(name, low, high, source) for name, low, high in listed)


ASM_1 = "ASM Handbook vol. 1, from memory"
ASM_2 = "ASM Handbook vol. 2, from memory"
NOMINAL = "nominal composition, from memory"
