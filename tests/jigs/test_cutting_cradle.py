"""The cutting cradle, measured again on its triangles and in its STEP file."""

import math

import cadquery as cq
import numpy as np
import pytest

from ringwright.base.errors import BadInput
from ringwright.jigs.checks.printability import check_jig
from ringwright.jigs.cutting_cradle import build, dimensions
from ringwright.jigs.parts.printing import Printer
from tests.jig_files import as_written, bodies_of_step, nearest_mm, same_bodies

PRINTER = Printer()


@pytest.fixture(scope="module", params=[(1.5, 0.4), (20.0, 3.0)], ids=str)
def cradle(request, tmp_path_factory):
    """Its dimensions, what was measured on it and its STL files, and its STEP file read back."""
    size = dimensions(*request.param, PRINTER)
    jig = build(size)
    folder = tmp_path_factory.mktemp("cradle")
    return size, as_written(check_jig(jig, PRINTER), folder), bodies_of_step(jig, folder)


def test_it_can_be_printed_and_put_together(cradle):
    _, checked, _ = cradle
    assert checked.faults == ()
    hanging = [each for part in checked.parts for each in part.overhangs]
    assert {each.kind for each in hanging} == {"bridge"}
    assert all(each.span_mm < 6.0 for each in hanging)


def test_v_block_and_bars_touch_a_cylinder_of_the_coils_size_on_four_sides(cradle):
    size, _, things = cradle
    radius = size.inner_mm / 2 + size.wire_mm
    # The axis, away from the stop.
    axis = cq.Edge.makeLine(cq.Vector(20, 0, 0), cq.Vector(50, 0, 0))
    for name in ("v-block", "front bar", "back bar"):
        assert things[name].distance(axis) == pytest.approx(radius, abs=1e-6)


def test_the_slot_is_as_wide_as_it_says_and_over_the_middle(cradle):
    size, _, things = cradle
    front, back = things["front bar"], things["back bar"]
    assert front.distance(back) == pytest.approx(size.kerf_mm + PRINTER.clearance_mm, abs=1e-6)
    assert back.BoundingBox().ymin == pytest.approx(-front.BoundingBox().ymax, abs=1e-6)


def test_the_saw_stops_beyond_the_wire_and_short_of_the_other_side(cradle):
    size, _, things = cradle
    # Its back, 4 mm wide, comes to rest on the bars.
    bars_top = things["front bar"].BoundingBox().zmax
    saw = things["saw"]
    blade = saw.BoundingBox().zmax - 6.0 - saw.BoundingBox().zmin
    lowest = bars_top - blade
    assert lowest < size.inner_mm / 2
    assert lowest > -size.inner_mm / 2 + 0.5
    # The saw goes over the stop without meeting the block.
    assert lowest > things["v-block"].BoundingBox().zmax


def test_step_and_stl_hold_the_same(cradle):
    size, checked, things = cradle
    same_bodies(build(size), checked, things)


def test_v_and_bars_of_the_stl_files_are_a_coils_radius_from_its_axis(cradle):
    size, checked, _ = cradle
    jig = build(size)
    radius = size.inner_mm / 2 + size.wire_mm
    for name in ("v-block", "clamp-bar"):
        # Clear of stop and screws.
        at = (0.5 * size.coil_mm, 0.0, 0.0)
        found = nearest_mm(checked.meshes[name], jig.item(name), at)
        assert found == pytest.approx(radius, abs=1e-3)
    # The slot of two bars, which are images of each other.
    bar = jig.item("clamp-bar")
    over = (0.5 * size.coil_mm, 0.0, radius + 0.6 * size.bar_mm)
    found = nearest_mm(checked.meshes["clamp-bar"], bar, over)
    assert 2 * found == pytest.approx(size.kerf_mm + PRINTER.clearance_mm, abs=1e-3)


def test_the_v_has_a_right_angle(cradle):
    size, checked, _ = cradle
    mesh = checked.meshes["v-block"]
    normals = np.asarray(mesh.face_normals)
    areas = np.asarray(mesh.area_faces)
    # Printed standing: x is up, the block's top looks to -x.
    flanks = [
        areas[np.linalg.norm(normals - np.array([-(0.5**0.5), side * 0.5**0.5, 0]), axis=1) < 1e-6]
        for side in (-1, 1)
    ]
    for flank in flanks:
        assert flank.sum() > 0.3 * size.coil_mm
    assert math.isclose(flanks[0].sum(), flanks[1].sum(), rel_tol=1e-6)


def test_a_saw_that_does_not_reach_is_refused():
    with pytest.raises(BadInput, match="does not reach through the bars"):
        dimensions(3.2, 0.9, PRINTER, saw_mm=9.0)


def test_sizes_out_of_range_are_refused():
    with pytest.raises(BadInput, match="cut by other means"):
        dimensions(40.0, 3.0, PRINTER)
