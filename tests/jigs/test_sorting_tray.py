"""The sorting tray: what it counts, and what its wells hold, measured on its files."""

import math

import numpy as np
import pytest

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.cli import main
from ringwright.jigs.checks.printability import check_jig
from ringwright.jigs.checks.rays import Rays
from ringwright.jigs.packing import checked_fill, fill_share
from ringwright.jigs.parts.printing import Printer
from ringwright.jigs.ring_counts import Counts, Kind, counted
from ringwright.jigs.sorting_tray import build, dimensions
from ringwright.piece.piece import woven_piece
from ringwright.solver.placement import placed_unit, ring_radii
from ringwright.weaves import load_rule
from tests.jig_files import as_written, same_in_step_and_stl

PRINTER = Printer()
SIZE = RingSize(0.9, 3.2)


def piece_of(weave, repeats, rows=1):
    """A piece of a weave as its rule places it: where rings rest does not matter here."""
    rule = load_rule(weave)
    unit = placed_unit(rule, SIZE).with_wire_radii(ring_radii(rule, SIZE)[1])
    return rule, woven_piece(rule, unit, SIZE.core_radius_mm, repeats, rows)


class TestCounts:
    def test_a_chain_by_hand(self):
        rule, piece = piece_of("barrel", 7)
        made = counted(rule, piece, 7, {}, 0.05, 2)
        # Of one repeat B, D and E are opened, C1 and C2 closed; the first E is the end ring.
        assert [(kind.role, n) for kind, n in made.repeat] == [("open", 3), ("closed", 2)]
        assert [(kind.role, n) for kind, n in made.whole] == [
            ("open", 21),
            ("closed", 14),
            ("end", 3),
            ("spare", 2),
        ]
        assert {kind.size for kind, _ in made.whole} == {SIZE}

    def test_a_sheet_counts_its_rows(self):
        rule, piece = piece_of("european-4-in-1", 5, 4)
        made = counted(rule, piece, 5, {}, 0.0, 0)
        assert made.repeats == 20
        assert [(kind.role, n) for kind, n in made.whole] == [("open", 20), ("closed", 20)]

    def test_clasp_rings_are_like_the_ring_at_the_end(self):
        rule, piece = piece_of("barrel", 2)
        made = counted(rule, piece, 2, {"closed": "copper", "open": "tin"}, 0.0, 2)
        assert dict(made.whole)[Kind("end", SIZE, "copper")] == 3
        made = counted(rule, piece, 2, {"closed": "copper", "end": "brass"}, 0.0, 2)
        assert dict(made.whole)[Kind("end", SIZE, "brass")] == 3

    def test_metals_by_ring_and_by_role(self):
        rule, piece = piece_of("barrel", 2)
        made = counted(rule, piece, 2, {"E": "brass", "closed": "copper", "": "silver"}, 0.5, 0)
        assert [(kind.role, kind.metal, n) for kind, n in made.whole] == [
            ("open", "silver", 4),
            ("open", "brass", 2),
            ("closed", "copper", 4),
            ("end", "brass", 1),
            ("spare", "brass", 2),
            ("spare", "copper", 2),
            ("spare", "silver", 2),
        ]


def of_size(wire_mm, inner_mm, repeats=24):
    """Three open and two closed rings a repeat."""
    size = RingSize(wire_mm, inner_mm)
    opened, closed = Kind("open", size), Kind("closed", size, "tin")
    whole = ((opened, 3 * repeats), (closed, 2 * repeats))
    return Counts(whole, ((opened, 3), (closed, 2)), repeats)


@pytest.fixture(scope="module", params=[(0.4, 1.5), (0.9, 3.2), (3.0, 20.0)], ids=str)
def made(request, tmp_path_factory):
    tray = dimensions(of_size(*request.param), PRINTER)
    return tray, as_written(check_jig(build(tray), PRINTER), tmp_path_factory.mktemp("tray"))


class TestWells:
    def test_step_and_stl_hold_the_same(self, made, tmp_path):
        tray, checked = made
        same_in_step_and_stl(build(tray), checked, tmp_path)

    def test_they_can_be_printed_and_stacked(self, made):
        _, checked = made
        assert checked.faults == ()
        assert [each for part in checked.parts for each in part.overhangs] == []
        assert [pair.measured_mm for pair in checked.pairs] == [0.0, 0.0]

    def test_they_hold_their_rings_and_no_more_than_is_needed(self, made):
        tray, checked = made
        for well in tray.wells:
            rays = Rays(checked.meshes[well.kind.role])
            # The part lies on the bed with its middle over the origin: its spout stands out.
            low, high = rays.mesh.bounds
            back = high[1] - tray.wall_mm - tray.labels_mm
            front = low[1] + 4.5 + tray.wall_mm
            x = (np.arange(30) + 0.5) / 30 * tray.inside_mm[0] - tray.inside_mm[0] / 2
            y = front + (np.arange(40) + 0.5) / 40 * (back - front)
            down = np.array([0.0, 0.0, -1.0])
            depths = [rays.first(np.array([a, b, 60.0]), down)[0] for a in x for b in y]
            room_mm = np.maximum(tray.shelf_mm(well) - 60.0 + np.array(depths), 0.0)
            holds_mm3 = room_mm.mean() * tray.inside_mm[0] * (back - front)
            torus = math.pi**2 / 4 * well.kind.size.wire_mm**2 * 2 * well.kind.size.core_radius_mm
            needed_mm3 = 1.1 * well.count * torus / fill_share(well.kind.size.aspect_ratio)
            assert holds_mm3 > 0.99 * needed_mm3
            if well.deep_mm > max(6.0, 0.5 * well.kind.size.outer_mm) + 0.2:
                assert holds_mm3 < 1.1 * needed_mm3

    def test_a_foot_fits_into_the_well_below(self, made):
        tray, checked = made
        well = tray.wells[0]
        rays = Rays(checked.meshes[well.kind.role])
        right = np.array([1.0, 0.0, 0.0])
        inside_mm = rays.first(np.array([0.0, 8.0, tray.tall_mm(well) - 1.6]), right)[0]
        points = np.asarray(rays.mesh.vertices)
        foot_mm = points[points[:, 2] < tray.foot_mm - 0.01][:, 0].max()
        assert inside_mm - foot_mm == pytest.approx(PRINTER.clearance_mm, abs=0.01)

    def test_rings_run_out_of_the_spout_and_nowhere_else(self, made):
        tray, checked = made
        well = tray.wells[0]
        rays = Rays(checked.meshes[well.kind.role])
        z_mm = tray.tall_mm(well) - 0.9 * tray.notch_mm[1]
        forward = np.array([0.0, -1.0, 0.0])
        for x_mm in (0.0, 0.3 * well.kind.size.outer_mm, -0.3 * well.kind.size.outer_mm):
            assert rays.first(np.array([x_mm, 0.0, z_mm]), forward)[1] == -1
        beside = np.array([tray.notch_mm[0] / 2 + 0.5, 0.0, z_mm])
        assert rays.first(beside, forward)[1] >= 0


def test_a_slot_of_the_dealing_board_takes_its_rings_and_not_one_more(tmp_path):
    tray = dimensions(of_size(0.9, 3.2, 6), PRINTER, board=True)
    board = build(tray).item("board")
    checked = as_written(check_jig(build(tray), PRINTER), tmp_path)
    assert checked.faults == ()
    rays = Rays(checked.meshes["board"])
    top = rays.mesh.bounds[1][2] - 0.6
    # Along the middle of the first row, just below the top.
    row = (tray.board.rows - 1) / 2 * tray.board.pitch_mm[1]
    shift = board.solid.BoundingBox().center
    at = np.array([-200.0, row - shift.y, top - 0.3])
    along, hits = np.array([1.0, 0.0, 0.0]), []
    while True:
        far, cell = rays.first(at, along)
        if cell < 0:
            break
        at = at + (far + 1e-4) * along
        hits.append(at[0])
    lengths = np.diff(hits)[1::2]
    assert len(lengths) == 2 * tray.board.columns
    for opened, closed in zip(lengths[::2], lengths[1::2], strict=True):
        assert 3 * 2 * 0.9 < opened < 4 * 2.2 * 0.9
        assert 2 * 0.9 < closed < 3 * 0.9


def test_too_many_rings_for_one_well_are_shared_out():
    tray = dimensions(of_size(3.0, 20.0, 400), PRINTER)
    opened = [well for well in tray.wells if well.kind.role == "open"]
    assert len(opened) > 1
    assert sum(well.count for well in opened) == 1200
    assert {well.of for well in opened} == {len(opened)}


def test_letters_grow_with_the_nozzle():
    assert dimensions(of_size(0.9, 3.2), Printer(nozzle_mm=0.6, extrusion_width_mm=0.7)
                      ).letter_mm == pytest.approx(7.5)  # fmt: skip


# Means of three pours each, by tests/benchmarks/packing.py with MuJoCo 4.0.0.
POURED = {
    2.5: 0.3286,
    3.0: 0.2976,
    3.5: 0.2786,
    4.25: 0.2442,
    5.0: 0.2187,
    6.5: 0.1830,
    8.0: 0.1551,
}


class TestFill:
    @pytest.mark.parametrize("ratio", POURED)
    def test_it_is_what_was_simulated(self, ratio):
        assert fill_share(ratio) == pytest.approx(POURED[ratio], rel=0.05)

    def test_thin_rings_lie_looser(self):
        shares = [fill_share(ratio) for ratio in (2.5, 3.5, 5.0, 8.0)]
        assert shares == sorted(shares, reverse=True)

    @pytest.mark.parametrize(("text", "share"), [("0.25", 0.25), ("25%", 0.25)])
    def test_the_maker_can_overrule_it(self, text, share):
        assert checked_fill(text) == pytest.approx(share)
        assert dimensions(of_size(0.9, 3.2), PRINTER, share).wells[0].fill == share

    @pytest.mark.parametrize("text", ["much", "0", "95%", "nan"])
    def test_no_heap_is_like_that(self, text):
        with pytest.raises(BadInput, match="is not between"):
            checked_fill(text)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["--inner", "3.2mm", "--length", "60mm", "--spare", "-3"], "--spare"),
        (["--inner", "3.2mm", "--length", "60mm", "--fill", "2"], "fill '2'"),
        (["--inner", "1.1mm", "--length", "60mm"], "cannot be woven"),
    ],
)
def test_what_cannot_be_made_is_refused_in_one_sentence(capsys, tmp_path, given, said):
    out = ["--out", str(tmp_path / "new" / "tray")]
    assert main(["jig", "sorting-tray", "one-in-one", "--wire", "0.9mm", *given, *out]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1
    assert not (tmp_path / "new").exists()
