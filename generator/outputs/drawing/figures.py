"""The figures of a drawing, each in its own millimetres at full size: three views and a ring."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import Rings
from ringwright.outputs.drawing.marks import Dimension, Point, Stroke
from ringwright.outputs.drawing.outline import View
from ringwright.outputs.drawing.visibility import outlines
from ringwright.piece.piece import Piece, rows_of
from ringwright.solver.climb import Unit
from ringwright.solver.measure import all_round, extent, flattest
from ringwright.weaves.rest_states import PULLED, RestState
from ringwright.weaves.rule import WeaveRule

# From the edge of a view to the dimension line beside it, on paper.
_BESIDE_MM = 8.0
# How far the axis of a chain is drawn beyond its ends, as a share of the wire.
_AXIS_BEYOND = 0.6
# Chords of the plain ring's circles.
_CHORDS = 360


@dataclass(frozen=True, eq=False)
class Figure:
    """One figure; everything in millimetres at full size, offsets of dimensions on paper.

    Attributes
    ----------
    name : "front", "side", "end" or "ring"
    caption : what is written above it
    low, high : (2,) corners of the box around its outlines
    """

    name: str
    caption: str
    strokes: tuple[Stroke, ...]
    dimensions: tuple[Dimension, ...]
    low: Floats
    high: Floats

    @property
    def size(self) -> Floats:
        """Width and height, (2,)."""
        return self.high - self.low


def three_views(flat: float) -> tuple[View, View, View]:
    """Front, side and end view of a piece along x, by the first-angle method.

    Parameters
    ----------
    flat : the turn about x of the thinnest way through the piece, which the front view
        looks along: it shows the piece as it lies on a table
    """
    x = np.array([1.0, 0.0, 0.0])
    through = np.array([0.0, -np.sin(flat), np.cos(flat)])
    across = np.array([0.0, np.cos(flat), np.sin(flat)])
    return (
        View("front", x, across, through),
        View("side", x, -through, across),
        View("end", through, across, -x),
    )


def view_figures(
    rule: WeaveRule,
    unit: Unit,
    core_radius_mm: float,
    piece: Piece,
    with_hidden: bool,
    state: RestState = PULLED,
) -> tuple[Figure, Figure, Figure]:
    """Front, side and end view of a piece, with outlines, axes and dimensions.

    Parameters
    ----------
    unit, core_radius_mm : the settled unit and its unit of length
    piece : some repeats of it
    with_hidden : whether hidden lines are drawn
    state : that the piece is in; if there is a table, it is z = 0. What is worn goes round in the
        plane that the front view shows, and its dimensions are length, height and width
    """
    is_pulled, is_worn = state == PULLED, state.body is not None
    # The plane of a sheet is the rule's own; one row of it may be thinner some other way.
    upright = rule.family.has_rows or not is_pulled
    front, side, end = three_views(0.0 if upright else flattest(all_round(unit)))
    # The room that further repeats take up follows from the unit pulled straight.
    has_room = is_pulled and not unit.lattice.kind.is_flat
    box = _box(unit if has_room else None, core_radius_mm, piece, front)
    # Round a form, no repeat lies along x from the one before.
    pairs = {} if is_worn else _same_rings(rule, piece, at_edge=is_pulled)
    wide, thick = ("height", "width") if is_worn else ("width", "thickness")
    places = front.flat(piece.centres_mm)

    def corner(view: View, which: int) -> Floats:
        return np.array([_along(box, front, way)[which] for way in (view.right, view.up)])

    def figure(view: View, caption: str, dimensions: list[Dimension]) -> Figure:
        low, high = corner(view, 0), corner(view, 1)
        strokes = _lines(piece.rings(), view, with_hidden)
        if rule.family.has_axis and not is_worn:
            strokes += _axis(view, low, high, float(piece.wire_radii_mm.max()))
        if has_room:
            strokes += _envelope(view, low, high)
        if state.lies and view is not front:
            strokes.append(_table(view, low, high))
        return Figure(view.name, caption, tuple(strokes), tuple(dimensions), low, high)

    low, high = corner(front, 0), corner(front, 1)
    seen = [_span(wide, low, high, True, float(low[0]), -_BESIDE_MM)]
    if "repeat" in pairs:
        first, second = (_point(places[row]) for row in pairs["repeat"])
        seen.append(Dimension("repeat", first, second, False, float(high[1]), _BESIDE_MM))
    if "row" in pairs:
        first, second = (_point(places[row]) for row in pairs["row"])
        seen.append(Dimension("row", first, second, True, float(high[0]), _BESIDE_MM))
    views = [figure(front, f"front, as it {state.does}", seen)]
    low, high = corner(side, 0), corner(side, 1)
    seen = [_span("length", low, high, False, float(low[1]), -_BESIDE_MM)]
    views.append(figure(side, "side", seen))
    low, high = corner(end, 0), corner(end, 1)
    seen = [_span(thick, low, high, False, float(low[1]), -_BESIDE_MM)]
    views.append(figure(end, "end", seen))
    return views[0], views[1], views[2]


def ring_figure(size: RingSize) -> Figure:
    """A single ring face on, with its wire, inner diameter and aspect ratio."""
    inner, outer = size.inner_mm / 2, size.outer_mm / 2
    angles = np.linspace(0.0, 2 * np.pi, _CHORDS + 1)
    circle = np.column_stack([np.cos(angles), np.sin(angles)])
    reach = outer + 0.6 * size.wire_mm
    cross = np.array([[-reach, 0.0], [reach, 0.0]])
    strokes = (
        Stroke(outer * circle, "visible"),
        Stroke(inner * circle, "visible"),
        Stroke(cross, "centre"),
        Stroke(cross[:, ::-1], "centre"),
    )
    dimensions = (
        Dimension("inner", (-inner, 0.0), (inner, 0.0), False, -outer, -7.0, "Ø"),
        Dimension("wire", (inner, 0.0), (outer, 0.0), False, outer, 4.0, "Ø"),
    )
    corner = np.array([outer, outer])
    return Figure("ring", "", strokes, dimensions, -corner, corner)


def _box(
    turns: Unit | None, core_radius_mm: float, piece: Piece, front: View
) -> dict[str, tuple[float, float]]:
    """Extents along, across and through the piece; of every turn, for a unit that turns."""
    rings = piece.rings()
    box = {"along": extent(rings, front.right)}
    scale = 1.0 if turns is None else core_radius_mm
    whole = rings if turns is None else all_round(turns)
    for name, way in (("across", front.up), ("through", front.toward)):
        low, high = extent(whole, way)
        box[name] = (low * scale, high * scale)
    return box


def _along(box: dict[str, tuple[float, float]], front: View, way: Floats) -> tuple[float, float]:
    """The box along a direction that is one of the front view's, or its opposite."""
    for name, axis in (("along", front.right), ("across", front.up), ("through", front.toward)):
        turn = float(way @ axis)
        if abs(turn) > 0.5:
            low, high = box[name]
            return (low, high) if turn > 0 else (-high, -low)
    raise ValueError("not a direction of the front view")


def _same_rings(rule: WeaveRule, piece: Piece, at_edge: bool) -> dict[str, tuple[int, int]]:
    """Two rings one repeat apart, and two of neighbouring rows of a sheet, by their indices.

    Where all repeats are alike they are at the edge; else in the middle, where ends do not count.
    """
    index = {name: row for row, name in enumerate(piece.names)}
    found: dict[str, tuple[int, int]] = {}
    # Rings at the edge, so that extension lines cross as few others as possible.
    if not rule.family.repeats:
        return found
    from_middle = np.linalg.norm(piece.centres_mm - piece.centres_mm.mean(axis=0), axis=1)
    order = -piece.centres_mm[:, 1] if at_edge else from_middle
    for row in np.argsort(order.round(6), kind="stable"):
        ring, first, *numbers = piece.names[row].split(".")
        other = index.get(".".join([ring, str(int(first) - 1), *numbers]))
        if other is not None:
            found["repeat"] = (other, int(row))
            break
    # Where edge rows lean out, rows are no straight lines any more.
    rows = rows_of(piece, lying=True) if rule.family.has_rows and at_edge else []
    if len(rows) > 1:
        # At the right edge, in the two rows at the far one.
        found["row"] = (rows[1][-1], rows[0][-1])
    return found


def _span(
    name: str, low: Floats, high: Floats, vertical: bool, edge: float, offset_mm: float
) -> Dimension:
    """A dimension over the whole of a figure, from its box."""
    side = (edge, edge)
    if vertical:
        first, second = (side[0], float(low[1])), (side[1], float(high[1]))
    else:
        first, second = (float(low[0]), side[0]), (float(high[0]), side[1])
    return Dimension(name, first, second, vertical, edge, offset_mm)


def _point(place: Floats) -> Point:
    return float(place[0]), float(place[1])


def _lines(rings: Rings, view: View, with_hidden: bool) -> list[Stroke]:
    found = outlines(rings, view)
    strokes = [Stroke(line, "visible") for line in found.seen]
    if with_hidden:
        strokes += [Stroke(line, "hidden") for line in found.hidden]
    return strokes


def _axis(view: View, low: Floats, high: Floats, wire_radius_mm: float) -> list[Stroke]:
    """The centre line of a chain, or two that cross where it is seen from its end."""
    beyond = 2 * _AXIS_BEYOND * wire_radius_mm
    middle = (low + high) / 2
    lines = [[[low[0] - beyond, middle[1]], [high[0] + beyond, middle[1]]]]
    if view.name == "end":
        lines.append([[middle[0], low[1] - beyond], [middle[0], high[1] + beyond]])
    return [Stroke(np.array(line), "centre") for line in lines]


def _table(view: View, low: Floats, high: Floats) -> Stroke:
    """The table, z = 0, seen along it: what lies beside a part is drawn as an envelope is."""
    along, level = (0, 1) if abs(view.up[2]) > abs(view.right[2]) else (1, 0)
    line = np.zeros((2, 2))
    beyond = 0.05 * float(high[along] - low[along])
    line[:, along] = low[along] - beyond, high[along] + beyond
    line[:, level] = 0.0
    return Stroke(line, "envelope")


def _envelope(view: View, low: Floats, high: Floats) -> list[Stroke]:
    """The room that a turning chain takes up further along than is drawn."""
    if view.name == "end":
        corners = [low, (high[0], low[1]), high, (low[0], high[1]), low]
        return [Stroke(np.array([one, two]), "envelope") for one, two in pairwise(corners)]
    return [
        Stroke(np.array([[low[0], level], [high[0], level]]), "envelope")
        for level in (low[1], high[1])
    ]
