"""What is known of a metal as wire: alloy, names, density, strength, look, what to beware of."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.base.errors import BadInput
from ringwright.metals.annealing import Annealing
from ringwright.metals.flow import Flow, flow_of
from ringwright.metals.temper import TEMPERS, Temper, temper_key

RGB = tuple[float, float, float]

# What the flags for nickel and lead say.
NONE, TRACES, ALLOYED = "none", "traces", "alloyed"

NICKEL_LIMIT = (
    "EU REACH Annex XVII entry 27 limits what an article in long contact with the skin may "
    "release to 0.5 microgram of nickel per square centimetre and week, and to 0.2 for posts in "
    "pierced ears and other piercings; measured by EN 1811 (from memory)"
)

# How cut ends are smoothed, and how those of metals that filing or long tumbling harms: common
# practice, no source.
DEBURR = "Tumble or file the rings until no end catches on cloth."
DEBURR_SKIN = (
    "Tumble the rings briefly in steel shot and soapy water, looking at them often, until no end "
    "catches on cloth. Do not file them, and do not leave them in."
)
DEBURR_WET = (
    "Tumble the rings, or file them by hand and wet, until no end catches on cloth. Do not grind "
    "them dry."
)

# How blurred polished metal mirrors, from 0 to 1 (chalk); by eye.
POLISHED = 0.2


# Modulus with which a bent wire unbends, over Young's modulus, likeliest. Published chord moduli
# after some per cent of strain are 0.85 to 0.95 of it for copper alloys, aluminium and carbon
# steel (Cleveland and Ghosh, Int. J. Plasticity 18, 2002; Yoshida, Uemori and Fujiwara, ibid.),
# and less for austenitic stainless steel: all from memory.
UNLOADING = 0.92
UNLOADING_STAINLESS = 0.85
UNLOADING_SOURCE = "Cleveland and Ghosh 2002, Yoshida et al. 2002, for metals like it; from memory"
# Of the bending moment, what the pull on the wire leaves: least, likeliest, most. A pull of t times
# the one that stretches the wire leaves about 1 - t^2 of a plastic hinge's moment (any text on
# plastic design, for a rectangle); hands pull with up to a third. The third: common practice, no
# source.
PULLED = (0.9, 0.96, 1.0)


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


# Of a maker's own metal no colour is asked.
PLAIN = Surface((0.7, 0.7, 0.7))


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
    unloading : modulus with which bent wire unbends over that, with ``unloading_source``
    nickel, lead : ``none``, ``traces`` (as an impurity the standard allows) or ``alloyed``
    beware : what else to know before heating, pickling or wearing it; may be empty
    annealing : how it is softened at the bench, or why it is not; None where that is not known
    deburr : how cut ends are smoothed, in sentences
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
    unloading: float = UNLOADING
    unloading_source: str = UNLOADING_SOURCE
    nickel: str = NONE
    lead: str = NONE
    beware: str = ""
    annealing: Annealing | None = None
    deburr: str = DEBURR

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

    def flow(self, temper: str, wire_mm: float) -> Flow:
        """How wire of a temper and a diameter most likely resists bending.

        Raises
        ------
        BadInput
            As :meth:`temper` does.
        """
        found = self.temper(temper).of_wire(wire_mm)
        return flow_of(
            found.yield_mpa, found.tensile_mpa, self._modulus_mpa, self.unloading, PULLED[1]
        )

    def flow_range(self, temper: str, wire_mm: float) -> tuple[Flow, Flow]:
        """The same for what springs back least and most.

        Least is the weakest wire of the temper, pulled hard, that unbends with its full modulus;
        most is the strongest, not pulled, whose modulus has fallen twice as far as is likely.
        """
        found, modulus = self.temper(temper).of_wire(wire_mm), self._modulus_mpa
        weak, strong = zip(found.yield_span_mpa, found.tensile_span_mpa, strict=True)
        softest = 2.0 * self.unloading - 1.0
        return (
            flow_of(*weak, modulus, 1.0, PULLED[0]),
            flow_of(*strong, modulus, softest, PULLED[2]),
        )

    def bending_mpa(self, temper: str, wire_mm: float) -> float:
        """The true stress that stands for the whole bend of a ring; raises as :meth:`flow`."""
        return self.temper(temper).of_wire(wire_mm).bending_mpa(self._modulus_mpa)

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


ASM_1 = "ASM Handbook vol. 1, from memory"
ASM_2 = "ASM Handbook vol. 2, from memory"
NOMINAL = "nominal composition, from memory"
