"""The ring gauge, measured again on its files."""

import numpy as np
import pytest
import trimesh

from ringwright.base.errors import BadInput
from ringwright.jigs.checks.printability import check_jig
from ringwright.jigs.parts.printing import Printer
from ringwright.jigs.ring_gauge import build, dimensions
from tests.jig_files import as_written, same_in_step_and_stl

PRINTER = Printer()


def section(mesh, z_mm):
    """The ends of the segments in which a mesh is cut at a height: (segments, 2, xy)."""
    return trimesh.intersections.mesh_plane(mesh, [0, 0, 1], [0, 0, z_mm])[:, :, :2]


@pytest.fixture(scope="module", params=[(0.4, 1.5), (3.0, 20.0)], ids=str)
def gauge(request, tmp_path_factory):
    wire_mm, inner_mm = request.param
    made = dimensions(wire_mm, inner_mm, PRINTER)
    return made, as_written(check_jig(build(made), PRINTER), tmp_path_factory.mktemp("gauge"))


def test_step_and_stl_hold_the_same(gauge, tmp_path):
    made, checked = gauge
    same_in_step_and_stl(build(made), checked, tmp_path)


def test_it_can_be_printed(gauge):
    _, checked = gauge
    assert checked.faults == ()
    assert [each for part in checked.parts for each in part.overhangs] == []


def test_the_plug_has_the_diameters_it_says(gauge):
    made, checked = gauge
    for index, step_mm in enumerate(made.steps_mm):
        cut = section(checked.meshes["plug"], 3.0 + (index + 0.5) * made.step_height_mm)
        points = cut.reshape(-1, 2)
        # Only the plug reaches so high, not the letters, which are 0.6 mm.
        assert np.ptp(points, axis=0) == pytest.approx([step_mm, step_mm], abs=0.03)
    assert made.target_mm == pytest.approx(made.steps_mm[2])
    assert list(made.steps_mm) == sorted(made.steps_mm, reverse=True)


def test_the_slots_have_the_widths_they_say(gauge):
    made, checked = gauge
    mesh = checked.meshes["wire-slots"]
    cut = section(mesh, 1.5)
    y_mm = mesh.bounds[0][1] + 6.0
    across = cut[(cut[:, :, 1].min(axis=1) < y_mm) & (cut[:, :, 1].max(axis=1) > y_mm)]
    sides = np.sort(across[:, :, 0].mean(axis=1))
    widths = np.diff(sides)[1::2]
    assert widths == pytest.approx(made.slots_mm, abs=1e-3)
    assert made.wire_mm in made.slots_mm


def test_an_arrow_points_at_the_size_of_the_plan_and_nothing_else(gauge):
    made, checked = gauge
    # Above the plate there are only letters, the arrow, and the plug.
    raised = section(checked.meshes["plug"], 3.3).reshape(-1, 2)
    plug = np.sort(raised[:, 0])[0] + made.steps_mm[0]
    beside = raised[raised[:, 0] > plug + 0.1]
    arrow = beside[beside[:, 0] < beside[:, 0].min() + 4.6]
    # The middle one of five lines, in the middle of the plate.
    assert arrow[:, 1].mean() == pytest.approx(0.0, abs=0.1)
    assert np.ptp(arrow, axis=0) == pytest.approx([4.5, 4.0], abs=0.01)
    tip = arrow[arrow[:, 0].argmax()]
    assert tip[1] == pytest.approx(0.0, abs=0.01)

    mesh = checked.meshes["wire-slots"]
    raised = section(mesh, 3.3).reshape(-1, 2)
    arrow = raised[raised[:, 1] > raised[:, 1].max() - 4.6]
    low = mesh.bounds[0][1] + 6.0
    cut = section(mesh, 1.5)
    across = cut[(cut[:, :, 1].min(axis=1) < low) & (cut[:, :, 1].max(axis=1) > low)]
    sides = np.sort(across[:, :, 0].mean(axis=1))[1:-1].reshape(-1, 2)
    target = made.slots_mm.index(made.wire_mm)
    assert arrow[:, 0].mean() == pytest.approx(sides[target].mean(), abs=0.1)
    assert arrow[arrow[:, 1].argmin()][0] == pytest.approx(sides[target].mean(), abs=0.01)


def test_a_ring_rests_on_its_step_and_wire_in_its_slot(gauge):
    _, checked = gauge
    # Both drawn 0.01 mm off; the kernel measures them against plug and slots.
    assert [(pair.first, pair.second) for pair in checked.pairs] == [
        ("ring", "plug"),
        ("wire", "wire-slots"),
    ]
    assert [pair.measured_mm for pair in checked.pairs] == pytest.approx([0.01, 0.01], abs=1e-4)


def test_slots_that_would_fuse_are_left_out():
    assert min(dimensions(0.4, 1.5, Printer(clearance_mm=0.3)).slots_mm) == pytest.approx(0.3)


def test_a_plug_thinner_than_two_beads_is_refused():
    with pytest.raises(BadInput, match="two beads"):
        dimensions(0.4, 1.5, PRINTER, step_mm=0.4)
