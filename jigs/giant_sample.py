"""Giant sample: some repeats of a weave, enlarged, printed in place with the rings apart."""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.colour.role_looks import GROOVE_WIDE, ROLE_LOOKS
from ringwright.jigs.parts.jig import Dimensions, Jig, Mating, Part, Placed
from ringwright.jigs.parts.printing import Printer

if TYPE_CHECKING:
    import cadquery as cq

    from ringwright.answers.verdict import Report
    from ringwright.piece.piece import Piece
    from ringwright.weaves.rule import WeaveRule

NAME = "giant-sample"

# Printed wire thinner than this breaks when rings are bent or pulled. Common practice, no source.
_LEAST_WIRE_MM = 4.0
# Share of the room between the rings that the gap may take; the rest lets them move.
_SHARE = 0.7
_SCALE_STEP = 0.1
_LARGEST = 200.0
_MOST_RINGS = 80
_REPEATS, _SHEET_REPEATS = 2, 3
# A groove narrower than two beads of the nozzle's width does not show. Common practice, no source.
_GROOVE_NOZZLES = 2.0
# The lowest rings get a flat so that they stick to the bed.
_FLAT_MM = 0.5
_TRIES = 4


@dataclass(frozen=True, eq=False)
class GiantSample:
    """The sample's dimensions.

    Attributes
    ----------
    weave : its name
    size : the true ring
    scale : how many times as large it is printed
    gap_mm : that was kept between any two rings of the print
    smallest_mm : between any two rings, by their circles
    between_mm : between any ring to open and any closed one; infinite without both
    piece : the printed rings, enlarged, the lowest at z = 0
    flat_mm : how much is cut off below
    room_mm : across the bed, along and up
    lesson : the weave that it teaches, with grooves around the rings to open; or None
    """

    weave: str
    size: RingSize
    scale: float
    gap_mm: float
    smallest_mm: float
    between_mm: float
    piece: Piece
    flat_mm: float
    room_mm: tuple[float, float, float]
    lesson: Report | None = None

    @property
    def groove_mm(self) -> float:
        """The depth of the deepest groove; 0 without any."""
        if self.lesson is None or "open" not in self.piece.roles:
            return 0.0
        wide = [
            GROOVE_WIDE * 2.0 * float(wire_mm)
            for wire_mm, role in zip(self.piece.wire_radii_mm, self.piece.roles, strict=True)
            if ROLE_LOOKS[role].grooves_rad
        ]
        return max(wide, default=0.0) / 2.0


def add_options(parser: argparse.ArgumentParser) -> None:
    """Give the command this jig's options."""
    from ringwright.jigs.parts.options import add_woven

    add_woven(parser)
    parser.add_argument(
        "--gap",
        metavar="SIZE",
        help="gap between the printed rings (default: twice the printer's clearance)",
    )
    parser.add_argument(
        "--scale",
        type=float,
        metavar="TIMES",
        help="how many times as large as the real weave (default: the least that leaves the gap)",
    )
    parser.add_argument(
        "--repeats",
        type=int,
        metavar="N",
        help=f"number of repeats (default {_REPEATS}, or {_SHEET_REPEATS} for a sheet)",
    )
    parser.add_argument(
        "--rows",
        type=int,
        metavar="N",
        help=f"number of rows of a sheet (default {_SHEET_REPEATS})",
    )
    parser.add_argument(
        "--teaching",
        action="store_true",
        help="mark the rings to open with grooves, and add an assembly sheet in the sample's "
        "colours",
    )


def from_options(options: argparse.Namespace, printer: Printer) -> Jig:
    """The jig that was asked for."""
    from ringwright.base.sizes import parse_length
    from ringwright.jigs.parts.options import asked_weave

    gap_mm = None if options.gap is None else parse_length(options.gap, "gap")
    report = asked_weave(options)
    return build(
        dimensions(
            report,
            printer,
            gap_mm,
            options.scale,
            options.repeats,
            options.rows,
            teaching=options.teaching,
        )
    )


def dimensions(
    report: Report,
    printer: Printer,
    gap_mm: float | None = None,
    scale: float | None = None,
    repeats: int | None = None,
    rows: int | None = None,
    teaching: bool = False,
) -> GiantSample:
    """The sample of a weave, settled with the gap kept between all rings.

    Every wire is thickened by the gap, as it is at the true size, on the same core circles; the
    weave is settled with that; then the true wires are put back. So no two rings are nearer than
    the gap, and those that carry the pull are just that far apart.

    Parameters
    ----------
    report : the weave at its true size
    gap_mm : between printed rings; twice the printer's clearance if None
    scale : how many times as large; if None, the least at which the gap leaves the rings room
        to move and the printed wire is 4 mm
    repeats, rows : how many; by default 2, of a sheet 3
    teaching : whether rings to open get grooves, and the weave's assembly sheet comes with it

    Raises
    ------
    BadInput
        Where the weave has no room for the gap at this aspect ratio, or the print is too large.
    NoRest
        When the solver finds no resting place for the thickened wires.
    """
    if gap_mm is None:
        gap_mm = 2.0 * printer.clearance_mm
    if gap_mm < printer.clearance_mm:
        raise BadInput(
            f"a gap of {gap_mm:g} mm is less than the printer's clearance of "
            f"{printer.clearance_mm:g} mm: the rings would fuse; give a larger --gap."
        )
    usual = _SHEET_REPEATS if report.rule.family.has_rows else _REPEATS
    repeats = usual if repeats is None else repeats
    rows = usual if rows is None else rows
    if not 1 <= repeats <= _MOST_RINGS or not 1 <= rows <= _MOST_RINGS:
        raise BadInput(f"--repeats and --rows must each be 1 to {_MOST_RINGS}; give such numbers.")
    rule, size = report.rule, report.size
    groove_wire_mm = _GROOVE_NOZZLES * printer.nozzle_mm / GROOVE_WIDE if teaching else 0.0
    times = _least_scale(report, gap_mm, groove_wire_mm) if scale is None else scale
    if not 1.0 <= times <= _LARGEST:
        raise BadInput(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.3g} has {report.room_mm:.2g} mm of "
            f"room between its rings: for a gap of {gap_mm:g} mm it would have to be "
            f"{times:.3g} times as large, where 1 to {_LARGEST:g} can be made; take a larger ring."
        )
    if times * _thinnest_open_mm(report) < groove_wire_mm - 1e-9:
        raise BadInput(
            f"{times:.3g} times as large the wire of rings to open is "
            f"{times * _thinnest_open_mm(report):.2g} mm thick, too thin for grooves that a nozzle "
            f"of {printer.nozzle_mm:g} mm can print, which take {groove_wire_mm:.2g} mm; give a "
            "larger --scale, or leave out --teaching."
        )
    settled, times = _settled(report, gap_mm, times, adjust=scale is None)
    made = _enlarged(report, settled, times, gap_mm, (repeats, rows), printer)
    return replace(made, lesson=report) if teaching else made


def _settled(report: Report, gap_mm: float, times: float, adjust: bool) -> tuple[Report, float]:
    """The weave settled in thickened wires, and the scale: a larger one where it may ``adjust``."""
    from ringwright.answers.verdict import check

    rule, size = report.rule, report.size
    others = any(ring.size is not None for ring in rule.rings)
    for attempt in range(_TRIES):
        thicker_mm = gap_mm / times
        if size.inner_mm - thicker_mm > size.wire_mm + thicker_mm:
            thick_rule, thick = _thickened(rule, size, thicker_mm)
            found = check(thick_rule, thick, limit=None if others else report.tightest)
            if found.can_be_woven:
                return found, times
        if not adjust or attempt == _TRIES - 1:
            break
        times = _rounded(1.4 * times)
    raise BadInput(
        f"{rule.name} at aspect ratio {size.aspect_ratio:.3g}, {times:.3g} times as large, has no "
        f"room for a gap of {gap_mm:g} mm; give a larger --scale or ring."
    )


def _least_scale(report: Report, gap_mm: float, groove_wire_mm: float) -> float:
    """The least scale with room for the gap, wire that does not break, and room for grooves."""
    if report.room_mm <= 1e-6:
        return math.inf
    least = (
        gap_mm / (_SHARE * report.room_mm),
        _LEAST_WIRE_MM / report.size.wire_mm,
        groove_wire_mm / _thinnest_open_mm(report),
        1.0,
    )
    return _rounded(max(least))


def _thinnest_open_mm(report: Report) -> float:
    """The thinnest wire of rings to open, at its true size; infinite without any."""
    wires = report.unit.rings.wire_radii * report.size.core_radius_mm
    opened = [
        2.0 * float(wire)
        for wire, ring in zip(wires, report.rule.rings, strict=True)
        if ring.role == "open"
    ]
    return min(opened, default=math.inf)


def _rounded(scale: float) -> float:
    return round(math.ceil(scale / _SCALE_STEP - 1e-9) * _SCALE_STEP, 6)


def _thickened(rule: WeaveRule, size: RingSize, by_mm: float) -> tuple[WeaveRule, RingSize]:
    """The weave with every wire thicker, on the same core circles."""
    rings = []
    for ring in rule.rings:
        other = ring.size
        if other is not None:
            if other.wire_mm is not None and other.inner_mm is not None:
                wire_mm, inner_mm = other.wire_mm, other.inner_mm
            else:
                wire_mm = size.wire_mm * other.wire
                inner_mm = 2.0 * size.core_radius_mm * other.core - wire_mm
            other = replace(
                other, core=1.0, wire=1.0, wire_mm=wire_mm + by_mm, inner_mm=inner_mm - by_mm
            )
        rings.append(replace(ring, size=other))
    thick = RingSize(size.wire_mm + by_mm, size.inner_mm - by_mm)
    return replace(rule, rings=tuple(rings), computed=None), thick


def _enlarged(
    report: Report,
    settled: Report,
    scale: float,
    gap_mm: float,
    counts: tuple[int, int],
    printer: Printer,
) -> GiantSample:
    """The settled rings in their true wire, enlarged, on the bed."""
    import numpy as np

    from ringwright.piece.piece import woven_piece
    from ringwright.solver.measure import extent

    rule, size = report.rule, report.size
    core_mm = settled.size.core_radius_mm * scale
    piece = woven_piece(settled.rule, settled.unit, core_mm, *counts)
    if len(piece) > _MOST_RINGS:
        raise BadInput(
            f"{len(piece)} rings are more than the {_MOST_RINGS} of a sample; give fewer "
            "--repeats or --rows."
        )
    # The true wire: each surface steps back by half the gap.
    piece = replace(piece, wire_radii_mm=piece.wire_radii_mm - gap_mm / 2.0)
    ways = np.eye(3)
    ends = [extent(piece.rings(), way) for way in ways]
    room_mm = tuple(high - low for low, high in ends)
    if (
        any(
            size_mm > bed
            for size_mm, bed in zip(sorted(room_mm[:2]), sorted(printer.bed_mm[:2]), strict=True)
        )
        or room_mm[2] > printer.bed_mm[2]
    ):
        sizes = " x ".join(f"{each:.0f}" for each in room_mm)
        raise BadInput(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.3g} has {report.room_mm:.2g} mm of "
            f"room between its rings; for a gap of {gap_mm:g} mm it is printed {scale:g} times "
            f"as large, {sizes} mm, which does not fit the bed: give fewer --repeats or --rows, "
            "or take a larger ring."
        )
    shift = np.array([*(-sum(end) / 2.0 for end in ends[:2]), -ends[2][0]])
    piece = replace(piece, centres_mm=piece.centres_mm + shift)
    smallest_mm, between_mm = _gaps(piece)
    return GiantSample(
        weave=rule.name,
        size=size,
        scale=scale,
        gap_mm=gap_mm,
        smallest_mm=smallest_mm,
        between_mm=between_mm,
        piece=piece,
        flat_mm=min(_FLAT_MM, 0.15 * 2.0 * float(piece.wire_radii_mm.min())),
        room_mm=(room_mm[0], room_mm[1], room_mm[2]),
    )


def _gaps(piece: Piece) -> tuple[float, float]:
    """The smallest gap between any two rings, and between rings of the two roles."""
    import numpy as np

    from ringwright.geometry.contact import close_pairs, contacts

    rings = piece.rings()
    found = contacts(rings, close_pairs(rings, float(rings.core_radii.max())))
    opened = np.array([role == "open" for role in piece.roles])
    mixed = opened[found.pairs.first] != opened[found.pairs.second]
    return (
        float(found.gap.min(initial=math.inf)),
        float(found.gap[mixed].min(initial=math.inf)),
    )


def build(sample: GiantSample) -> Jig:
    """The jig of these dimensions."""
    import cadquery as cq

    solids = list(_tori(sample))
    whole = cq.Compound.makeCompound(solids)
    roles = [role for role in ("open", "closed") if role in sample.piece.roles]
    parts = []
    for role in roles:
        mine = [
            solid for solid, other in zip(solids, sample.piece.roles, strict=True) if other == role
        ]
        parts.append(
            Part(
                f"{role}-rings",
                cq.Compound.makeCompound(mine),
                ROLE_LOOKS[role].look.colour,
                volumes=len(mine),
                together=whole,
                supports=True,
                note=_note(roles),
            )
        )
    apart = {"open": (0.0, 0.0, 0.0), "closed": (0.0, 0.0, 1.3 * sample.room_mm[2])}
    mating: tuple[Mating, ...] = ()
    if len(roles) == 2 and math.isfinite(sample.between_mm):
        what = "printed in place"
        gap_mm, more_mm = round(sample.between_mm, 6), 2.0 * sample.groove_mm
        mating = (Mating("open-rings", "closed-rings", gap_mm, what, more_mm),)
    return Jig(
        name=NAME,
        title="Giant sample",
        parts=tuple(parts),
        bought=(),
        placed=tuple(
            Placed(part.name, part.name, cq.Location(), apart[role])
            for part, role in zip(parts, roles, strict=True)
        ),
        mating=mating,
        use=(
            _load(roles),
            "Turn supports on everywhere. Break them away with pliers from the outside in, then "
            "work every ring loose in turn; do not twist the sample as a whole.",
            *_lesson(sample, roles),
        ),
        cautions=(
            "Printed rings break with sharp edges: wear eye protection when supports are broken "
            "away or a ring is sawn through.",
            "Not a toy for small children: broken rings and supports are small enough to choke "
            "on. It carries no load.",
        ),
        remarks=(
            "The rings hang in each other, so parts of them are over thin air wherever the sample "
            "lies: a filament printer needs supports, and leaves marks where they were. Powder "
            "and soluble supports leave none. The overhangs are listed as measured.",
            f"Settled with {sample.gap_mm:g} mm between all printed rings, then printed in the "
            "true wire: proportions are those of the real ring, and the lay is a little looser "
            "than pulled tight.",
            "Whether a gap prints free depends on printer and filament (common practice, no "
            "source: 0.3 to 0.5 mm): print one repeat first.",
        ),
        facts=_facts(sample),
        lesson=sample.lesson,
    )


def _lesson(sample: GiantSample, roles: Sequence[str]) -> Iterator[str]:
    """How its rings are told apart, and what to do with them."""
    for role in roles:
        look = ROLE_LOOKS[role]
        if sample.lesson is not None:
            yield f"{look.words[0].upper()}{look.words[1:]}."
        else:
            yield f"{look.name[0].upper()}{look.name[1:]}: {look.look.metal}; {look.when}."
    if "open" in roles:
        yield (
            "To learn the order of assembly, saw through one of the "
            f"{ROLE_LOOKS['open'].name} and hook it out and in again."
        )
    if sample.lesson is not None:
        yield (
            "Go through the assembly sheet that comes with this one beside the sample: its "
            "pictures have the same colours and grooves, its words the same names."
        )


def _load(roles: Sequence[str]) -> str:
    if len(roles) == 1:
        return "Load the rings into the slicer as one object, so that they keep their places."
    return (
        "Load the 3MF file whose name ends in -together: it holds all rings in their places and "
        "colours, as one object. Or load the parts one by one as one object. Print in two "
        "colours, or in one."
    )


def _note(roles: Sequence[str]) -> str:
    other = " together with the other part, as one object," if len(roles) == 2 else ""
    return f"print{other} with supports"


def _tori(sample: GiantSample) -> Iterator[cq.Solid]:
    """Every ring; what is lowest gets a flat to stand on."""
    import cadquery as cq

    piece, flat = sample.piece, sample.flat_mm
    wide_mm = 4.0 * max(sample.room_mm)
    below = cq.Solid.makeBox(wide_mm, wide_mm, wide_mm, cq.Vector(-wide_mm / 2, -wide_mm / 2,
                                                                  flat - wide_mm))  # fmt: skip
    for index in range(len(piece)):
        size = (float(piece.core_radii_mm[index]), float(piece.wire_radii_mm[index]))
        at = cq.Vector(*piece.centres_mm[index].tolist())
        axis = cq.Vector(*piece.axes[index].tolist())
        grooves = ROLE_LOOKS[piece.roles[index]].grooves_rad
        if sample.lesson is not None and grooves:
            made = _grooved(*size, grooves).moved(cq.Location(cq.Plane(at, normal=axis)))
        else:
            made = cq.Solid.makeTorus(*size, at, axis)
        if made.BoundingBox().zmin < flat:
            made = made.cut(below).Solids()[0]
        yield made


def _grooved(core_mm: float, wire_radius_mm: float, grooves: Sequence[float]) -> cq.Solid:
    """A ring about the z axis, its wire with grooves of two flanks at 45 degrees."""
    import cadquery as cq

    half_mm = GROOVE_WIDE * wire_radius_mm
    half = math.asin(half_mm / wire_radius_mm)
    deep_mm = wire_radius_mm * math.cos(half) - half_mm

    def at(turn: float, from_middle_mm: float = wire_radius_mm) -> cq.Vector:
        return cq.Vector(
            core_mm + from_middle_mm * math.cos(turn), 0.0, from_middle_mm * math.sin(turn)
        )

    turns, edges = sorted(grooves), []
    for turn, after in zip(turns, [*turns[1:], turns[0] + 2.0 * math.pi], strict=True):
        start, end = turn + half, after - half
        edges += [
            cq.Edge.makeLine(at(turn - half), at(turn, deep_mm)),
            cq.Edge.makeLine(at(turn, deep_mm), at(start)),
            cq.Edge.makeThreePointArc(at(start), at((start + end) / 2.0), at(end)),
        ]
    face = cq.Face.makeFromWires(cq.Wire.assembleEdges(edges))
    return cq.Solid.revolve(face, 360.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))


def _facts(sample: GiantSample) -> Dimensions:
    grooves = {} if sample.lesson is None else {"groove_depth_mm": sample.groove_mm}
    return {
        "weave": sample.weave,
        "rings": len(sample.piece),
        "true_wire_mm": sample.size.wire_mm,
        "true_inner_mm": sample.size.inner_mm,
        "scale": sample.scale,
        "printed_wire_mm": sample.size.wire_mm * sample.scale,
        "printed_inner_mm": sample.size.inner_mm * sample.scale,
        "aspect_ratio": sample.size.aspect_ratio,
        "gap_kept_mm": sample.gap_mm,
        "smallest_gap_mm": sample.smallest_mm,
        "flat_below_mm": sample.flat_mm,
        "printed_size_mm": list(sample.room_mm),
        **grooves,
    }
