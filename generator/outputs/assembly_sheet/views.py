"""What each picture of an assembly sheet shows, and from where.

One direction and one scale serve the whole sheet, but for steps of which much more is seen from
another side. The direction is found by trying many and counting, on a coarse grid, how much of
the rings that matter is seen, and of the places where they cross. In here z is up, and the piece
hangs down.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.movement.order import moved
from ringwright.outputs.assembly_sheet.make_room import Opened, least_room, stand_open
from ringwright.outputs.assembly_sheet.open_ring import CLEAR, OpenRing, cuts
from ringwright.outputs.assembly_sheet.words import LayNotes
from ringwright.piece.half_made import HalfMade, lies_on_table
from ringwright.piece.piece import Piece
from ringwright.rest.laid import Laid, upright
from ringwright.solver.climb import Unit
from ringwright.solver.placement import by_themselves
from ringwright.weaves.rule import RingRef, WeaveRule

# Cells of the coarse grid per wire; points per cell, so that no cell of a ring stays empty.
_FINE = 2.5
_DENSE = 1.3
_CUTS = 24
# So many ways to stand open are tried, a few at a time; to push others aside costs so much.
_SHORTLIST, _TRIED = 48, 8
_STIR = 0.2
# Of a ring, so much counts as either end.
_END = 0.06
_ELEVATIONS = (0.0, 18.0, 36.0)
_AZIMUTHS = tuple(15.0 * step for step in range(24))
# From so many degrees to the left and right of the sheet's direction a step may be seen, where
# that shows so much more of where its rings cross: of the least seen and of all, as shares.
_ASIDE, _GAIN = (-45.0, -30.0, -15.0, 0.0, 15.0, 30.0, 45.0), 0.3
# What seeing the crossings counts for beside seeing the rings: for the whole sheet, for one step.
_CROSSING, _ASIDE_CROSSING = 0.15, 0.5
# Of a ring so much is enough to be found, as a share of all that can be seen of it.
_ENOUGH = 0.25
# What lies on a table is seen from the maker's side of it, from above.
_ABOVE, _FRONT = (40.0, 55.0, 70.0), (0.0, 15.0, 345.0, 30.0, 330.0)
# A chain there goes about from left to right.
_ALONG_FRONT = (0.0, 10.0, 350.0)
# So a piece on a table is seen, a little from the side.
_LAID_AROUND, _LAID_ABOVE = 20.0, 50.0
# A piece hangs along x of the rule's frame; here z is up.
_UPRIGHT = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, -1.0], [-1.0, 0.0, 0.0]])
# The sine of the angle from a ring's axis from which its gap shows well.
_ASLANT = 0.5
# A piece no larger than so many core radii is always shown whole; else so much of it.
_WHOLE, _WINDOW, _MARGIN = 7.5, 6.5, 0.75


@dataclass(frozen=True, eq=False)
class Scene:
    """What there is to see after one step. Lengths in millimetres, z up.

    Attributes
    ----------
    piece : the rings by now; their names are their numbers on the sheet
    held : those that the piece is held by, as places in ``piece``
    new : the ring put in; None for the start
    picked_up, through : those that come with it, and the others that it goes through
    near : others that the step's words name
    at_rest : False where the rings had not quite come to rest
    hangs : whether it hangs from what is held; else it lies on a table
    """

    piece: Piece
    held: tuple[int, ...]
    new: int | None
    picked_up: tuple[int, ...]
    through: tuple[int, ...]
    near: tuple[int, ...] = ()
    at_rest: bool = True
    hangs: bool = True

    @property
    def told(self) -> tuple[int, ...]:
        """The rings that the step's words name."""
        new = () if self.new is None else (self.new,)
        return (*new, *self.picked_up, *self.through, *self.near)


@dataclass(frozen=True, eq=False)
class View:
    """One picture.

    Attributes
    ----------
    scene : what is in it, at rest with all rings closed
    piece : the rings as they are drawn: about an open ring they give way
    opened : the ring put in as it stands open; None for the start
    toward : (3,) unit vector to the camera
    middle_mm : (3,) the point in the middle of the picture
    across_mm : how much the square picture spans
    room_mm : the least gap between any two rings as drawn; below 0 the open one cuts into others;
        None where none is open
    aside : where it is seen from another side than the others, from how many degrees farther to
        the right and farther up; else None
    """

    scene: Scene
    piece: Piece
    opened: OpenRing | None
    toward: Floats
    middle_mm: Floats
    across_mm: float
    room_mm: float | None = None
    aside: tuple[float, float] | None = None

    def flat(self, points_mm: Floats) -> Floats:
        """(n, 3) points as (n, 2) shares of the picture, from its upper left corner."""
        right, up = screen(self.toward)
        away = (points_mm - self.middle_mm) / self.across_mm
        seen: Floats = np.stack([0.5 + away @ right, 0.5 - away @ up], axis=1)
        return seen


def scenes(
    rule: WeaveRule,
    states: Sequence[HalfMade],
    numbers: Mapping[RingRef, int | str],
    core_radius_mm: float,
    lay: Mapping[RingRef, LayNotes],
) -> list[Scene]:
    """Every state as a scene, and before them the rings of the start, where there are any.

    Parameters
    ----------
    numbers : of every ring, as on the sheet
    core_radius_mm : of the main ring
    lay : as :func:`ringwright.outputs.assembly_sheet.lay.lay_notes` gives them
    """
    made = [
        _scene(rule, state, numbers, core_radius_mm, lay.get(state.step.ring, LayNotes()))
        for state in states
    ]
    if not rule.start:
        return made
    first = states[0]
    start = [first.rings.index(each.ring) for each in rule.start]
    piece = _part(made[0].piece, start)
    every = tuple(range(len(start)))
    held = tuple(at for at, place in enumerate(start) if place in first.held)
    return [Scene(piece, held, None, (), every, hangs=made[0].hangs), *made]


def whole_view(scene: Scene, shown: Sequence[str], toward: Floats) -> View:
    """All of a piece with every ring closed, some of them numbered, as large as it goes.

    Parameters
    ----------
    shown : the names of the rings that get their numbers
    """
    piece = scene.piece
    numbered = tuple(at for at, name in enumerate(piece.names) if name in shown)
    closed = replace(scene, new=None, picked_up=(), through=numbered, near=())
    low, high = _box(closed, toward, range(len(piece)))
    across_mm = float((high - low).max()) + 2.0 * _MARGIN * float(piece.core_radii_mm.max())
    return View(closed, piece, None, toward, _middle((low + high) / 2.0, toward), across_mm)


def finished_view(
    rule: WeaveRule,
    unit: Unit,
    named: Mapping[RingRef, int],
    core_radius_mm: float,
    toward: Floats,
) -> View:
    """Some rings within a finished piece, all as they rest there, with a repeat to either side.

    Parameters
    ----------
    unit : one repeat of the finished weave at rest
    named : the rings that get their numbers
    """
    along = (0, -1, 1) if rule.family.repeats else (0,)
    across = (0, -1, 1) if rule.family.has_rows else (0,)
    images = list(product(along, across))
    refs = list(dict.fromkeys(moved(rule, ref, image) for image in images for ref in named))
    if not rule.family.repeats:
        refs += [ref for ring in rule.rings if (ref := RingRef(ring.name)) not in named]
    rings, turn = by_themselves(rule, unit, refs).rings, _turn(rule)
    piece = Piece(
        names=tuple(str(named.get(ref, f"beside {at}")) for at, ref in enumerate(refs)),
        roles=("open",) * len(refs),
        centres_mm=rings.centres @ turn.T * core_radius_mm,
        axes=rings.axes @ turn.T,
        core_radii_mm=rings.core_radii * core_radius_mm,
        wire_radii_mm=rings.wire_radii * core_radius_mm,
    )
    scene = Scene(piece, (), None, (), (), hangs=False)
    return whole_view(scene, [str(number) for number in named.values()], toward)


def laid_view(laid: Laid, before: View) -> View:
    """A finished piece as it lies on a table or hangs, none of its rings numbered.

    Parameters
    ----------
    before : a view of a piece that hangs, from whose direction one that hangs is seen
    """
    hangs = laid.state.hangs
    shown = upright(laid.piece) if hangs else laid.piece
    # Numbers are names here, and stand for the rings of the steps.
    piece = replace(shown, names=tuple(f"laid {name}" for name in shown.names))
    scene = Scene(piece, (), None, (), (), at_rest=laid.lying.settled, hangs=False)
    return whole_view(scene, [], before.toward if hangs else _way(_LAID_AROUND, _LAID_ABOVE))


def lying_view(piece: Piece, shown: Sequence[str]) -> View:
    """All of a piece that lies along x, aslant from above, some of its rings numbered.

    Parameters
    ----------
    shown : the names of the rings that get their numbers
    """
    scene = Scene(piece, (), None, (), (), hangs=False)
    return whole_view(scene, shown, _way(_LAID_AROUND, _LAID_ABOVE))


def clasp_view(
    rule: WeaveRule,
    state: HalfMade,
    numbers: Mapping[RingRef, int | str],
    core_radius_mm: float,
    before: View,
) -> View:
    """The step of the clasp, seen as the view before it.

    Parameters
    ----------
    numbers : also of the clasp's loop and its ring
    """
    scene = _scene(rule, state, numbers, core_radius_mm, LayNotes())
    corner = before.middle_mm @ np.stack(screen(before.toward), axis=1) - before.across_mm / 2.0
    return _view(scene, before.toward, before.across_mm, corner)[0]


def _turn(rule: WeaveRule) -> Floats:
    """From the rule's frame to the pictures': what hangs, hangs along x."""
    return np.eye(3) if lies_on_table(rule) else _UPRIGHT


def views(rule: WeaveRule, made: Sequence[Scene]) -> list[View]:
    """A picture for every scene, all from one direction and of one scale."""
    lies = lies_on_table(rule)
    front = _FRONT if rule.family.has_rows else _ALONG_FRONT
    toward = _best_direction(made, *((_ABOVE, front) if lies else (_ELEVATIONS, _AZIMUTHS)))
    across_mm = _across(made, toward)
    found: list[View] = []
    corner = _first_window(made, toward, across_mm, lies)
    for scene in made:
        view, corner = _view(scene, toward, across_mm, corner)
        found.append(view)
    return found


def from_better_sides(rule: WeaveRule, shown: Sequence[View]) -> list[View]:
    """Pictures from one direction, those turned in which much more is seen from another.

    Parameters
    ----------
    shown : as :func:`views` gives them
    """
    return [_from_better_side(rule, view) for view in shown]


def _from_better_side(rule: WeaveRule, view: View) -> View:
    scene = view.scene
    if scene.new is None:
        return view
    cloud = cloud_of(scene.piece, _cell(scene.piece))
    elevations = _ABOVE if lies_on_table(rule) else _ELEVATIONS
    azimuth, elevation = _angles(view.toward)
    ways = [(side, up - elevation) for up in elevations for side in _ASIDE]
    before = _shares(scene, cloud, view.toward)[[*scene.told]].min()
    best, found = _shown(scene, cloud, view.toward, _ASIDE_CROSSING), None
    for side, up in ways:
        way = _way(azimuth + side, elevation + up)
        # No ring that the words name may hide behind others instead.
        if _shares(scene, cloud, way)[[*scene.told]].min() < min(before, _ENOUGH):
            continue
        if (shown := _shown(scene, cloud, way, _ASIDE_CROSSING)) > best:
            best, found = shown, (side, up)
    if found is None:
        return view
    toward = _way(azimuth + found[0], elevation + found[1])
    now, then = (_crossings(scene, cloud, way) for way in (view.toward, toward))
    if then.min() + then.mean() < now.min() + now.mean() + _GAIN:
        return view
    low, high = _box(scene, toward, scene.told)
    turned, _ = _view(scene, toward, view.across_mm, (low + high - view.across_mm) / 2.0)
    return replace(turned, aside=(round(found[0], 6), round(found[1], 6)))


def _way(azimuth: float, elevation: float) -> Floats:
    """The unit vector to a camera; at azimuth 0 it stands before the piece. In degrees."""
    turn, rise = np.radians([azimuth, elevation])
    flat = np.cos(rise)
    return np.array([flat * np.sin(turn), -flat * np.cos(turn), np.sin(rise)])


def _angles(toward: Floats) -> tuple[float, float]:
    """Azimuth and elevation of a direction, in degrees."""
    turn, rise = np.arctan2(toward[0], -toward[1]), np.arcsin(toward[2])
    return float(np.degrees(turn)), float(np.degrees(rise))


def _view(scene: Scene, toward: Floats, across_mm: float, corner: Floats) -> tuple[View, Floats]:
    """One picture, and where its window is; it moves no more than it has to."""
    corner = _moved_window(scene, toward, across_mm, corner)
    stands = None if scene.new is None else _opened(scene, scene.new, toward)
    piece = scene.piece if stands is None else stands.piece
    opened = None if stands is None else stands.ring
    middle = _middle(corner + across_mm / 2.0, toward)
    room_mm = None if stands is None else stands.room_mm
    return View(scene, piece, opened, toward, middle, across_mm, room_mm), corner


def _middle(flat: Floats, toward: Floats) -> Floats:
    """(3,) the point that lies at a place along the picture's right and up."""
    right, up = screen(toward)
    middle: Floats = flat[0] * right + flat[1] * up
    return middle


def screen(toward: Floats) -> tuple[Floats, Floats]:
    """The picture's right and up, (3,) each, for a camera in this direction."""
    right = np.cross([0.0, 0.0, 1.0], toward)
    right /= np.linalg.norm(right)
    return right, np.cross(toward, right)


# ---- from half-made pieces to scenes ----


def _scene(
    rule: WeaveRule,
    state: HalfMade,
    numbers: Mapping[RingRef, int | str],
    core_radius_mm: float,
    lay: LayNotes,
) -> Scene:
    rings, turn = state.unit.rings, _turn(rule)
    piece = Piece(
        names=tuple(str(numbers[ref]) for ref in state.rings),
        roles=("open",) * len(state.rings),
        centres_mm=rings.centres @ turn.T * core_radius_mm,
        axes=rings.axes @ turn.T,
        core_radii_mm=rings.core_radii * core_radius_mm,
        wire_radii_mm=rings.wire_radii * core_radius_mm,
    )
    place = {ref: at for at, ref in enumerate(state.rings)}
    picked = tuple(place[ref] for ref in state.new if ref != state.step.ring)
    through = tuple(place[ref] for ref in state.step.through if ref not in state.new)
    new = place[state.step.ring]
    named = [at for at, name in enumerate(piece.names) if name in {str(ring) for ring in lay.rings}]
    near = tuple(at for at in named if at not in (new, *picked, *through))
    hangs = not lies_on_table(rule)
    return Scene(piece, state.held, new, picked, through, near, state.at_rest, hangs)


def _part(piece: Piece, at: Sequence[int]) -> Piece:
    where = np.array(at)
    return Piece(
        tuple(piece.names[place] for place in at),
        tuple(piece.roles[place] for place in at),
        piece.centres_mm[where],
        piece.axes[where],
        piece.core_radii_mm[where],
        piece.wire_radii_mm[where],
    )


# ---- what is seen ----


@dataclass(frozen=True, eq=False)
class Cloud:
    """Rings as points all over them, dense enough for a grid of ``cell_mm``.

    Attributes
    ----------
    points_mm : (n, 3)
    of_ring : (n,) the ring's place in its piece
    """

    points_mm: Floats
    of_ring: Ints
    cell_mm: float


def cloud_of(piece: Piece, cell_mm: float, opened: tuple[int, OpenRing] | None = None) -> Cloud:
    """The rings of a piece as points; one of them may stand open."""
    clouds = [
        _scattered(piece, ring, cell_mm)
        if opened is None or ring != opened[0]
        else _scattered_open(opened[1], cell_mm)
        for ring in range(len(piece))
    ]
    of_ring = np.repeat(np.arange(len(piece)), [len(cloud) for cloud in clouds])
    return Cloud(np.concatenate(clouds), of_ring, cell_mm)


def seen(cloud: Cloud, toward: Floats) -> tuple[Ints, Floats]:
    """Which ring is in front on a coarse grid: a picture of numbers.

    Returns
    -------
    front : (rows, columns), rows upwards; the ring's place in the piece, -1 for nothing
    corner : (2,) the lower left corner, along the picture's right and up
    """
    right, up = screen(toward)
    flat = np.stack([cloud.points_mm @ right, cloud.points_mm @ up], axis=1)
    corner = flat.min(axis=0) - cloud.cell_mm
    column, row = np.floor((flat - corner) / cloud.cell_mm).astype(int).T
    shape = (row.max() + 2, column.max() + 2)
    cell = row * shape[1] + column
    order = np.argsort(cloud.points_mm @ toward, kind="stable")
    front = np.full(shape[0] * shape[1], -1)
    # Of equal places the last one written stays: the nearest.
    front[cell[order]] = cloud.of_ring[order]
    return front.reshape(shape), corner


def _points(length_mm: float, cell_mm: float) -> int:
    return max(8, math.ceil(_DENSE * length_mm / cell_mm))


def _scattered(piece: Piece, ring: int, cell_mm: float) -> Floats:
    """Points all over one ring, (n, 3)."""
    core, wire = float(piece.core_radii_mm[ring]), float(piece.wire_radii_mm[ring])
    axis = piece.axes[ring]
    out = cuts(axis, _points(2.0 * np.pi * (core + wire), cell_mm))
    across = np.linspace(0.0, 2.0 * np.pi, _points(2.0 * np.pi * wire, cell_mm), endpoint=False)
    points = (core + wire * np.cos(across))[:, None] * out[:, None]
    points = points + wire * np.sin(across)[:, None] * axis
    cloud: Floats = piece.centres_mm[ring] + points.reshape(-1, 3)
    return cloud


def _scattered_open(opened: OpenRing, cell_mm: float) -> Floats:
    wire = opened.wire_radius_mm
    around = _points(2.0 * np.pi * (opened.core_radius_mm + wire), cell_mm)
    return opened.mesh(around, _points(2.0 * np.pi * wire, cell_mm)).vertices


def _best_direction(
    made: Sequence[Scene], elevations: Sequence[float], azimuths: Sequence[float]
) -> Floats:
    """The direction from which the rings of every step are seen best."""
    steps = [(scene, cloud_of(scene.piece, _cell(scene.piece))) for scene in made]
    steps = [(scene, cloud) for scene, cloud in steps if scene.new is not None]
    best, toward = -np.inf, np.zeros(3)
    for elevation in elevations:
        for azimuth in azimuths:
            way = _way(azimuth, elevation)
            shares = np.array([_shown(scene, cloud, way, _CROSSING) for scene, cloud in steps])
            # A sheet is as good as its worst step, then as all of them.
            score = float(2.0 * shares.min() + shares.mean())
            if score > best + 1e-9:
                best, toward = score, way
    return toward


def _cell(piece: Piece) -> float:
    return 2.0 * float(piece.wire_radii_mm.min()) / _FINE


def _shown(scene: Scene, cloud: Cloud, toward: Floats, crossing: float) -> float:
    """How well a step's rings, their crossings and the gap are seen: more is better.

    Parameters
    ----------
    crossing : what seeing where they cross counts for
    """
    piece, share = scene.piece, _shares(scene, cloud, toward)
    others = share[[*scene.picked_up, *scene.through]]
    # From straight along its axis a ring that is opened sideways looks closed.
    aslant = float(np.linalg.norm(np.cross(piece.axes[scene.new], toward)))
    gap = min(aslant / _ASLANT, 1.0)
    crossings = _crossings(scene, cloud, toward)
    return float(
        share[scene.new]
        + 0.5 * (others.min() + others.mean() + share[[*scene.told]].min())
        + crossing * (crossings.min() + crossings.mean())
        + 0.4 * gap
    )


def _shares(scene: Scene, cloud: Cloud, toward: Floats) -> Floats:
    """(n,) how much is seen of every ring, as a share of what is seen along its axis alone."""
    piece = scene.piece
    front, _ = seen(cloud, toward)
    cells = np.bincount(front[front >= 0], minlength=len(piece))
    area = 4.0 * np.pi * piece.core_radii_mm * piece.wire_radii_mm / cloud.cell_mm**2
    shares: Floats = np.minimum(cells / area, 1.0)
    return shares


def _crossings(scene: Scene, cloud: Cloud, toward: Floats) -> Floats:
    """(k,) how much is seen of where the new ring crosses each of those it goes through.

    Two rings cross in the cells that both would take, and these are seen where one of the two is
    in front.
    """
    right, up = screen(toward)
    front, corner = seen(cloud, toward)
    flat = np.stack([cloud.points_mm @ right, cloud.points_mm @ up], axis=1)
    column, row = np.floor((flat - corner) / cloud.cell_mm).astype(int).T

    def taken(ring: int | None) -> Bools:
        cells = np.zeros(front.shape, dtype=np.bool_)
        mine = cloud.of_ring == ring
        cells[row[mine], column[mine]] = True
        return cells

    own, shares = taken(scene.new), []
    for other in (*scene.picked_up, *scene.through):
        both = own & taken(other)
        plain = both & ((front == scene.new) | (front == other))
        shares.append(plain.sum() / max(both.sum(), 1))
    return np.array(shares)


# ---- the window ----


def _box(scene: Scene, toward: Floats, rings: Sequence[int]) -> tuple[Floats, Floats]:
    """Lower left and upper right of some rings, along the picture's right and up, in mm."""
    piece, at = scene.piece, np.array(rings)
    sides = np.stack(screen(toward), axis=1)
    reach = piece.core_radii_mm[at, None] * np.sqrt(
        np.clip(1.0 - (piece.axes[at] @ sides) ** 2, 0.0, 1.0)
    )
    reach = reach + piece.wire_radii_mm[at, None]
    middle = piece.centres_mm[at] @ sides
    return (middle - reach).min(axis=0), (middle + reach).max(axis=0)


def _across(made: Sequence[Scene], toward: Floats) -> float:
    """The width and height of every picture."""
    core_mm = float(made[-1].piece.core_radii_mm.max())
    low, high = _box(made[-1], toward, range(len(made[-1].piece)))
    whole = float((high - low).max()) + 2.0 * _MARGIN * core_mm
    if whole <= _WHOLE * core_mm:
        return whole
    boxes = [_box(scene, toward, scene.told) for scene in made]
    needed = max(float((high - low).max()) for low, high in boxes) + 2.0 * _MARGIN * core_mm
    return max(needed, min(whole, _WINDOW * core_mm))


def _first_window(made: Sequence[Scene], toward: Floats, across_mm: float, lies: bool) -> Floats:
    """The first window's lower left corner: about the whole piece where that fits."""
    low, high = _box(made[-1], toward, range(len(made[-1].piece)))
    middle = (low + high - across_mm) / 2.0
    if (high - low <= across_mm).all():
        return middle
    margin = _MARGIN * float(made[0].piece.core_radii_mm.max())
    first_low, first_high = _box(made[0], toward, range(len(made[0].piece)))
    if lies:
        # It grows away from the maker, to the right.
        corner: Floats = first_low - margin
        return corner
    # It grows downwards from its hook.
    return np.array(
        [(first_low[0] + first_high[0] - across_mm) / 2.0, first_high[1] + margin - across_mm]
    )


def _moved_window(scene: Scene, toward: Floats, across_mm: float, corner: Floats) -> Floats:
    """The window's lower left corner: where it was, unless the step's rings are not in it."""
    margin = _MARGIN * float(scene.piece.core_radii_mm.max())
    low, high = _box(scene, toward, scene.told)
    inside = (low - margin / 2.0 >= corner).all() and (
        high + margin / 2.0 <= corner + across_mm
    ).all()
    if inside:
        return corner
    moved = corner.copy()
    # Room for what comes next, as long as the step's rings stay in.
    room = 0.2 * across_mm
    for side in (0, 1):
        if low[side] - margin / 2.0 < corner[side]:
            moved[side] = max(low[side] - margin - room, high[side] + margin - across_mm)
        elif high[side] + margin / 2.0 > corner[side] + across_mm:
            moved[side] = min(high[side] + margin + room - across_mm, low[side] - margin)
    return moved


# ---- the ring put in ----


def _opened(scene: Scene, ring: int, toward: Floats) -> Opened:
    """The ring put in, cut where there is room for its ends and the camera sees them.

    It is opened as wide as the wire needs that has to pass, and less only where it cannot stand
    so without cutting into others. Should it never, it stands where it cuts the least.
    """
    piece = scene.piece
    passes = float(piece.wire_radii_mm[[*scene.picked_up, *scene.through]].max())
    wire = float(piece.wire_radii_mm[ring])
    widest: Opened | None = None
    for clear in CLEAR:
        likely = _likely(piece, ring, toward, 2.0 * wire + clear * 2.0 * passes)
        for at in range(0, len(likely), _TRIED):
            best = -np.inf
            chosen: Opened | None = None
            for opened in likely[at : at + _TRIED]:
                stands = stand_open(piece, scene.held, ring, opened)
                score = _legible(ring, toward, _cell(piece), stands)
                score -= _STIR * stands.moved_mm / wire + 0.1 * abs(opened.lean)
                if stands.room_mm >= 0.0 and score > best:
                    best, chosen = score, stands
                if widest is None or stands.room_mm > widest.room_mm:
                    widest = stands
            if chosen is not None:
                return chosen
    assert widest is not None
    return widest


def _likely(piece: Piece, ring: int, toward: Floats, shift_mm: float) -> list[OpenRing]:
    """Ways for a ring to stand open, those first where there is room and one sees it."""
    wire, cell_mm = float(piece.wire_radii_mm[ring]), _cell(piece)
    front, corner = seen(cloud_of(piece, cell_mm), toward)
    tried = []
    for sign in (1.0, -1.0):
        for cut in cuts(piece.axes[ring], _CUTS):
            for lean in (0, 1, -1):
                opened = OpenRing(
                    piece.centres_mm[ring],
                    sign * piece.axes[ring],
                    float(piece.core_radii_mm[ring]),
                    wire,
                    cut,
                    shift_mm,
                    lean,
                )
                line = opened.core_line(49)
                room = min(least_room(piece, ring, opened, 49) / wire, 0.2)
                # Both ends, and nothing behind or before the gap but air.
                gap = line[0] + np.linspace(0.2, 0.8, 5)[:, None] * (line[-1] - line[0])
                ends = np.concatenate([line[[0, 1, 2, -3, -2, -1]], gap])
                visible = _in_front(front, corner, cell_mm, toward, ends, ring)
                # Both halves alike is how it is done where there is room for it.
                tried.append((room + 1.5 * visible - 0.1 * abs(lean), opened))
    tried.sort(key=lambda each: -each[0])
    return [opened for _, opened in tried[:_SHORTLIST]]


def _legible(ring: int, toward: Floats, cell_mm: float, stands: Opened) -> float:
    """How well one sees that a ring stands open: itself, its two ends, and air between them."""
    opened, piece = stands.ring, stands.piece
    cloud = cloud_of(piece, cell_mm, (ring, opened))
    # Its points run from one end to the other.
    mine = np.flatnonzero(cloud.of_ring == ring)
    # The ends are counted as if they were a ring of their own.
    of_ring = cloud.of_ring.copy()
    where = np.arange(len(mine)) / len(mine)
    ends = (where < _END) | (where > 1.0 - _END)
    of_ring[mine[ends]] = len(piece)
    front, corner = seen(Cloud(cloud.points_mm, of_ring, cell_mm), toward)
    area = 4.0 * np.pi * opened.core_radius_mm * opened.wire_radius_mm / cell_mm**2
    whole = float(np.isin(front, (ring, len(piece))).sum() / area)
    both = min(float((front == len(piece)).sum() / (2.0 * _END * area)), 1.0)
    line = opened.core_line(3)
    gap = line[0] + np.linspace(0.3, 0.7, 5)[:, None] * (line[-1] - line[0])
    return whole + 1.5 * both + _in_front(front, corner, cell_mm, toward, gap, -1)


def _in_front(
    front: Ints, corner: Floats, cell_mm: float, toward: Floats, points: Floats, ring: int
) -> float:
    """The share of points over which the camera sees the ring itself or nothing."""
    right, up = screen(toward)
    flat = np.stack([points @ right, points @ up], axis=1)
    column, row = np.floor((flat - corner) / cell_mm).astype(int).T
    inside = (row >= 0) & (row < front.shape[0]) & (column >= 0) & (column < front.shape[1])
    what = np.full(len(points), -1)
    what[inside] = front[row[inside], column[inside]]
    return float(np.mean((what == ring) | (what < 0)))
