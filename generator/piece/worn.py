"""A chain worn round a wrist: bent along an oval, no ring in another's way.

One unit is settled for a row of turns from repeat to repeat, from straight on. From these follow,
for every place of the oval, how its rings lie there and how much of the oval one repeat covers. So
laid, rings interfere by no more than what the turn changes within a repeat; a last step moves
every ring by the least that takes all of them out of each other, and out of the wrist.

Inside, lengths are in core radii of the main ring.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ringwright.base import defaults
from ringwright.base.arrays import Floats, Ints
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.progress import Progress, quiet
from ringwright.base.sizes import RingSize, format_mm
from ringwright.geometry.contact import Rings, carried
from ringwright.geometry.lattice import Lattice
from ringwright.geometry.lattice_kind import CHAIN
from ringwright.geometry.linearise import unknowns
from ringwright.geometry.oval import Oval
from ringwright.movement.bend import AXES, bent_unit, from_axis, inner_radius
from ringwright.piece.apart import taken_apart
from ringwright.piece.piece import (
    Piece,
    check_piece,
    expected_links,
    piece_of_length,
    place_in_weave,
    woven_piece,
)
from ringwright.piece.verify import second_opinion
from ringwright.solver.climb import Goal, Unit, climb, farthest, nearest_to
from ringwright.solver.measure import extent
from ringwright.solver.settle import Settled
from ringwright.weaves.rule import WeaveRule

# From one settled state to the next, radians; and how many there are at most.
_TURN_STEP, _MOST_TURNS = 0.06, 12
# How much rings are drawn to where they lie straight: in a chain, for those that carry no pull to
# have a place; in a sheet, for its rows not to be pulled together.
_NEARNESS, _NEARNESS_OF_ROWS = 0.03, 1.0
_LOADED = 1e-3
_FEWEST = 3
# Rings of one repeat of a sheet, all rows: more take minutes.
_MOST_ABREAST = 32
_X = np.array([1.0, 0.0, 0.0])
_UP = np.array([0.0, 0.0, 1.0])
_DEEPEST_MM = 1e-6


@dataclass(frozen=True, eq=False)
class Worn:
    """A chain round a wrist.

    Attributes
    ----------
    piece : its rings about the z axis: its middle in front, at -y, its ends behind
    oval : the wrist, in millimetres
    repeats : whole repeats
    open_mm : left between the ends for the clasp, along the wrist
    edgewise : whether it lies on its narrow side, since it does not bend so far on the wide one
    turns_deg : from repeat to repeat where the oval is flattest, and where it is tightest
    smallest_gap_mm : between any two rings
    inner_girth_mm : of the thickest wrist, thicker or thinner all round, that no ring enters
    """

    piece: Piece
    oval: Oval
    repeats: int
    open_mm: float
    edgewise: bool
    turns_deg: tuple[float, float]
    smallest_gap_mm: float
    inner_girth_mm: float


@dataclass(frozen=True, eq=False)
class _Chain:
    """A chain at rest, pulled straight; a sheet of so many rows counts as one wide chain."""

    rule: WeaveRule
    size: RingSize
    settled: Settled
    rows: int

    @cached_property
    def unit(self) -> Unit:
        """One repeat along the chain, all rows of it."""
        one = self.settled.unit
        if not self.rule.family.has_rows:
            return one
        images = np.repeat([(0, row) for row in range(self.rows)], len(one.rings.centres), axis=0)
        every = np.tile(np.arange(len(one.rings.centres)), self.rows)
        rings = one.rings
        centres, axes = carried(rings.centres[every], rings.axes[every], images, one.lattice)
        return Unit(
            Rings(centres, axes, rings.core_radii[every], rings.wire_radii[every]),
            Lattice(CHAIN, one.lattice.values[:1]),
        )

    def straight(self, repeats: int) -> Piece:
        """A piece of it as it lies straight."""
        return woven_piece(
            self.rule, self.settled.unit, self.size.core_radius_mm, repeats, self.rows
        )


def worn(
    rule: WeaveRule,
    size: RingSize,
    settled: Settled,
    wrist: Oval,
    width_mm: float | None = None,
    on_progress: Progress = quiet,
) -> Worn:
    """Lay a chain or a sheet round a wrist, as many whole repeats as there is room for.

    Parameters
    ----------
    settled : the weave pulled straight, at this size
    wrist : in millimetres; the innermost metal touches it, so there is no ease
    width_mm : a sheet is at least so wide; 25 mm when left out, as any piece of it
    on_progress : called with (what, done, of)

    Raises
    ------
    BadInput
        When the weave is neither, does not bend so far, or the sheet is too wide to be worked out.
    NoRest
        When the rings could not be brought out of each other.
    """
    scale = size.core_radius_mm
    if not rule.family.goes_round_wrist:
        raise BadInput(
            f"{rule.name} is {rule.family.called}, and only chains and sheets are laid round "
            "a wrist; choose the views whole and close."
        )
    chain = _Chain(rule, size, settled, _rows(rule, size, settled, width_mm))
    oval = wrist.scaled(1.0 / scale)
    bends, edgewise = _bends(chain, wrist, on_progress)
    repeats, straight, first = _fitting(chain, oval, bends)
    rings = taken_apart(_laid(chain, oval, bends, straight, first), oval)
    if rings is None:
        raise NoRest(
            f"{rule.name} could not be laid round {format_mm(wrist.girth)} without rings in each "
            "other's way; try a slightly larger --wrist."
        )
    piece = Piece(
        straight.names,
        straight.roles,
        rings.centres * scale,
        rings.axes,
        straight.core_radii_mm,
        straight.wire_radii_mm,
    )
    return _checked(chain, wrist, bends, piece, repeats, edgewise)


def _rows(rule: WeaveRule, size: RingSize, settled: Settled, width_mm: float | None) -> int:
    """How many rows make a sheet so wide; 1 for a chain."""
    if not rule.family.has_rows:
        return 1
    scale = size.core_radius_mm
    strip, _ = piece_of_length(rule, settled.unit, scale, settled.unit.repeat * scale, width_mm)
    rows = 1 + max(place_in_weave(name)[1][1] for name in strip.names)
    most = _MOST_ABREAST // len(rule.rings)
    if rows > most:
        width = format_mm(width_mm or defaults.WIDTH_MM)
        raise BadInput(
            f"{rule.name} of {width} width has {rows} rows, and at most {most} can be laid round a "
            "wrist; give a smaller --width."
        )
    return rows


# ---- one unit, bent more and more ----


@dataclass(frozen=True, eq=False)
class _Lie:
    """How the rings of a bent unit lie: along the arc, and in the frame that goes along it.

    Attributes
    ----------
    along : (n,) in repeats
    out : (n,) from the arc, away from the bend's axis
    across : (n,) along that axis
    axes : (n, 3) the rings' axes: onward, across, out
    """

    along: Floats
    out: Floats
    across: Floats
    axes: Floats


@dataclass(frozen=True, eq=False)
class _Bends:
    """One unit at a row of turns from repeat to repeat.

    Attributes
    ----------
    turns : (k,) from 0 on
    inner : (k,) how much of the wrist a repeat covers
    lies : (k) how its rings lie; ``out`` counts from the wrist
    """

    turns: Floats
    inner: Floats
    lies: tuple[_Lie, ...]

    def covers(self, curvature: Floats) -> Floats:
        """How much of a wrist of such curvature a repeat covers.

        The turn is what is covered times the curvature, and itself decides on what is covered.
        """
        covered = np.full_like(curvature, self.inner[0])
        for _ in range(60):
            turn = covered * curvature
            covered = 0.5 * (covered + np.interp(turn, self.turns, self.inner))
        return covered

    def at(self, turns: Floats, ring: Ints) -> _Lie:
        """How some rings lie, each at a turn of its own."""
        upper = np.clip(np.searchsorted(self.turns, turns), 1, len(self.turns) - 1)
        lower = upper - 1
        share = (turns - self.turns[lower]) / (self.turns[upper] - self.turns[lower])

        def between(values: Floats) -> Floats:
            part = share.reshape((-1,) + (1,) * (values.ndim - 2))
            low, high = values[lower, ring], values[upper, ring]
            return np.asarray(low + part * (high - low))

        axes = between(np.stack([lie.axes for lie in self.lies]))
        return _Lie(
            between(np.stack([lie.along for lie in self.lies])),
            between(np.stack([lie.out for lie in self.lies])),
            between(np.stack([lie.across for lie in self.lies])),
            axes / np.linalg.norm(axes, axis=1)[:, None],
        )


def _bends(chain: _Chain, wrist: Oval, on_progress: Progress) -> tuple[_Bends, bool]:
    """The unit bent as far as a wrist asks, on its wide side if that goes, and else on its edge."""
    wide, high = (
        np.subtract(*extent(chain.unit.rings, axis)[::-1])
        for axis in (AXES["up"], AXES["sideways"])
    )
    # The bend's axis lies along the wider side, and so that side on the skin.
    ways = ("up", "sideways") if wide >= high * (1.0 - 1e-6) else ("sideways", "up")
    least_mm = math.inf
    for way in ways:
        bends, radius_mm = _best_sense(chain, wrist, way, on_progress)
        if bends is not None:
            return bends, way != ways[0]
        least_mm = min(least_mm, wrist.girth * radius_mm / wrist.tightest_radius)
    raise BadInput(
        f"{chain.rule.name} at this size does not bend round an oval of {format_mm(wrist.girth)} "
        f"whose long axis is {wrist.ratio:.4g} times the short one: {math.ceil(least_mm)} mm is "
        "about the least; give a larger --wrist, or a rounder one with --oval."
    )


def _best_sense(
    chain: _Chain, wrist: Oval, way: str, on_progress: Progress
) -> tuple[_Bends | None, float]:
    """The unit bent one way or the other about an axis, whichever covers more of the wrist.

    Returns
    -------
    bends : None where it bends neither way as far as the wrist asks
    radius_mm : the smallest that it goes round
    """
    unit, scale = chain.unit, chain.size.core_radius_mm
    # A repeat covers less than it measures straight, so no larger turn is asked for.
    most = unit.repeat * scale / wrist.tightest_radius
    nearness = _NEARNESS_OF_ROWS if chain.rule.family.has_rows else _NEARNESS
    pull, found, least_mm = (_loaded(chain), nearness), [], math.inf
    for sense in (1.0, -1.0):
        straight = bent_unit(unit, sense * AXES[way], 0.0)
        far = climb(straight, farthest(straight, 1), rounds=200, tolerance=1e-9, enough=most).unit
        reached = float(far.lattice.values[1])
        radius_mm = inner_radius(far) * scale
        if reached >= most or radius_mm <= wrist.tightest_radius:
            bends = _row(straight, min(most, reached), pull, on_progress)
            radius_mm = float(bends.inner[-1] / bends.turns[-1]) * scale
            if radius_mm <= wrist.tightest_radius:
                found.append(bends)
        least_mm = min(least_mm, radius_mm)
    best = max(found, key=lambda bends: round(float(bends.inner[-1]), 6), default=None)
    return best, least_mm


def _loaded(chain: _Chain) -> Floats:
    """Which rings carry the pull, as shares of 1; those that only hang on do not count."""
    held = chain.settled.certificate
    loaded = held.forces > _LOADED * held.forces.max(initial=0.0)
    shares = np.zeros(len(chain.settled.unit.rings.centres))
    shares[held.pairs.first[loaded]] = shares[held.pairs.second[loaded]] = 1.0
    shares = np.tile(shares, chain.rows)
    if not shares.any():
        shares[:] = 1.0
    return np.asarray(shares / shares.sum())


def _row(straight: Unit, most: float, pull: tuple[Floats, float], on_progress: Progress) -> _Bends:
    """A straight unit bent in small steps, and pulled tight after each."""
    steps = min(_MOST_TURNS, max(4, math.ceil(most / _TURN_STEP)))
    turns = np.linspace(0.0, most, steps + 1)
    start = _lie(straight)
    lies, inner = [_from_wrist(start, _lowest(straight))], [straight.repeat]
    lie = start
    for done, turn in enumerate(turns[1:].tolist()):
        on_progress("bending", done, steps)
        unit = _placed(straight, lie, turn)
        target = _placed(straight, start, turn).rings
        unit = climb(unit, _snug(target, *pull), rounds=100, tolerance=1e-8).unit
        lie = _lie(unit)
        radius = inner_radius(unit)
        lies.append(_from_wrist(lie, radius - unit.repeat / turn))
        inner.append(radius * turn)
    on_progress("bending", steps, steps)
    return _Bends(turns, np.array(inner), tuple(lies))


def _snug(target: Rings, loaded: Floats, nearness: float) -> Goal:
    """A loop as wide as the rings that carry the pull can make it, the others near a target."""
    near = nearest_to(target)

    def distances(unit: Unit) -> tuple[Floats, Floats]:
        away = from_axis(unit, unit.rings.centres)
        return away, np.linalg.norm(away, axis=1)

    def slope(unit: Unit) -> Floats:
        away, distance = distances(unit)
        wide = np.zeros(unknowns(unit.rings, unit.lattice))
        rings = wide[: 5 * len(distance)].reshape(-1, 5)
        rings[:, :3] = loaded[:, None] * away / distance[:, None]
        return wide + nearness * near.slope(unit)

    return Goal(
        lambda unit: float(loaded @ distances(unit)[1]) + nearness * near.value(unit),
        slope,
        bend=-nearness,
    )


def _frame(unit: Unit) -> tuple[Floats, Floats]:
    """The bend's axis, and the way out from it where the arc begins."""
    axis = unit.lattice.axis
    assert axis is not None
    return axis, -np.cross(axis, _X)


def _lie(unit: Unit) -> _Lie:
    """How the rings of a bent or straight unit lie."""
    axis, out = _frame(unit)
    rings, turn = unit.rings, float(unit.lattice.values[1])
    across = rings.centres @ axis
    if turn == 0.0:
        angles = np.zeros(len(across))
        along, height = rings.centres[:, 0] / unit.repeat, rings.centres @ out
    else:
        away = from_axis(unit, rings.centres)
        angles = np.arctan2(away @ _X, away @ out)
        along, height = angles / turn, np.linalg.norm(away, axis=1) - unit.repeat / turn
    onward, outward = _turned(angles, out)
    parts = [np.einsum("ni,ni->n", rings.axes, way) for way in (onward, outward)]
    return _Lie(along, height, across, np.stack([parts[0], rings.axes @ axis, parts[1]], axis=1))


def _placed(straight: Unit, lie: _Lie, turn: float) -> Unit:
    """A unit bent by a turn from repeat to repeat, its rings lying as told."""
    axis, out = _frame(straight)
    radius = straight.repeat / turn
    onward, outward = _turned(lie.along * turn, out)
    centres = (radius + lie.out)[:, None] * outward - radius * out + lie.across[:, None] * axis
    axes = lie.axes[:, :1] * onward + lie.axes[:, 1:2] * axis + lie.axes[:, 2:] * outward
    rings = Rings(centres, axes, straight.rings.core_radii, straight.rings.wire_radii)
    return Unit(rings, straight.lattice.with_values(np.array([straight.repeat, turn])))


def _turned(angles: Floats, out: Floats) -> tuple[Floats, Floats]:
    """The ways onward and outward after each angle of the arc, (n, 3)."""
    cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
    return cos * _X - sin * out, cos * out + sin * _X


def _lowest(straight: Unit) -> float:
    """The innermost metal of a straight unit, outward from the arc."""
    return extent(straight.rings, _frame(straight)[1])[0]


def _from_wrist(lie: _Lie, lowest: float) -> _Lie:
    return _Lie(lie.along, lie.out - lowest, lie.across, lie.axes)


# ---- a whole chain along the oval ----


def _fitting(chain: _Chain, oval: Oval, bends: _Bends) -> tuple[int, Piece, float]:
    """The longest piece of whole repeats whose ends keep a wire apart, and where it begins.

    Returns
    -------
    repeats, piece : how many, and the rings as they lie straight
    first : repeats along the oval from behind to where the first one begins
    """
    rule, scale = chain.rule, chain.size.core_radius_mm
    low, high = extent(chain.straight(1).rings(), _X)
    repeat_mm = chain.unit.repeat * scale
    around = float(_repeats_along(oval, bends)[-1])
    beyond = (high - low) / repeat_mm - 1.0
    repeats = math.floor(around - beyond - chain.size.wire_mm / repeat_mm)
    if repeats < _FEWEST:
        raise BadInput(
            f"{format_mm(oval.girth * scale)} is too little for {_FEWEST} repeats of {rule.name}; "
            "give a larger --wrist."
        )
    first = 0.5 * (around - beyond - repeats) - low / repeat_mm
    return repeats, chain.straight(repeats), first


def _repeats_along(oval: Oval, bends: _Bends) -> Floats:
    """How many repeats lie on the oval from behind to each of its many lengths."""
    lengths = oval.lengths
    middle = 0.5 * (lengths[1:] + lengths[:-1])
    share = np.diff(lengths) / bends.covers(oval.curvature(middle))
    return np.concatenate([[0.0], np.cumsum(share)])


def _laid(chain: _Chain, oval: Oval, bends: _Bends, straight: Piece, first: float) -> Rings:
    """The rings along the oval, each as it lies where the turn is what it is there."""
    places = [place_in_weave(name) for name in straight.names]
    index = {ring.name: at for at, ring in enumerate(chain.rule.rings)}
    ring = np.array([index[name] + len(index) * row for name, (_, row) in places])
    repeat = first + np.array([image[0] for _, image in places])
    table = _repeats_along(oval, bends)
    along = bends.lies[0].along[ring]
    # Where a ring lies along the chain depends a little on the turn there.
    for _ in range(6):
        lengths = np.interp(repeat + along, table, oval.lengths)
        curvature = oval.curvature(lengths)
        lie = bends.at(curvature * bends.covers(curvature), ring)
        along = lie.along
    points, onward, outward = oval.frames(lengths)
    centres = points + lie.out[:, None] * outward + lie.across[:, None] * _UP
    axes = lie.axes[:, :1] * onward + lie.axes[:, 1:2] * _UP + lie.axes[:, 2:] * outward
    scale = chain.size.core_radius_mm
    return Rings(centres, axes, straight.core_radii_mm / scale, straight.wire_radii_mm / scale)


def _checked(
    chain: _Chain, wrist: Oval, bends: _Bends, piece: Piece, repeats: int, edgewise: bool
) -> Worn:
    """Every pair measured again, twice and by different means; and what is to be said about it."""
    found, second = check_piece(piece), second_opinion(piece)
    smallest_mm = min(found.smallest_gap_mm, second.smallest_gap_mm)
    links = expected_links(chain.rule, piece)
    if smallest_mm < -_DEEPEST_MM or found.links != links or second.links != links:
        raise NoRest(
            f"{chain.rule.name} laid round {format_mm(wrist.girth)} did not stand a second look "
            "at every two rings, so it is not shown; try a slightly larger --wrist."
        )
    metal = piece.rings().core_points(180).reshape(-1, 3)
    wire_mm = np.repeat(piece.wire_radii_mm, len(metal) // len(piece))
    away, _, along = wrist.clearance(metal)
    open_mm = float((along - wire_mm).min() + wrist.girth - (along + wire_mm).max())
    curvature = np.array([1.0 / wrist.flattest_radius, 1.0 / wrist.tightest_radius])
    curvature = curvature * chain.size.core_radius_mm
    flat, tight = np.degrees(curvature * bends.covers(curvature)).tolist()
    return Worn(
        piece,
        wrist,
        repeats,
        open_mm,
        edgewise,
        (flat, tight),
        smallest_mm,
        # That of a wrist which is thicker all round by what is free.
        wrist.girth + 2.0 * math.pi * float((away - wire_mm).min()),
    )
