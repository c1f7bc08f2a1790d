"""Bands: pieces closed into themselves, hung over a wrist or a finger, on top and loose below."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.errors import BadInput
from ringwright.base.progress import Tally, uncounted
from ringwright.base.sizes import format_mm
from ringwright.falling.fall import fallen
from ringwright.falling.goal import Goal, weights
from ringwright.geometry.contact import Rings
from ringwright.geometry.lattice import rotations
from ringwright.geometry.oval import Oval
from ringwright.geometry.vectors import lengths_along
from ringwright.piece.piece import Piece, check_piece, expected_links, place_in_weave
from ringwright.rest.form import Column
from ringwright.rest.start import in_core_radii, laid_along, nudged, rolled_low, set_down
from ringwright.rest.states import Lying, placed, resting
from ringwright.rest.unit import as_the_unit_lies
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import WeaveRule

_UP = np.array([0.0, 0.0, 1.0])
# The arm lies level along y, its width along x, its thickness upright.
ARM = np.eye(3)[[0, 2, 1]]
_POINTS, _ROUNDS = 4000, 400
# Rings may begin so deep in one another, in wire radii.
_DEEP = 1.5


@dataclass(frozen=True, eq=False)
class Strip:
    """Whole repeats that all lie alike along x, to be closed into themselves.

    Attributes
    ----------
    piece : without the rings that it is started from
    rings : its rings on the table z = 0, in core radii
    repeats : how many
    length : from the first repeat to where the last one meets it again
    scale : that unit of length, in millimetres
    links : of the rule, those from the last repeat to the first included
    """

    piece: Piece
    rings: Rings
    repeats: int
    length: float
    scale: float
    links: tuple[tuple[str, str], ...]

    @property
    def repeat_mm(self) -> float:
        """From each repeat to the next."""
        return self.length * self.scale / self.repeats

    @property
    def height(self) -> float:
        """Of its middle over the table."""
        return float(self.rings.centres[:, 2].mean())

    @property
    def round_mm(self) -> float:
        """Of the thickest form that it goes round as a band."""
        # A line so far outside is longer by that times a whole turn.
        return (self.length - 2.0 * np.pi * self.height) * self.scale


def repeats_of(piece: Piece) -> int:
    """How many whole repeats a piece is long."""
    return 1 + max(place_in_weave(name)[1][0] for name in piece.names)


def strip(rule: WeaveRule, unit: Unit, piece: Piece) -> Strip:
    """A piece without ends, as a unit lies.

    One that turns as it goes on is wound up or down to the nearest whole turn, as its ends are when
    they are joined, and rolled to where it lies lowest.

    Parameters
    ----------
    unit : what is to lie on the skin down
    piece : some repeats of it
    """
    repeats = repeats_of(piece)
    whole = np.array([place_in_weave(name)[1][0] >= 0 for name in piece.names])
    piece = as_the_unit_lies(rule, piece.of(whole), unit)
    rings, scale = in_core_radii(piece)
    length = repeats * unit.repeat / float(unit.rings.core_radii.mean())
    if unit.lattice.kind.turns:
        turn = repeats * float(unit.lattice.values[1])
        missing = 2.0 * np.pi * round(turn / (2.0 * np.pi)) - turn
        turns = rotations(np.eye(3)[0], missing * rings.centres[:, 0] / length)
        rings = replace(
            rings,
            centres=np.einsum("nij,nj->ni", turns, rings.centres),
            axes=np.einsum("nij,nj->ni", turns, rings.axes),
        )
        rings = rolled_low(rings)
    links = expected_links(rule, piece, repeats)
    return Strip(piece, set_down(nudged(rings)), repeats, length, scale, links)


def band(strip: Strip, oval: Oval, told: Tally = uncounted) -> Lying:
    """A strip closed into itself and hung over a level arm or finger, by its weight alone.

    It begins as a string hangs: on the form as far down as :func:`hung_line` says, free below.

    Parameters
    ----------
    oval : the form, in millimetres; it goes round that
    told : called with (done, of) in every round

    Returns
    -------
    The piece with the form's axis along y and up along z, its first repeat at the bottom.

    Raises
    ------
    BadInput
        When it does not bend so far.
    """
    form = oval.scaled(1.0 / strip.scale)
    rings = _laid_round(strip, form)
    begun = check_piece(placed(strip.piece, rings, strip.scale))
    deepest_mm = _DEEP * float(strip.piece.wire_radii_mm.min())
    if begun.links != strip.links or begun.smallest_gap_mm < -deepest_mm:
        raise BadInput(
            f"a band of {format_mm(strip.length * strip.scale)} does not bend round "
            f"{format_mm(oval.girth)}; take a larger form, or more repeats."
        )
    weight = weights(rings)
    goal = Goal(np.outer(weight / weight.sum(), -_UP))
    column = Column(form, ARM, np.zeros(3))
    rest = fallen(rings, goal, (column,), rounds=_ROUNDS, told=told)
    return resting(strip.piece, rest, strip.scale)


def _laid_round(strip: Strip, form: Oval) -> Rings:
    """Rings laid along the line in which a string as long hangs over a form."""
    rings, height, (long, short) = strip.rings, strip.height, form.half_axes
    points, onward = hung_line(long + height, short + height, strip.length)
    lengths = lengths_along(points)
    along = (rings.centres[:, 0] / strip.length) % 1.0 * lengths[-1]
    place, forward = (
        np.stack([np.interp(along, lengths, way) for way in ways.T], axis=1)
        for ways in (points, onward)
    )
    forward /= np.linalg.norm(forward, axis=1)[:, None]
    outward = forward[:, [2, 1, 0]] * [-1.0, 0.0, 1.0]
    return laid_along(rings, place, forward, outward)


def hung_line(long: float, short: float, length: float) -> tuple[Floats, Floats]:
    """The closed line in which a heavy string hangs over an oval with a level axis.

    It lies on the oval over the top and down to where it leaves it along its tangent, of slope m
    at a distance x from the middle; from there it hangs as a catenary, z = a cosh(x / a) with
    m = sinh(x / a), whose half is a m long. A longer string leaves the oval higher up.

    Parameters
    ----------
    long, short : half axes of the oval, level and upright
    length : of the string, at least all round the oval

    Returns
    -------
    points, onward : (n, 3) in the plane y = 0 from the lowest point round, clockwise seen along y;
        and the unit vectors along the line
    """
    # From the top down the side where x is positive; below the middle a string can leave it.
    angle = np.linspace(0.5 * np.pi, -0.5 * np.pi, _POINTS)[:-1]
    x, z = long * np.cos(angle), short * np.sin(angle)
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(z)))])
    below = np.flatnonzero(angle < 0.0)
    slope = -((short / long) ** 2) * x[below] / z[below]
    across = x[below] / np.arcsinh(slope)
    half = gone[below] + across * slope
    leaves = np.interp(-0.5 * length, -half, np.arange(len(below), dtype=np.float64))
    scale, last = float(np.interp(leaves, np.arange(len(below)), across)), below[int(leaves)]
    free = np.linspace(x[last], 0.0, _POINTS)[1:]
    hangs = z[last] + scale * (np.cosh(free / scale) - np.cosh(x[last] / scale))
    x, z = np.append(x[: last + 1], free), np.append(z[: last + 1], hangs)
    # The other side is the mirror image; all round from the bottom over the left side.
    x, z = np.append(-x[::-1], x[1:]), np.append(z[::-1], z[1:])
    points = np.stack([x, 0.0 * x, z], axis=1)
    onward = np.gradient(points, axis=0)
    return points, onward / np.linalg.norm(onward, axis=1)[:, None]
