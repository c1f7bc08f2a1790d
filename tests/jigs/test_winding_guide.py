"""The winding guide: its files measured again, a coil run through it, its loads."""

import math

import numpy as np
import pytest
import pyvista
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from vtkmodules.vtkCommonDataModel import vtkPolyData
from vtkmodules.vtkFiltersCore import vtkImplicitPolyDataDistance

from ringwright.base.errors import BadInput
from ringwright.jigs.checks.printability import check_jig
from ringwright.jigs.checks.rays import Rays, mesh_of
from ringwright.jigs.parts.jig import on_the_bed
from ringwright.jigs.parts.printing import Printer
from ringwright.jigs.winding_guide import build, dimensions
from tests.jig_files import as_written, bodies_of_step, nearest_mm, same_bodies

PRINTER = Printer()
# Thinnest and thickest, both ways of winding and cranking, crank and drill.
WAYS = {
    "small": {"mandrel_mm": 1.5, "wire_mm": 0.4},
    "middle": {"mandrel_mm": 3.2, "wire_mm": 0.9, "hand": "left", "crank": "left"},
    "large": {"mandrel_mm": 20.0, "wire_mm": 3.0, "hand": "left", "crank": "none"},
}


def distances_mm(mesh, points):
    """From points outside of a mesh to its surface; fails where one is inside."""
    rays = Rays(mesh)
    assert not any(rays.inside(point) for point in points)
    data = vtkPolyData()
    data.DeepCopy(pyvista.PolyData.from_regular_faces(mesh.vertices, mesh.faces))
    distance = vtkImplicitPolyDataDistance()
    distance.SetInput(data)
    return np.array([abs(distance.EvaluateFunction(*point)) for point in points])


class Made:
    """A winder, what was measured on it and its STL files, and its STEP file read back."""

    def __init__(self, way, folder):
        self.size = dimensions(printer=PRINTER, **WAYS[way])
        self.jig = build(self.size, PRINTER)
        self.checked = as_written(check_jig(self.jig, PRINTER), folder)
        self.things = bodies_of_step(self.jig, folder)

    def bore_mm(self, name, at):
        """The bore around a point of a part's own frame, in its STL file."""
        return 2 * nearest_mm(self.checked.meshes[name], self.jig.item(name), at)

    def cylinders(self, name):
        """Radius, axis direction and a point of the axis of every round face."""
        found = []
        for face in self.things[name].Faces():
            if face.geomType() == "CYLINDER":
                round_face = face._geomAdaptor().Cylinder()
                axis, at = round_face.Axis().Direction(), round_face.Axis().Location()
                found.append(
                    (
                        round_face.Radius(),
                        np.array([axis.X(), axis.Y(), axis.Z()]),
                        np.array([at.X(), at.Y(), at.Z()]),
                    )
                )
        return found

    def channel(self):
        """Direction of the wire as it comes in, and a point of its line."""
        (along, at), *_ = [
            (axis, at)
            for radius, axis, at in self.cylinders("guide")
            if abs(radius - self.size.channel_mm / 2) < 1e-6 and abs(axis[0]) < 0.5
            and abs(axis[2]) < 1e-6
        ]  # fmt: skip
        box = self.things["guide"].BoundingBox()
        # The nose is on the long side; the wire goes from there towards the mandrel.
        return along * -math.copysign(1.0, box.center.y * along[1]), at


@pytest.fixture(scope="module", params=WAYS)
def made(request, tmp_path_factory):
    return Made(request.param, tmp_path_factory.mktemp("winder"))


def test_it_can_be_printed_and_put_together(made):
    assert made.checked.faults == ()
    hanging = [each for part in made.checked.parts for each in part.overhangs]
    # The flat roofs of nut pockets; a nut's side is under 6 mm.
    assert {each.kind for each in hanging} <= {"bridge"}
    assert all(each.span_mm < 6.0 for each in hanging)


def test_bores_in_the_file_are_those_that_were_asked_for(made):
    size = made.size
    bores = {
        round(2 * radius, 4) for radius, axis, _ in made.cylinders("guide") if abs(axis[0]) > 0.99
    }
    # ISO 273 has nothing on running fits: a clearance on either side.
    assert round(size.mandrel_mm + 2 * PRINTER.clearance_mm, 4) in bores
    assert round(size.mandrel_mm + 2 * size.wire_mm + 3 * PRINTER.clearance_mm, 4) in bores
    if size.crank != "none":
        supports = {round(2 * radius, 4) for radius, _, _ in made.cylinders("far support")}
        # Mandrel, rail of 6 mm, and holes for 4 mm screws (ISO 273 medium).
        assert supports == {round(size.mandrel_mm + 0.4, 4), 6.4, 4.5}


def test_step_and_stl_hold_the_same(made):
    same_bodies(made.jig, made.checked, made.things)


def test_bores_in_the_stl_files_are_those_that_were_asked_for(made):
    size = made.size

    # Chords of a bore are inside it: never wider than asked, and hardly narrower.
    def bore(name, at, asked_mm):
        assert asked_mm - 0.03 < made.bore_mm(name, at) < asked_mm + 1e-3

    # The guide's own frame is mirrored in x where that is cranked from the right.
    out = -1 if size.crank == "right" else 1
    bore("guide", (out * 0.75 * size.front_mm, 0, 0), size.mandrel_mm + 2 * PRINTER.clearance_mm)
    if size.crank == "none":
        return
    bore("support", (-1.5, 0, 0), size.mandrel_mm + 2 * PRINTER.clearance_mm)
    bore("support", (-1.5, 0, -size.rail_below_mm), 6 + 2 * PRINTER.clearance_mm)
    # The knob turns on a screw of 6 mm.
    knob = made.jig.item("knob").solid.BoundingBox()
    face = knob.xmax if out > 0 else knob.xmin
    bore("knob", (face - out * 2.5, 0, -size.arm_mm), 6 + 2 * PRINTER.clearance_mm)


def test_the_wire_comes_in_at_the_lead_angle(made):
    size = made.size
    along, at = made.channel()
    lead = math.atan(size.wire_mm / (math.pi * (size.mandrel_mm + size.wire_mm)))
    assert math.asin(abs(along[0])) == pytest.approx(lead, abs=1e-6)
    # Tangent to the circle that the wire's middle follows, below the mandrel.
    assert at[2] == pytest.approx(-(size.mandrel_mm + size.wire_mm) / 2, abs=1e-6)


def test_the_coil_is_of_the_hand_that_was_asked_for(made):
    along, _ = made.channel()
    # Below the axis, moving to +y turns counter-clockwise seen from +x: a right-hand coil then
    # also moves to +x.
    hand = "right" if along[0] * along[1] > 0 else "left"
    assert hand == made.size.hand


def test_a_coil_swept_through_the_guide_touches_nothing(made):
    """The true helix with its straight way in, point by point against the guide of the file.

    The kernel measures rings along the pitch against it too, as one of the mating pairs.
    """
    size = made.size
    along, at = made.channel()
    # Where the wire meets the mandrel: straight below the axis.
    contact = at - along * (at[1] / along[1])
    radius = (size.mandrel_mm + size.wire_mm) / 2
    straight = [contact - along * s for s in np.linspace(0.0, size.roof_at_mm + 25.0, 100)]
    turns = np.linspace(0.0, 2 * math.pi * (size.coil_room_mm / size.wire_mm + 2), 3000)
    helix = [
        (
            contact[0] + math.copysign(size.wire_mm * turn / (2 * math.pi), along[0]),
            math.copysign(radius * math.sin(turn), along[1]),
            -radius * math.cos(turn),
        )
        for turn in turns
    ]
    # The way in is the helix's own tangent where it begins.
    tangent = np.array(
        [math.copysign(size.wire_mm / (2 * math.pi), along[0]), math.copysign(radius, along[1]), 0]
    )
    assert along == pytest.approx(tangent / np.linalg.norm(tangent), abs=1e-6)
    gaps = distances_mm(mesh_of(made.things["guide"]), np.array([*straight, *helix]))
    assert gaps.min() - size.wire_mm / 2 == pytest.approx(PRINTER.clearance_mm, abs=0.02)


def test_the_anchor_turns_clear_of_the_rail(made):
    if made.size.crank == "none":
        assert "rail" not in made.things
        return
    turning = [name for name in made.things if name.startswith("anchor")]
    reach = max(
        math.hypot(vertex.Y, vertex.Z)
        for name in turning
        for vertex in made.things[name].Vertices()
    )
    (_, _, at), *_ = made.cylinders("rail")
    assert reach < abs(at[2]) - 3.0 - 0.5


def test_the_grip_for_a_drill_is_bevelled_and_the_sheet_warns_of_speed(made):
    (warned,) = [line for line in made.jig.cautions if "drill" in line.lower()]
    if made.size.crank != "none":
        assert "do not put a drill" in warned
        return
    assert "slowest gear, at most about 100 turns a minute" in warned
    assert made.jig.cautions[0] == warned
    # The grip lies along x, away from the guide with its letters.
    mesh = made.checked.meshes["guide"]
    (low, _, _), (high, _, _) = mesh.bounds
    letters = made.jig.item("guide").labels[0].solids[0]
    at = np.array(on_the_bed(made.jig.item("guide"), letters).Center().toTuple())
    middle = (low + high) / 2
    far = low + 15.0 if at[0] > middle else high - 15.0
    ends = trimesh.intersections.mesh_plane(mesh, [1, 0, 0], [far, 0, 0])[:, :, 1:].reshape(-1, 2)
    box = [ends.min(axis=0), ends.max(axis=0)]
    for y in (box[0][0], box[1][0]):
        for z in (box[0][1], box[1][1]):
            # Bevels of 3 mm: an octagon, no part of which is near a corner of its box.
            near = np.abs(ends - np.array([y, z])).sum(axis=1).min()
            assert near == pytest.approx(3.0, abs=1e-3)


class TestLoads:
    @given(wire_mm=st.floats(0.4, 3.0), ratio=st.floats(2.0, 8.0), yield_mpa=st.floats(100, 900))
    @settings(max_examples=60, deadline=None)
    def test_what_is_not_refused_holds(self, wire_mm, ratio, yield_mpa):
        mandrel_mm = ratio * wire_mm
        try:
            size = dimensions(mandrel_mm, wire_mm, PRINTER, yield_mpa=yield_mpa)
        except BadInput:
            return
        torque = 1.5 * 1.3 * yield_mpa * wire_mm**3 / 6
        assert torque / size.arm_mm <= 50
        assert torque <= size.pinch_screws * 0.2 * 900 * mandrel_mm * 1.0001
        assert 16 * torque / (math.pi * mandrel_mm**3) <= 200

    @pytest.mark.parametrize(
        ("given", "said"),
        [
            ({"mandrel_mm": 1.5, "wire_mm": 3.0, "yield_mpa": 270.0}, "twists a mandrel"),
            (
                {"mandrel_mm": 3.0, "wire_mm": 3.0, "crank": "none", "yield_mpa": 270.0},
                "twists a mandrel",
            ),
            ({"mandrel_mm": 6.0, "wire_mm": 3.0, "yield_mpa": 270.0}, "clamp with two M4 screws"),
            ({"mandrel_mm": 12.0, "wire_mm": 3.0, "yield_mpa": 1200.0}, "press on the printed"),
            ({"mandrel_mm": 25.0, "wire_mm": 3.4, "yield_mpa": 590.0}, "most for a hand"),
            ({"mandrel_mm": 3.2, "wire_mm": 5.0}, "outside 0.3 to 3.5 mm"),
            ({"mandrel_mm": 3.2, "wire_mm": 0.9, "coil_mm": 900.0}, "coil length"),
        ],
    )
    def test_sizes_that_cannot_work_are_refused_with_the_reason(self, given, said):
        with pytest.raises(BadInput, match=said):
            dimensions(printer=PRINTER, **given)
