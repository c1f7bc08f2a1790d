"""The weaving stand: what it holds, by the weave's rule; its grooves, measured on its files."""

import numpy as np
import pytest

from ringwright.answers.verdict import check
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.jigs.checks.printability import check_jig
from ringwright.jigs.checks.rays import Rays
from ringwright.jigs.parts.printing import Printer
from ringwright.jigs.weaving_stand import Start, build, dimensions, start_of
from ringwright.weaves import load_rule
from tests.jig_files import as_written, bodies_of_step, same_in_step_and_stl

PRINTER = Printer()


def start(wire_mm, inner_mm, rings=1, pitch_mm=0.0, spare_eye=True):
    return Start(rings, pitch_mm, RingSize(wire_mm, inner_mm), spare_eye, "ring E")


@pytest.fixture(
    scope="module",
    params=[(0.4, 1.5, 2, 0.5), (0.9, 3.2, 12, 4.4), (3.0, 20.0, 1, 0.0)],
    ids=str,
)
def made(request, tmp_path_factory):
    stand = dimensions(start(*request.param), PRINTER)
    return stand, as_written(check_jig(build(stand), PRINTER), tmp_path_factory.mktemp("stand"))


def test_step_and_stl_hold_the_same(made, tmp_path):
    stand, checked = made
    same_in_step_and_stl(build(stand), checked, tmp_path)


def test_it_can_be_printed_and_put_together(made):
    stand, checked = made
    assert checked.faults == ()
    assert [each for part in checked.parts for each in part.overhangs] == []
    (label,) = build(stand).item("base").labels
    assert label.text == f"{stand.start.size.wire_mm:.2f} / {stand.start.size.inner_mm:.2f}"
    assert [round(pair.measured_mm, 6) for pair in checked.pairs] == [0.0] * 4


def test_every_ring_has_a_groove_that_its_pin_stands_out_of(made):
    stand, checked = made
    mesh = checked.meshes["post"]
    # The post lies on its back, its top towards y.
    top = mesh.bounds[1]
    cut = mesh.section([0, 1, 0], [0, top[1] - 5.0, 0]).vertices
    bottoms = cut[np.abs(cut[:, 2] - (top[2] - stand.groove_mm[1])) < 1e-4]
    sides = np.unique(np.round(bottoms[:, 0], 4))
    # A groove's floor may be cut into several segments: its ends count.
    walls = np.flatnonzero(np.diff(sides) > stand.groove_mm[0] + 1e-3)
    lows = sides[np.concatenate([[0], walls + 1])]
    highs = sides[np.concatenate([walls, [len(sides) - 1]])]
    assert len(lows) == stand.start.rings
    assert highs - lows == pytest.approx(stand.pin_mm + 2.0 * PRINTER.clearance_mm, abs=1e-3)
    assert np.diff(lows) == pytest.approx(stand.pitch_mm, abs=1e-3)
    assert 0.0 < stand.groove_mm[1] < stand.pin_mm < stand.start.size.inner_mm
    assert stand.pitch_mm == 0.0 or stand.pitch_mm >= stand.start.pitch_mm


def test_the_post_fits_its_socket(made):
    _, checked = made
    post, rays = checked.meshes["post"], Rays(checked.meshes["base"])
    tenon = post.section([0, 1, 0], [0, post.bounds[0][1] + 5.0, 0]).vertices
    inside = np.array([0.3, 0.0, 29.0])
    for axis, ways in ((0, np.eye(3)[0]), (2, np.eye(3)[1])):
        slot_mm = rays.first(inside, ways)[0] + rays.first(inside, -ways)[0]
        assert slot_mm - np.ptp(tenon[:, axis]) == pytest.approx(0.4, abs=1e-3)


def test_the_pins_are_at_hand_height(made, tmp_path):
    stand, _ = made
    box = bodies_of_step(build(stand), tmp_path)["pins"].BoundingBox()
    assert box.zmax == pytest.approx(90.0 + stand.above_mm)
    assert stand.above_mm > 2.0 * stand.start.size.wire_mm


@pytest.mark.parametrize(("weave", "rings", "spare"), [("one-in-one", 1, True),
                                                       ("two-in-two", 2, True)])  # fmt: skip
def test_chains_start_from_the_rings_of_their_rule(weave, rings, spare):
    found = start_of(check(load_rule(weave), RingSize(0.9, 3.6)))
    assert found.rings == rings
    assert found.spare_eye is spare
    assert found.size == RingSize(0.9, 3.6)


def test_a_sheet_starts_from_its_first_row():
    report = check(load_rule("european-4-in-1"), RingSize(0.9, 3.6))
    found = start_of(report, 40.0)
    # Every ring of the row is a repeat from the next.
    assert found.pitch_mm == pytest.approx(report.repeat_mm)
    assert found.rings * report.repeat_mm == pytest.approx(40.0, abs=2.0 * report.repeat_mm)
    # A ring of the first row has two of its four neighbours to come from the row before it.
    assert found.spare_eye
    with pytest.raises(BadInput, match="give the length"):
        start_of(report)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ((start(3.0, 1.5), PRINTER), "does not go through"),
        ((start(0.9, 3.2, 59, 6.0), PRINTER), "does not fit the bed"),
        ((start(0.9, 3.2), PRINTER, 20.0), "another height"),
        ((start(5.0, 20.0), PRINTER), "ring clamp"),
    ],
)
def test_what_cannot_be_made_is_refused(given, said):
    with pytest.raises(BadInput, match=said):
        dimensions(*given)


def test_a_ring_that_takes_all_its_rings_at_once_gets_a_thinner_pin():
    assert dimensions(start(0.9, 3.2, spare_eye=False), PRINTER).pin_mm == pytest.approx(0.45)
