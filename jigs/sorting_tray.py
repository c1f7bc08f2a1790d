"""Sorting tray: a stack of wells, one for each role, size and metal, and a dealing board."""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.jigs.dealing_board import Board, board_for, board_part
from ringwright.jigs.packing import SIMULATED, SOURCE, checked_fill, fill_share
from ringwright.jigs.parts.jig import (
    GREEN,
    ORANGE,
    PURPLE,
    RGB,
    SKY,
    YELLOW,
    Dimensions,
    Jig,
    Mating,
    Part,
    Placed,
)
from ringwright.jigs.parts.lettering import letter_height_mm
from ringwright.jigs.parts.printing import Printer

if TYPE_CHECKING:
    import cadquery as cq

    from ringwright.jigs.parts.prisms import Outline
    from ringwright.jigs.ring_counts import Counts, Kind

NAME = "sorting-tray"

LEAST_WIRE_MM, MOST_WIRE_MM = 0.3, 4.0
MOST_INNER_MM = 30.0
COLOURS: dict[str, RGB] = {"open": ORANGE, "closed": SKY, "end": GREEN, "spare": PURPLE}

# A finger's room, and how deep it reaches for rings. Common practice, no source.
_FINGER_MM = 24.0
_DEEPEST_MM = 18.0
_SCOOP_MM = 14.0
_CORNER_MM = 3.0
_SHALLOWEST_MM = 6.0
# Rings never lie level: so much more than their bulk.
_HEAPED = 1.1
_LEADING_MM = 2.5
_CUT_MM = 2.5
_WALL_MM = 2.4
# From the labels up to what is stacked on them: letters and air.
_OVER_LABEL_MM = 1.2
_BEAK_MM = 4.5
# How much a spout narrows to either side on its way out.
_MOST_SLOPE = 0.5
_GRID_MM = 0.5


@dataclass(frozen=True)
class Well:
    """One well.

    Attributes
    ----------
    kind, count : what lies in it, how many
    number, of : of several wells of a kind
    fill : share of the heap that is metal
    bulk_mm3 : of its rings, a tenth for a rough top included
    deep_mm : from its floor to its fill level
    """

    kind: Kind
    count: int
    number: int
    of: int
    fill: float
    bulk_mm3: float
    deep_mm: float

    @property
    def lines(self) -> tuple[str, ...]:
        """What its label says."""
        size = self.kind.size
        part = f" {self.number}/{self.of}" if self.of > 1 else ""
        lines = (
            f"{self.kind.role} {self.count}{part}",
            f"{_short(size.wire_mm)} / {_short(size.inner_mm)}",
        )
        return (*lines, self.kind.metal) if self.kind.metal else lines


@dataclass(frozen=True)
class SortingTray:
    """The tray's dimensions.

    Attributes
    ----------
    wells : by role, lowest of the stack first
    inside_mm : across the wells, and from their front to the labels
    wall_mm, rim_mm : thickness of the walls, and what is left of it at the top
    foot_mm : height of the foot that goes into the well below
    floor_mm : thickness under the wells
    notch_mm : width and depth of the spout
    clearance_mm : between a foot and the walls around it
    letter_mm : height of letters
    board : or None
    repeats, rows : of the piece; repeats are those of all rows together
    """

    wells: tuple[Well, ...]
    inside_mm: tuple[float, float]
    wall_mm: float
    rim_mm: float
    foot_mm: float
    floor_mm: float
    notch_mm: tuple[float, float]
    clearance_mm: float
    letter_mm: float
    board: Board | None
    repeats: int
    rows: int

    @property
    def inset_mm(self) -> float:
        """From the outside to the foot."""
        return self.wall_mm + self.clearance_mm

    @property
    def drop_mm(self) -> float:
        """How deep what is stacked on a well goes into it."""
        return self.foot_mm + self.inset_mm - self.rim_mm

    @property
    def line_mm(self) -> float:
        """From line to line of a label."""
        return self.letter_mm + _LEADING_MM

    @property
    def labels_mm(self) -> float:
        """Depth of the shelf with the labels."""
        return max(len(well.lines) for well in self.wells) * self.line_mm + 1.5

    @property
    def outside_mm(self) -> tuple[float, float]:
        """Of a well, without its spout."""
        wide_mm, deep_mm = self.inside_mm
        return wide_mm + 2 * self.wall_mm, deep_mm + self.labels_mm + 2 * self.wall_mm

    def shelf_mm(self, well: Well) -> float:
        """Height of the labels' shelf, which is also the fill level."""
        return self.floor_mm + well.deep_mm

    def tall_mm(self, well: Well) -> float:
        """Height of the whole well."""
        return self.shelf_mm(well) + _OVER_LABEL_MM + self.drop_mm


def add_options(parser: argparse.ArgumentParser) -> None:
    """Give the command this jig's options."""
    from ringwright.jigs.parts.options import add_woven

    add_woven(parser)
    parser.add_argument(
        "--length", required=True, metavar="LENGTH", help="least length of the piece, e.g. 180mm"
    )
    parser.add_argument(
        "--width",
        metavar="LENGTH",
        help="least width of a sheet, across its rows (default "
        f"{defaults.typed(defaults.WIDTH_MM)})",
    )
    parser.add_argument(
        "--metal",
        action="append",
        default=[],
        metavar="[WHICH=]NAME",
        help="metal for the labels; WHICH is open, closed, end or one of the rule's rings",
    )
    parser.add_argument(
        "--spare",
        type=float,
        default=defaults.SPARES_PERCENT,
        metavar="PERCENT",
        help="spare rings, in per cent of each size and metal (default "
        "%(default)g; common practice, no source)",
    )
    parser.add_argument(
        "--clasp-rings",
        type=int,
        default=defaults.CLASP_RINGS,
        metavar="N",
        help="rings for the clasp, kept with the end rings (default %(default)s)",
    )
    parser.add_argument(
        "--fill",
        metavar="SHARE",
        help="share of a heap of your rings that is metal, e.g. 0.25 (default: from a simulation)",
    )
    parser.add_argument(
        "--board", action="store_true", help="add a board to deal the rings of each repeat on"
    )


def from_options(options: argparse.Namespace, printer: Printer) -> Jig:
    """The jig that was asked for."""
    fill = None if options.fill is None else checked_fill(options.fill)
    return build(dimensions(_counts(options), printer, fill, options.board))


def _counts(options: argparse.Namespace) -> Counts:
    from ringwright.base.sizes import parse_length
    from ringwright.jigs.parts.options import asked_weave
    from ringwright.jigs.ring_counts import ROLES, counted
    from ringwright.piece.piece import piece_of_length
    from ringwright.weaves.refusals import refuse_without_rows

    if not 0.0 <= options.spare <= 100.0:
        raise BadInput(
            f"--spare {options.spare:g} is outside 0 to 100 per cent; give a number in between."
        )
    if not 0 <= options.clasp_rings <= 100:
        raise BadInput(
            f"--clasp-rings {options.clasp_rings} is outside 0 to 100; give a number in between."
        )
    length_mm = parse_length(options.length, "length")
    width_mm = None if options.width is None else parse_length(options.width, "width")
    report = asked_weave(options)
    rule = report.rule
    if width_mm is not None:
        refuse_without_rows(rule, "--width")
    metals = _metals(options.metal, {*ROLES[:3], *(ring.name for ring in rule.rings)})
    core_mm = report.size.core_radius_mm
    piece, repeats = piece_of_length(rule, report.unit, core_mm, length_mm, width_mm)
    return counted(rule, piece, repeats, metals, options.spare / 100.0, options.clasp_rings)


def _metals(given: Sequence[str], known: set[str]) -> dict[str, str]:
    """Which ring is of which metal."""
    metals = {}
    for text in given:
        which, _, name = text.rpartition("=")
        if which and which not in known:
            raise BadInput(
                f"--metal {text!r}: there is no {which}; give one of {', '.join(sorted(known))}."
            )
        if not 1 <= len(name.strip()) <= 24 or not name.isascii() or not name.isprintable():
            raise BadInput(f"--metal {text!r}: give a name of 1 to 24 plain letters, e.g. copper.")
        metals[which] = name.strip()
    return metals


def dimensions(
    counts: Counts, printer: Printer, fill: float | None = None, board: bool = False
) -> SortingTray:
    """The tray for the rings of a piece.

    Parameters
    ----------
    fill : share of a heap that is metal, for all rings; simulated where None
    board : whether there is a dealing board too

    Raises
    ------
    BadInput
        For rings that no printed tray suits.
    """
    for kind, _ in counts.whole:
        _check_size(kind)
    outer_mm = max(kind.size.outer_mm for kind, _ in counts.whole)
    wire_mm = max(kind.size.wire_mm for kind, _ in counts.whole)
    wall_mm = max(_WALL_MM, 4.0 * printer.extrusion_width_mm)
    rim_mm = max(1.0, printer.least_wall_mm)
    notch_mm = (max(12.0, 1.5 * outer_mm), printer.whole_layers_mm(max(3.0, 2.0 * wire_mm)))
    # What is stacked on a spout closes it.
    foot_mm = notch_mm[1] + 0.2 + rim_mm - wall_mm - printer.clearance_mm
    # Thick enough where the foot's shoulder comes near the inside.
    floor_mm = printer.whole_layers_mm(
        foot_mm + printer.clearance_mm + math.sqrt(2.0) * printer.least_wall_mm + 0.1
    )
    plain = [
        Well(kind, count, 1, 1, fill or fill_share(kind.size.aspect_ratio), 0.0, 0.0)
        for kind, count in counts.whole
    ]
    tray = SortingTray(
        wells=tuple(plain),
        inside_mm=(0.0, 0.0),
        wall_mm=wall_mm,
        rim_mm=rim_mm,
        foot_mm=foot_mm,
        floor_mm=floor_mm,
        notch_mm=notch_mm,
        clearance_mm=printer.clearance_mm,
        letter_mm=letter_height_mm(printer),
        board=board_for(counts, printer) if board else None,
        repeats=counts.repeats,
        rows=counts.rows,
    )
    return _sized(tray, outer_mm, printer)


def _check_size(kind: Kind) -> None:
    size = kind.size
    if not LEAST_WIRE_MM <= size.wire_mm <= MOST_WIRE_MM or size.inner_mm > MOST_INNER_MM:
        raise BadInput(
            f"A sorting tray is for wire of {LEAST_WIRE_MM:g} to {MOST_WIRE_MM:g} mm and rings up "
            f"to {MOST_INNER_MM:g} mm inside, not {size.wire_mm:.3g} mm and {size.inner_mm:.3g} "
            "mm; use cups."
        )


def _sized(tray: SortingTray, outer_mm: float, printer: Printer) -> SortingTray:
    """Wells of one footprint, wide enough for the fullest to be no deeper than a finger."""
    from dataclasses import replace

    from ringwright.jigs.parts.lettering import width_mm

    letters_mm = max(width_mm(line, tray.letter_mm) for well in tray.wells for line in well.lines)
    # A count in several wells reads longer, e.g. 120 2/3.
    wide_mm = max(letters_mm + 16.0, 2.0 * outer_mm, tray.notch_mm[0] + 12.0)
    deep_mm = max(_FINGER_MM, 1.5 * outer_mm)
    bulks = [_HEAPED * well.count * well.kind.metal_mm3 / well.fill for well in tray.wells]
    most_wide_mm = printer.bed_mm[0] - 2.0 * tray.wall_mm - 1.0
    most_deep_mm = printer.bed_mm[1] - 2.0 * tray.wall_mm - tray.labels_mm - _BEAK_MM - 1.0
    if wide_mm > most_wide_mm or deep_mm > most_deep_mm:
        raise BadInput(
            f"A well of {wide_mm:.0f} x {deep_mm:.0f} mm with its labels does not fit the bed; "
            "give a larger --bed or a shorter --metal."
        )
    wide_mm, deep_mm = _grid(wide_mm), _grid(deep_mm)
    while _holds_mm3(wide_mm, deep_mm, _DEEPEST_MM) < max(bulks):
        can_widen = wide_mm + 2.0 <= most_wide_mm
        can_deepen = deep_mm + 2.0 <= most_deep_mm
        if can_widen and (wide_mm < 1.4 * deep_mm or not can_deepen):
            wide_mm += 2.0
        elif can_deepen:
            deep_mm += 2.0
        else:
            break
    cap_mm3 = _holds_mm3(wide_mm, deep_mm, _DEEPEST_MM)
    wells: list[Well] = []
    for well, bulk in zip(tray.wells, bulks, strict=True):
        of = math.ceil(bulk / cap_mm3 - 1e-9)
        for number in range(1, of + 1):
            count = well.count * number // of - well.count * (number - 1) // of
            share = bulk * count / well.count
            least_mm = max(_SHALLOWEST_MM, 0.5 * outer_mm)
            deep = _deep_mm(wide_mm, deep_mm, share, least_mm, printer)
            wells.append(replace(well, count=count, number=number, of=of, bulk_mm3=share,
                                 deep_mm=deep))  # fmt: skip
    return replace(tray, wells=tuple(wells), inside_mm=(wide_mm, deep_mm))


def _deep_mm(
    wide_mm: float, deep_mm: float, bulk_mm3: float, least_mm: float, printer: Printer
) -> float:
    """The least depth, in whole layers, that holds a heap."""
    tall_mm = printer.whole_layers_mm(least_mm)
    while _holds_mm3(wide_mm, deep_mm, tall_mm) < bulk_mm3 - 1e-6:
        tall_mm = printer.whole_layers_mm(tall_mm + printer.layer_height_mm)
    return tall_mm


def _holds_mm3(wide_mm: float, deep_mm: float, tall_mm: float) -> float:
    """A well's room up to its fill level: a box less its rounded front and back edge."""
    lost = (1.0 - math.pi / 4.0) * (min(tall_mm, _SCOOP_MM) ** 2 + _CORNER_MM**2)
    # The corners are cut off; this is a little more than what that takes.
    return (wide_mm * deep_mm - _CUT_MM**2) * tall_mm - wide_mm * lost


def _grid(value_mm: float) -> float:
    return math.ceil(value_mm / _GRID_MM - 1e-9) * _GRID_MM


def build(tray: SortingTray) -> Jig:
    """The jig of these dimensions."""
    import cadquery as cq

    names = _names(tray.wells)
    parts = [_well(tray, well, name) for well, name in zip(tray.wells, names, strict=True)]
    parts.append(_lid(tray))
    placed, mating, z_mm = [], [], 0.0
    heights = [tray.tall_mm(well) - tray.drop_mm for well in tray.wells]
    for index, part in enumerate(parts):
        placed.append(
            Placed(
                part.name,
                part.name,
                cq.Location(cq.Vector(0, 0, z_mm)),
                (0, 0, 0.7 * tray.outside_mm[1] * index),
            )
        )
        if index:
            mating.append(Mating(parts[index - 1].name, part.name, 0.0, "rim carries shoulder"))
        if index < len(heights):
            z_mm += heights[index]
    board = tray.board
    if board is not None:
        parts.append(board_part(board))
        size = parts[-1].solid.BoundingBox()
        x_mm = tray.outside_mm[0] / 2.0 + size.xlen / 2.0 + 12.0
        for index in range(board.boards):
            at = cq.Location(cq.Vector(x_mm, 0, index * (size.zlen + 4.0)))
            placed.append(Placed(f"board-{index + 1}", "board", at, (12.0, 0, 6.0 * index)))
    return Jig(
        name=NAME,
        title="Sorting tray",
        parts=tuple(parts),
        bought=(),
        placed=tuple(placed),
        mating=tuple(mating),
        use=_use(tray),
        cautions=(
            "Rings are small enough to choke a child or an animal: put the lid on and the stack "
            "away.",
            "Cut ends are sharp: deburr rings before sorting them by hand.",
            "Keep metals with nickel or lead in wells of their own, and wash hands after handling "
            "them.",
        ),
        remarks=_remarks(tray),
        facts=_facts(tray),
    )


def _names(wells: Sequence[Well]) -> list[str]:
    """Names of parts, each once: the role, and a number where there are several."""
    roles = [well.kind.role for well in wells]
    names, seen = [], dict.fromkeys(roles, 0)
    for role in roles:
        seen[role] += 1
        names.append(role if roles.count(role) == 1 else f"{role}-{seen[role]}")
    return names


def _outline(tray: SortingTray, inset_mm: float) -> Outline:
    """The outside, moved inwards on all sides."""
    from ringwright.jigs.parts.prisms import rounded

    wide_mm, deep_mm = tray.outside_mm
    cut_mm = _CUT_MM + 0.5 - inset_mm * (2.0 - math.sqrt(2.0))
    return rounded(wide_mm - 2.0 * inset_mm, deep_mm - 2.0 * inset_mm, max(cut_mm, 0.3))


def _well(tray: SortingTray, well: Well, name: str) -> Part:
    """A box on a foot, scooped out, with a shelf for its labels behind and a spout in front."""
    import cadquery as cq

    from ringwright.jigs.parts.lettering import raised
    from ringwright.jigs.parts.prisms import frustum, prism

    wall, rim, inset = tray.wall_mm, tray.rim_mm, tray.inset_mm
    top, shelf = tray.tall_mm(well), tray.shelf_mm(well)
    front = -tray.outside_mm[1] / 2.0
    outside, inside = _outline(tray, 0.0), _outline(tray, wall)
    foot = _outline(tray, inset)
    body = prism(outside, tray.foot_mm + inset, top).fuse(
        frustum(foot, tray.foot_mm, outside, tray.foot_mm + inset),
        prism(foot, 0.0, tray.foot_mm),
        _beak(tray, top),
    )
    chamfer = top - (wall - rim)
    room = (
        prism(inside, shelf, chamfer)
        .fuse(
            frustum(inside, chamfer, _outline(tray, rim), top),
            _scooped(tray, well).intersect(prism(inside, 0.0, shelf)),
        )
        .fuse(_channel(tray, top))
    )
    body = cq.Workplane(obj=body.cut(room).clean()).val()
    back = front + wall + tray.inside_mm[1]
    labels = []
    for line, text in enumerate(well.lines):
        y_mm = back + tray.labels_mm - 1.0 - (line + 0.5) * tray.line_mm
        labels.append(raised(text, (0.0, y_mm, shelf), tray.letter_mm))
    return Part(name, body.Solids()[0], COLOURS[well.kind.role], tuple(labels))


def _scooped(tray: SortingTray, well: Well) -> cq.Shape:
    """What is taken out below the fill level: a floor that rises to the front in a curve."""
    import cadquery as cq

    wide_mm, deep_mm = tray.inside_mm
    front = -tray.outside_mm[1] / 2.0 + tray.wall_mm
    low, high = tray.floor_mm, tray.shelf_mm(well)
    scoop, corner = min(well.deep_mm, _SCOOP_MM), _CORNER_MM
    bend = 1.0 - math.sqrt(0.5)
    side = cq.Workplane("YZ", origin=(-wide_mm / 2.0, 0, 0)).moveTo(front, high)
    if scoop < well.deep_mm:
        side = side.lineTo(front, low + scoop)
    side = (
        side.threePointArc((front + bend * scoop, low + bend * scoop), (front + scoop, low))
        .lineTo(front + deep_mm - corner, low)
        .threePointArc(
            (front + deep_mm - bend * corner, low + bend * corner),
            (front + deep_mm, low + corner),
        )
        .lineTo(front + deep_mm, high)
        .close()
    )
    return side.extrude(wide_mm).val()


def _beak(tray: SortingTray, top: float) -> cq.Shape:
    """The body of the spout, in front of the wall, rising at 45 degrees."""
    import cadquery as cq

    width, deep = tray.notch_mm
    front = -tray.outside_mm[1] / 2.0
    cheek = max(1.4, 1.2 * tray.rim_mm)
    plan = _spout(width, cheek, (front + 0.5, front, front - _BEAK_MM))
    low = top - deep - 1.6 - _BEAK_MM
    from ringwright.jigs.parts.prisms import prism

    # What lies under the slope from the wall to the tip.
    under = (
        cq.Workplane("YZ", origin=(-width, 0, 0))
        .moveTo(front + 1.0, low - 1.0)
        .lineTo(front - _BEAK_MM - 1.0, low + _BEAK_MM + 1.0)
        .lineTo(front - _BEAK_MM - 1.0, low - 1.0)
        .close()
        .extrude(2.0 * width)
    )
    return prism(plan, low, top).cut(under.val())


def _channel(tray: SortingTray, top: float) -> cq.Shape:
    """What the rings run out through, with a ramp up to it from the scoop."""
    import cadquery as cq

    from ringwright.jigs.parts.prisms import prism

    width, deep = tray.notch_mm
    front = -tray.outside_mm[1] / 2.0
    back = front + tray.wall_mm
    low = top - deep
    plan = _spout(width, 0.0, (back + 0.5, front, front - _BEAK_MM - 0.5))
    ramp = (
        cq.Workplane("YZ", origin=(-width / 2.0, 0, 0))
        .moveTo(back + 0.5, low)
        .lineTo(back - 1.2, low)
        .lineTo(back, low - 1.2)
        .lineTo(back + 0.5, low - 1.2)
        .close()
        .extrude(width)
    )
    return prism(plan, low, top + 1.0).fuse(ramp.val())


def _spout(width: float, cheek: float, ends: tuple[float, float, float]) -> Outline:
    """A spout from above, with its cheeks: straight through the wall, then narrowing.

    Parameters
    ----------
    ends : y of its back, of the wall's front, and of the tip; the outline is counter-clockwise
    """
    back, front, tip = ends
    slope = min(_MOST_SLOPE, 0.175 * width / _BEAK_MM)
    half = width / 2.0 + cheek
    end = half - slope * (front - tip)
    return ((-end, tip), (end, tip), (half, front), (half, back), (-half, back), (-half, front))


def _lid(tray: SortingTray) -> Part:
    """A plate with the foot of a well."""
    from ringwright.jigs.parts.prisms import frustum, prism

    foot, outside = _outline(tray, tray.inset_mm), _outline(tray, 0.0)
    high = tray.foot_mm + tray.inset_mm
    body = prism(foot, 0.0, tray.foot_mm).fuse(
        frustum(foot, tray.foot_mm, outside, high),
        prism(outside, high, high + 1.2),
        frustum(outside, high + 1.2, _outline(tray, 0.8), high + 2.0),
    )
    return Part("lid", body.clean().Solids()[0], YELLOW, turns=(("x", 180.0),))


def _use(tray: SortingTray) -> tuple[str, ...]:
    steps = [
        "Print every well as it lies in its file, the lid on its top; no supports.",
        "Sort the rings into their wells: count them once by weight, in lots of 50, rather than "
        "one by one.",
        "Slide a ring up the curved front with a finger; tilt a well over its spout to pour the "
        "rest back.",
        "Labels give role, count, and wire / inner diameter in mm.",
        "Stack the wells in any order, their spouts to the front, and close the top one with the "
        "lid; what stands on a well also closes its spout.",
    ]
    if tray.board is not None:
        rings = ", ".join(f"{count} {kind.role}" for kind, count, _ in tray.board.slots)
        steps.append(
            f"Deal the rings onto the board on edge: every cell takes one repeat, {rings} from "
            "left to right. A full slot takes no further ring; an open one is short of a ring. "
            "The figure before a row is the number of its first repeat."
        )
        if tray.rows > 1:
            steps.append(
                f"The sheet has {tray.rows} rows of {tray.repeats // tray.rows} repeats; the "
                "next row begins in the cell after the last one of a row."
            )
        if tray.board.passes > 1:
            steps.append(
                f"The piece has more repeats than {tray.board.boards} boards hold: fill all of "
                f"them {tray.board.passes} times."
            )
    return tuple(steps)


def _remarks(tray: SortingTray) -> tuple[str, ...]:
    lines = [
        "How much of a heap is metal is "
        + SOURCE
        + ". Walls loosen a heap (a wider box held 5 per cent more); tapping settles it. "
        "Open rings hook into each other and lie looser still: a well of them is best filled "
        "without tapping. Overrule it with --fill.",
        "A tenth is added for a rough top; spares and the number of clasp rings are the maker's "
        "choice.",
    ]
    ratios = [well.kind.size.aspect_ratio for well in tray.wells]
    if min(ratios) < SIMULATED[0] or max(ratios) > SIMULATED[1]:
        lines.append(
            f"The simulation covers aspect ratios of {SIMULATED[0]:g} to {SIMULATED[1]:g}; these "
            "rings lie beyond, where its curve is only drawn on."
        )
    if tray.board is not None:
        lines.append(
            "Slots count an open ring as 2.2 wires wide and a closed one as 1.1 (common practice, "
            "no source): open all rings alike."
        )
    return tuple(lines)


def _facts(tray: SortingTray) -> Dimensions:
    facts: dict[str, str | float | Sequence[float]] = {
        "inside_mm": list(tray.inside_mm),
        "wall_mm": tray.wall_mm,
        "spout_width_and_depth_mm": list(tray.notch_mm),
    }
    if tray.rows > 1:
        facts |= {"rows": tray.rows, "repeats_in_a_row": tray.repeats // tray.rows}
    facts["repeats"] = tray.repeats
    for name, well in zip(_names(tray.wells), tray.wells, strict=True):
        key = name.replace("-", "_")
        facts[f"{key}_rings"] = well.count
        facts[f"{key}_well_deep_mm"] = well.deep_mm
        facts[f"{key}_share_of_metal"] = round(well.fill, 4)
    if tray.board is not None:
        facts |= {
            "board_columns_and_rows": [tray.board.columns, tray.board.rows],
            "board_cells": tray.board.cells,
            "boards": tray.board.boards,
            "fillings_of_all_boards": tray.board.passes,
            "board_slots_mm": [length for _, _, length in tray.board.slots],
        }
    return facts


def _short(value_mm: float) -> str:
    return f"{value_mm:.2f}".rstrip("0").rstrip(".")
