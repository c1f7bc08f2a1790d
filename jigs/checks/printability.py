"""Whether a jig can be printed and put together: everything measured on the solids themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ringwright.base.errors import BadInput
from ringwright.base.sizes import format_mm
from ringwright.jigs.checks.overhangs import Overhang, overhangs
from ringwright.jigs.checks.rays import Rays, Thinnest, mesh_of, surface_points
from ringwright.jigs.parts.jig import Jig, Label, Mating, Part, on_the_bed
from ringwright.jigs.parts.printing import LETTER_MM, Printer

if TYPE_CHECKING:
    import cadquery as cq
    import trimesh

# Largest difference of the volumes of a part's triangles and its exact solid.
VOLUMES_AGREE = 0.005
# The kernel finds distances to far better than this; anything more is another gap than designed.
_GAP_MM = 0.01
_OVERLAP_MM3 = 1e-3
_WALL_SLACK_MM = 0.005
_BOX_MM = 0.5
_ON_BED_MM = 0.02
# Strokes end in corners, where they are thin: all but this share of a letter's outline counts.
_CORNERS = 0.10
# Time of moves between beads, cooling and changing layers. Common practice, no source; of six
# jig parts an open-source slicer (PrusaSlicer) gave masses within 6 % and times within 25 %.
_TRAVEL = 1.35
_LAYER_S = 4.0
# Full layers below and above. Common practice, no source.
_SKINS = 4


@dataclass(frozen=True)
class PartCheck:
    """What was measured on one part, and what is wrong with it.

    Attributes
    ----------
    volumes : separate bodies in the mesh
    mesh_mm3, solid_mm3 : volume of the triangles, and of the exact solid
    wall : the thinnest wall, without raised letters
    stroke_mm : the thinnest stroke of raised letters, or None without any
    size_mm : as it lies on the bed
    grams, minutes : of one, by volume and mean speed: rough
    """

    name: str
    count: int
    closed: bool
    oriented: bool
    volumes: int
    mesh_mm3: float
    solid_mm3: float
    wall: Thinnest
    stroke_mm: float | None
    overhangs: tuple[Overhang, ...]
    size_mm: tuple[float, float, float]
    grams: float
    minutes: float
    faults: tuple[str, ...]

    def of_kind(self, kind: str) -> tuple[Overhang, ...]:
        """The overhangs of that kind."""
        return tuple(each for each in self.overhangs if each.kind == kind)


@dataclass(frozen=True)
class PairCheck:
    """The gap of a mating pair, as designed and as the kernel measures it."""

    first: str
    second: str
    what: str
    designed_mm: float
    measured_mm: float
    overlap_mm3: float
    faults: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class JigCheck:
    """Every part and mating pair, the meshes as printed, and all that is wrong."""

    parts: tuple[PartCheck, ...]
    pairs: tuple[PairCheck, ...]
    meshes: dict[str, trimesh.Trimesh]
    faults: tuple[str, ...]


def require_printable(jig: Jig, printer: Printer) -> JigCheck:
    """Measure a jig.

    Raises
    ------
    BadInput
        When anything is wrong with it: what, and that nothing was written.
    """
    _check_bed(jig, printer)
    checked = check_jig(jig, printer)
    if checked.faults:
        more = len(checked.faults) - 1
        rest = "" if not more else f" (and {more} more)"
        raise BadInput(
            f"The {jig.title.lower()} fails its own check and was not written: "
            f"{checked.faults[0]}{rest}; try other sizes or printer settings."
        )
    return checked


def _check_bed(jig: Jig, printer: Printer) -> None:
    """Refuse at once what is much too large, before all else is measured."""
    for part in jig.parts:
        box = on_the_bed(part, part.solid).BoundingBox()
        size = (box.xlen, box.ylen, box.zlen)
        # The kernel's boxes are a little roomy; the mesh decides.
        if any(
            side > room + _BOX_MM for side, room in zip(size, _room_mm(size, printer), strict=True)
        ):
            raise BadInput(
                f"The {jig.title.lower()} was not written: {_too_large(part.name, size, printer)}, "
                "and it is not made to be split; take a printer with a larger --bed, or other "
                "sizes."
            )


def _too_large(name: str, size_mm: tuple[float, float, float], printer: Printer) -> str:
    sizes = " x ".join(f"{size:.1f}" for size in size_mm)
    bed = " x ".join(f"{room:g}" for room in printer.bed_mm)
    return f"{name}, {sizes} mm, does not fit the bed of {bed} mm"


def check_jig(jig: Jig, printer: Printer) -> JigCheck:
    """Measure every part as it is printed, every mating pair, and everything assembled."""
    parts, meshes = [], {}
    for part in jig.parts:
        checked, mesh = check_part(part, jig.count(part), printer)
        parts.append(checked)
        meshes[part.name] = mesh
    pairs = check_pairs(jig)
    faults = [fault for part in parts for fault in part.faults]
    faults += [fault for pair in pairs for fault in pair.faults]
    return JigCheck(tuple(parts), pairs, meshes, tuple(faults))


def check_part(part: Part, count: int, printer: Printer) -> tuple[PartCheck, trimesh.Trimesh]:
    """Measure one part as it lies on the bed; also its mesh there."""
    solid = on_the_bed(part, part.solid)
    mesh = mesh_of(solid)
    rays = Rays(mesh)
    body = mesh_of(on_the_bed(part, part.body)) if part.labels else mesh
    size = mesh.extents.tolist()
    closed, oriented = bool(mesh.is_watertight), bool(mesh.is_winding_consistent)
    volume = float(solid.Volume())
    wall = (Rays(body) if part.labels else rays).thinnest()
    strokes = [stroke_mm(part, label) for label in part.labels]
    hanging = overhangs(mesh, rays, printer)
    plastic_mm3 = _plastic_mm3(mesh, printer)
    checked = PartCheck(
        name=part.name,
        count=count,
        closed=closed,
        oriented=oriented,
        volumes=int(mesh.body_count),
        mesh_mm3=float(mesh.volume),
        solid_mm3=volume,
        wall=wall,
        stroke_mm=min(strokes, default=None),
        overhangs=hanging,
        size_mm=(size[0], size[1], size[2]),
        grams=plastic_mm3 * printer.density_g_cm3 / 1000.0,
        minutes=_minutes(plastic_mm3, size[2], printer),
        faults=(),
    )
    lowest_mm = float(mesh.bounds[0][2])
    faults = _part_faults(part, checked, printer, bool(solid.isValid()), lowest_mm)
    faults += _printed_in_place_faults(part, printer)
    return replace(checked, faults=tuple(faults)), mesh


def stroke_mm(part: Part, label: Label) -> float:
    """The thinnest stroke of raised letters, but for corners; measured across their sides."""
    found = []
    for solid in label.solids:
        mesh = mesh_of(on_the_bed(part, solid))
        points, faces = surface_points(mesh, 400)
        # Only the even spread: middles of triangles crowd in the corners.
        points, faces = points[len(mesh.faces) :], faces[len(mesh.faces) :]
        normals = np.asarray(mesh.face_normals)[faces]
        sides = np.abs(normals[:, 2]) < 0.5
        depths, _ = Rays(mesh).through(points[sides], normals[sides])
        found.append(float(np.quantile(depths, _CORNERS)))
    return min(found)


def check_pairs(jig: Jig) -> tuple[PairCheck, ...]:
    """Every mating pair, and every other pair that is in one another's way."""
    shapes = jig.assembled()
    checks = [_pair(pair, jig, shapes[pair.first], shapes[pair.second]) for pair in jig.mating]
    mated = {frozenset((pair.first, pair.second)) for pair in jig.mating}
    boxes = {name: shape.BoundingBox() for name, shape in shapes.items()}
    names = list(shapes)
    for index, first in enumerate(names):
        for second in names[index + 1 :]:
            if frozenset((first, second)) in mated or not _boxes_near(boxes[first], boxes[second]):
                continue
            overlap = _overlap_mm3(shapes[first], shapes[second])
            if overlap > _OVERLAP_MM3:
                fault = f"{first} and {second} overlap by {overlap:.3g} cubic mm"
                what = "not meant to meet"
                checks.append(PairCheck(first, second, what, 0.0, 0.0, overlap, (fault,)))
    return tuple(checks)


def _pair(pair: Mating, jig: Jig, first: cq.Shape, second: cq.Shape) -> PairCheck:
    measured = _apart_mm(jig.pieces(pair.first), jig.pieces(pair.second))
    overlap = 0.0 if measured > 0.0 else _overlap_mm3(first, second)
    faults = []
    if overlap > _OVERLAP_MM3:
        faults.append(f"{pair.first} and {pair.second} overlap by {overlap:.3g} cubic mm")
    elif not -_GAP_MM <= measured - pair.gap_mm <= pair.more_mm + _GAP_MM:
        faults.append(
            f"{pair.first} and {pair.second} are {format_mm(measured)} apart where "
            f"{format_mm(pair.gap_mm)} is designed"
        )
    return PairCheck(
        pair.first, pair.second, pair.what, pair.gap_mm, measured, overlap, tuple(faults)
    )


def _apart_mm(first: Sequence[cq.Shape], second: Sequence[cq.Shape]) -> float:
    """The least distance between two things in pieces, bodies first.

    Letters have so many edges that the kernel is asked only where their boxes come nearer than
    what was found before.
    """
    least = float("inf")
    boxes = [(shape, shape.BoundingBox()) for shape in second]
    for one in first:
        around = one.BoundingBox()
        for two, box in boxes:
            if _boxes_near(around, box, min(least, 1e6)):
                least = min(least, float(one.distance(two)))
    return least


def _overlap_mm3(first: cq.Shape, second: cq.Shape) -> float:
    return float(sum(solid.Volume() for solid in first.intersect(second).Solids()))


def _part_faults(
    part: Part, checked: PartCheck, printer: Printer, valid: bool, lowest_mm: float
) -> list[str]:
    name, faults = checked.name, []
    if not valid or not checked.closed or not checked.oriented or checked.mesh_mm3 <= 0.0:
        faults.append(f"the surface of {name} is not closed or not oriented")
    if lowest_mm < -_ON_BED_MM or (part.together is None and lowest_mm > _ON_BED_MM):
        faults.append(f"{name} lies {format_mm(lowest_mm)} off the bed")
    if checked.volumes != part.volumes:
        faults.append(f"{name} is {checked.volumes} bodies where {part.volumes} is meant")
    if abs(checked.mesh_mm3 - checked.solid_mm3) > VOLUMES_AGREE * checked.solid_mm3:
        faults.append(
            f"the triangles of {name} hold {checked.mesh_mm3:.4g} cubic mm and its solid "
            f"{checked.solid_mm3:.4g}"
        )
    if checked.wall.mm < printer.least_wall_mm - _WALL_SLACK_MM:
        faults.append(
            f"a wall of {name} is {format_mm(checked.wall.mm)}, thinner than two beads "
            f"({format_mm(printer.least_wall_mm)})"
        )
    for hanging in () if part.supports else checked.of_kind("overhang"):
        faults.append(
            f"{name} overhangs by {hanging.angle_deg:g} degrees over {hanging.area_mm2:.3g} "
            f"square mm at a height of {format_mm(hanging.low_mm)}"
        )
    room_mm = _room_mm(checked.size_mm, printer)
    if any(size > room for size, room in zip(checked.size_mm, room_mm, strict=True)):
        faults.append(_too_large(name, checked.size_mm, printer))
    if checked.stroke_mm is not None and checked.stroke_mm < printer.least_stroke_mm:
        faults.append(
            f"letters on {name} have strokes of {format_mm(checked.stroke_mm)}, thinner than the "
            f"nozzle ({format_mm(printer.least_stroke_mm)})"
        )
    for label in part.labels:
        if label.height_mm < LETTER_MM - 1e-9:
            faults.append(f"{label.text!r} on {name} is lower than {LETTER_MM:g} mm")
    return faults


def _room_mm(size_mm: tuple[float, float, float], printer: Printer) -> tuple[float, float, float]:
    """The bed's room, turned by a quarter where the part fits better so."""
    x_mm, y_mm, z_mm = printer.bed_mm
    if (size_mm[0] > size_mm[1]) == (x_mm > y_mm):
        return x_mm, y_mm, z_mm
    return y_mm, x_mm, z_mm


def _printed_in_place_faults(part: Part, printer: Printer) -> list[str]:
    """Bodies of one part that are so near that they would fuse."""
    if part.volumes == 1:
        return []
    solids = part.solid.Solids()
    boxes = [solid.BoundingBox() for solid in solids]
    faults = []
    for first, solid in enumerate(solids):
        for second in range(first + 1, len(solids)):
            if not _boxes_near(boxes[first], boxes[second], printer.clearance_mm):
                continue
            gap_mm = float(solid.distance(solids[second]))
            if gap_mm < printer.clearance_mm - _GAP_MM:
                faults.append(
                    f"two bodies of {part.name} are {format_mm(gap_mm)} apart, nearer than the "
                    f"printer's clearance ({format_mm(printer.clearance_mm)})"
                )
    return faults


def _boxes_near(first: Any, second: Any, by_mm: float = 0.0) -> bool:
    return all(
        getattr(first, f"{axis}min") < getattr(second, f"{axis}max") + by_mm
        and getattr(second, f"{axis}min") < getattr(first, f"{axis}max") + by_mm
        for axis in "xyz"
    )


def _plastic_mm3(mesh: trimesh.Trimesh, printer: Printer) -> float:
    """Filament in a part: its walls, bottoms and tops in full, its inside by the infill."""
    up = np.abs(np.asarray(mesh.face_normals)[:, 2])
    beside_mm = printer.walls * printer.extrusion_width_mm
    above_mm = _SKINS * printer.layer_height_mm
    deep = beside_mm * np.sqrt(1.0 - np.minimum(up, 1.0) ** 2) + above_mm * up
    shell = min(float(mesh.volume), float(np.asarray(mesh.area_faces) @ deep))
    return shell + printer.infill * (float(mesh.volume) - shell)


def _minutes(plastic_mm3: float, tall_mm: float, printer: Printer) -> float:
    """Time to lay all beads at the mean speed, with a share for moves and a pause per layer."""
    flow = printer.extrusion_width_mm * printer.layer_height_mm * printer.speed_mm_s
    return (_TRAVEL * plastic_mm3 / flow + _LAYER_S * tall_mm / printer.layer_height_mm) / 60.0
