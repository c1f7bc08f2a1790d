"""From mandrel to closed ring: the coil, the saw cut, and back again.

A turn of a coil is one turn of a helix. Its wire is sqrt((pi D)^2 + p^2) long, D being the
diameter to the middle of the wire and p the pitch. A blade of kerf k that goes along the coil
meets the wire at the helix's angle and so takes k sqrt((pi D)^2 + p^2) / (pi D) of it. What
is left, closed flat, is the mean circumference of the ring.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize, format_mm
from ringwright.making.ring.springback import mandrel_mm_for, relaxed_inner_mm
from ringwright.metals.flow import Flow

# Common practice, no source: a kerf this wide would be no saw, and no ring would be left.
WIDEST_KERF_MM = 3.0


@dataclass(frozen=True)
class Cut:
    """How rings are taken off a coil.

    Attributes
    ----------
    tool : ``"saw"``, which takes a kerf, or ``"shears"`` (cutters, pinching), which takes none
    kerf_mm : 0 for shears
    """

    tool: str
    kerf_mm: float

    @property
    def in_short(self) -> str:
        """The tool and what it takes, in a few words."""
        if self.tool == "saw":
            return f"cut with a saw of {format_mm(self.kerf_mm)}"
        return "cut with shears, no loss"

    @property
    def remark(self) -> str:
        """What the tool does to the ends, in a sentence; without a source."""
        if self.tool == "saw":
            return (
                f"A saw takes {format_mm(self.kerf_mm)} from every ring and leaves square ends "
                "that meet flush."
            )
        return (
            "Shears and cutters take no metal, but pinch the ends to a wedge: they do not meet "
            "flush all the way through, and the seam can catch (common practice, no source)."
        )


def saw(kerf_mm: float) -> Cut:
    """Cut by a blade.

    Raises
    ------
    BadInput
        When the kerf is not above 0 and at most 3 mm.
    """
    if not 0.0 < kerf_mm <= WIDEST_KERF_MM:
        raise BadInput(
            f"a kerf of {format_mm(kerf_mm)} is outside 0 to {format_mm(WIDEST_KERF_MM)}: give "
            "the width of the saw cut, e.g. 0.3mm"
        )
    return Cut("saw", kerf_mm)


SHEARS = Cut("shears", 0.0)
# How rings are cut where nobody says.
USUAL_CUT = SHEARS


@dataclass(frozen=True)
class MadeRing:
    """A ring on its way from mandrel to closed; diameters in millimetres.

    Attributes
    ----------
    wire_mm, mandrel_mm : what it is wound from and on
    coil_inner_mm : inside of the coil, let go
    turn_mm : wire in one turn of the coil, before the cut
    ring : closed, after the cut
    """

    wire_mm: float
    mandrel_mm: float
    coil_inner_mm: float
    turn_mm: float
    ring: RingSize

    @property
    def wound_turns(self) -> float:
        """Close turns on the mandrel that are one turn of the coil once it is let go.

        The wire stays as long as it was, so as turns grow wider there are fewer of them.
        """
        return self.turn_mm / turn_length_mm(self.mandrel_mm, self.wire_mm)


def turn_length_mm(coil_inner_mm: float, wire_mm: float, pitch_mm: float | None = None) -> float:
    """Wire in one turn of a coil, along its middle: a helix's true length.

    Parameters
    ----------
    pitch_mm : from turn to turn; that of a coil wound close, the wire itself, if None
    """
    pitch = wire_mm if pitch_mm is None else pitch_mm
    return math.hypot(math.pi * (coil_inner_mm + wire_mm), pitch)


def closed_ring(
    coil_inner_mm: float, wire_mm: float, kerf_mm: float, pitch_mm: float | None = None
) -> RingSize:
    """The ring that one turn of a coil makes once it is cut and closed.

    Raises
    ------
    BadInput
        When the cut takes so much that no ring is left.
    """
    around_mm = math.pi * (coil_inner_mm + wire_mm)
    turn_mm = turn_length_mm(coil_inner_mm, wire_mm, pitch_mm)
    inner_mm = turn_mm * (1.0 - kerf_mm / around_mm) / math.pi - wire_mm
    if inner_mm <= 0.0:
        raise BadInput(
            f"a kerf of {format_mm(kerf_mm)} leaves no ring of a coil of "
            f"{format_mm(coil_inner_mm)} inside in wire of {format_mm(wire_mm)}: take a finer "
            "blade or a wider coil"
        )
    return RingSize(wire_mm, inner_mm)


def coil_inner_mm_for(ring: RingSize, kerf_mm: float, pitch_mm: float | None = None) -> float:
    """Inside of the coil that a ring is cut from; undoes :func:`closed_ring`.

    Raises
    ------
    BadInput
        When the ring is smaller than any such coil makes.
    """
    pitch = ring.wire_mm if pitch_mm is None else pitch_mm
    wanted_mm = 2.0 * math.pi * ring.core_radius_mm

    def too_long_by(around_mm: float) -> float:
        return math.hypot(around_mm, pitch) * (1.0 - kerf_mm / around_mm) - wanted_mm

    from scipy.optimize import brentq

    low_mm, high_mm = math.pi * ring.wire_mm, wanted_mm + kerf_mm
    if kerf_mm >= low_mm or too_long_by(low_mm) >= 0.0:
        raise BadInput(
            f"no coil in wire of {format_mm(ring.wire_mm)} gives a ring of "
            f"{format_mm(ring.inner_mm)} inside: take a wider ring or a closer coil"
        )
    around_mm = float(brentq(too_long_by, low_mm, high_mm, xtol=1e-13 * high_mm, rtol=1e-14))
    return around_mm / math.pi - ring.wire_mm


def made_ring(
    mandrel_mm: float,
    wire_mm: float,
    flow: Flow,
    cut: Cut = USUAL_CUT,
    pitch_mm: float | None = None,
) -> MadeRing:
    """The ring that comes of a wire on a mandrel: wound, let go, cut and closed.

    Parameters
    ----------
    flow : how the wire resists bending, from the table or trial rings
    pitch_mm : of the coil as it is cut; None for one wound close

    Raises
    ------
    BadInput
        When the wire springs back straight, or nothing is left of the ring.
    """
    coil_mm = relaxed_inner_mm(mandrel_mm, wire_mm, flow)
    ring = closed_ring(coil_mm, wire_mm, cut.kerf_mm, pitch_mm)
    turn_mm = turn_length_mm(coil_mm, wire_mm, pitch_mm)
    return MadeRing(wire_mm, mandrel_mm, coil_mm, turn_mm, ring)


def mandrel_mm_for_ring(
    ring: RingSize, flow: Flow, cut: Cut = USUAL_CUT, pitch_mm: float | None = None
) -> float:
    """The mandrel that makes exactly this closed ring; undoes :func:`made_ring`.

    Raises
    ------
    BadInput
        When no mandrel makes it.
    """
    coil_mm = coil_inner_mm_for(ring, cut.kerf_mm, pitch_mm)
    return mandrel_mm_for(coil_mm, ring.wire_mm, flow)


@dataclass(frozen=True)
class Winding:
    """Coils to wind for a number of rings; lengths in millimetres.

    Attributes
    ----------
    rings : how many are wanted
    coil_rings : rings that each coil gives, in order; they add up to ``rings``
    wound_turns : close turns of each on the mandrel, with those at its ends that are wasted
    wound_lengths_mm, coil_lengths_mm : how long each coil is over all, on the mandrel, and once
        it is let go and has fewer turns
    wire_mm : wire to cut for all coils, ends included
    """

    rings: int
    coil_rings: tuple[int, ...]
    wound_turns: tuple[float, ...]
    wound_lengths_mm: tuple[float, ...]
    coil_lengths_mm: tuple[float, ...]
    wire_mm: float


# Common practice, no source: about a turn of every coil is lost where the cut runs out at its
# ends, and so much wire is held in the fingers or the crank's hole.
END_TURNS = 1.0
TAIL_MM = 40.0


def rings_per_coil(
    coil_mm: float,
    wire_mm: float,
    pitch_mm: float | None = None,
    end_turns: float = END_TURNS,
    wound_turns: float = 1.0,
) -> int:
    """Whole rings of a coil that is this long over all.

    A helix of n turns is n pitches long, and its wire sticks out half its thickness at
    both ends.

    Parameters
    ----------
    wound_turns : turns of that coil that are one once it is let go; more than 1 where the coil is
        measured on the mandrel
    """
    pitch = wire_mm if pitch_mm is None else pitch_mm
    # A coil of exactly n turns must not lose one to the last bit of the division.
    turns = (coil_mm - wire_mm) / pitch / wound_turns - end_turns
    return max(0, math.floor(turns + 1e-9))


def coil_length_mm(
    rings: int,
    wire_mm: float,
    pitch_mm: float | None = None,
    end_turns: float = END_TURNS,
    wound_turns: float = 1.0,
) -> float:
    """How long a coil of so many rings is, over all; undoes :func:`rings_per_coil`."""
    pitch = wire_mm if pitch_mm is None else pitch_mm
    return (rings + end_turns) * wound_turns * pitch + wire_mm


def winding(
    made: MadeRing,
    rings: int,
    longest_coil_mm: float,
    pitch_mm: float | None = None,
    end_turns: float = END_TURNS,
    tail_mm: float = TAIL_MM,
) -> Winding:
    """Coils and wire for a number of rings.

    The rings are shared out over as few coils as there can be, as evenly as they go. A coil is
    longest on the mandrel, where it has the most turns, so it is measured there.

    Parameters
    ----------
    made : the ring
    rings : how many, spares included
    longest_coil_mm : what the mandrel, the winder or the saw takes at a time
    pitch_mm : of the coil as it is cut
    tail_mm : wire of every coil that is held and never wound

    Raises
    ------
    BadInput
        When not even one ring fits into the longest coil, or fewer than one is asked for.
    """
    wire_mm, turns = made.wire_mm, made.wound_turns
    # Drawn out before it is cut, a coil can be longer than on the mandrel.
    most = min(
        rings_per_coil(longest_coil_mm, wire_mm, None, end_turns, turns),
        rings_per_coil(longest_coil_mm, wire_mm, pitch_mm, end_turns),
    )
    if rings < 1:
        raise BadInput(f"{rings} rings make no coil: ask for at least one")
    if most < 1:
        raise BadInput(
            f"a coil of {format_mm(longest_coil_mm)} gives no whole ring in wire of "
            f"{format_mm(wire_mm)}: allow a longer coil"
        )
    coils = math.ceil(rings / most)
    shared = tuple(rings // coils + (coil < rings % coils) for coil in range(coils))
    return Winding(
        rings,
        shared,
        tuple((count + end_turns) * turns for count in shared),
        tuple(coil_length_mm(count, wire_mm, None, end_turns, turns) for count in shared),
        tuple(coil_length_mm(count, wire_mm, pitch_mm, end_turns) for count in shared),
        (rings + coils * end_turns) * made.turn_mm + coils * tail_mm,
    )
