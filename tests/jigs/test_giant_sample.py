"""The giant sample: gaps by the CAD kernel, proportions by its triangles."""

import zipfile
from dataclasses import replace
from xml.etree import ElementTree

import cadquery as cq
import numpy as np
import pytest

from ringwright.answers.verdict import check
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.colour.role_looks import GROOVES_RAD
from ringwright.jigs.checks.printability import check_jig, check_part
from ringwright.jigs.checks.rays import mesh_of
from ringwright.jigs.files.jig_step import write_jig_step
from ringwright.jigs.files.write_3mf import Body, write_3mf
from ringwright.jigs.files.write_jig import low_corner_mm
from ringwright.jigs.giant_sample import _grooved, build, dimensions
from ringwright.jigs.parts.jig import ORANGE, Part, on_the_bed
from ringwright.jigs.parts.printing import Printer
from ringwright.piece.piece import check_piece, expected_links
from ringwright.solver.tightest import known_tightest
from ringwright.weaves import load_rule
from ringwright.weaves.rule import RuleSize

PRINTER = Printer()
GAP_MM = 0.5


@pytest.fixture(scope="module")
def limit():
    rule = load_rule("one-in-one")
    return rule, known_tightest(rule, RingSize(0.9, 3.2))


@pytest.fixture(scope="module")
def report(limit):
    return check(limit[0], RingSize(0.9, 3.2), limit=limit[1])


@pytest.fixture(scope="module")
def sample(report):
    return dimensions(report, PRINTER, GAP_MM, repeats=1)


@pytest.fixture(scope="module")
def written(sample, tmp_path_factory):
    path = tmp_path_factory.mktemp("giant") / "giant.step"
    jig = build(sample)
    write_jig_step(jig, path)
    return jig, check_jig(jig, PRINTER), path


def test_rings_are_apart_by_the_gap_and_keep_their_links(report, sample, written):
    read = cq.Assembly.importStep(str(written[2]))
    solids = [solid for child in read.children for solid in child.obj.Solids()]
    assert len(solids) == len(sample.piece) == 3
    gaps = [one.distance(two) for index, one in enumerate(solids) for two in solids[index + 1 :]]
    # Those that carry the pull are just that far apart.
    assert min(gaps) == pytest.approx(GAP_MM, abs=1e-3)
    assert sample.smallest_mm == pytest.approx(min(gaps), abs=1e-3)
    assert check_piece(sample.piece).links == expected_links(report.rule, sample.piece)


def test_the_print_has_the_proportions_of_the_ring(sample, written):
    jig, checked, _ = written
    meshes = checked.meshes
    # The one open ring of a repeat lies flat: it is as high as its wire is thick, less the flat.
    (ring,) = (piece for piece in meshes["open-rings"].split())
    outer_mm = ring.extents[:2]
    wire_mm = 0.9 * sample.scale
    assert outer_mm == pytest.approx([5.0 * sample.scale] * 2, rel=0.005)
    assert ring.extents[2] == pytest.approx(wire_mm, rel=0.005)
    assert wire_mm >= 4.0 - 1e-9
    # Parts that are printed as one object keep their places to one another.
    placed = build(sample).item("closed-rings").solid.BoundingBox()
    closed, opened = meshes["closed-rings"].bounds, meshes["open-rings"].bounds
    open_box = jig.item("open-rings").solid.BoundingBox()
    assert closed[0][0] - opened[0][0] == pytest.approx(placed.xmin - open_box.xmin, abs=0.02)
    assert min(closed[0][2], opened[0][2]) == pytest.approx(0.0, abs=1e-6)


def test_both_colours_keep_their_places_in_their_3mf_files(written, tmp_path):
    jig, checked, _ = written
    lows, at = {}, {}
    for part in jig.parts:
        path = tmp_path / f"{part.name}.3mf"
        body = Body(checked.meshes[part.name], part.name, part.colour)
        write_3mf([body], path, low_corner_mm(jig.parts, checked))
        with zipfile.ZipFile(path) as package:
            model = ElementTree.fromstring(package.read("3D/3dmodel.model"))
        core = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
        corners = [[float(v.get(axis)) for axis in "xyz"] for v in model.iter(f"{core}vertex")]
        lows[part.name] = np.array(corners).min(axis=0)
        box = part.solid.BoundingBox()
        at[part.name] = np.array([box.xmin, box.ymin, box.zmin])
    assert lows["open-rings"] - lows["closed-rings"] == pytest.approx(
        at["open-rings"] - at["closed-rings"], abs=0.02
    )
    assert min(low.min() for low in lows.values()) > -0.02


def test_it_is_honest_about_supports(written):
    jig, checked, _ = written
    assert [each for part in checked.parts for each in part.of_kind("overhang")]
    assert checked.faults == ()
    assert any("needs supports" in line for line in jig.remarks)


@pytest.mark.parametrize(("wire_mm", "inner_mm"), [(0.4, 1.5), (3.0, 20.0)])
def test_small_and_large_rings(limit, wire_mm, inner_mm):
    report = check(limit[0], RingSize(wire_mm, inner_mm), limit=limit[1])
    sample = dimensions(report, PRINTER, repeats=1)
    assert sample.smallest_mm == pytest.approx(2.0 * PRINTER.clearance_mm, abs=1e-6)
    checked = check_jig(build(sample), PRINTER)
    assert checked.faults == ()
    assert 2.0 * sample.piece.wire_radii_mm == pytest.approx(wire_mm * sample.scale)


def test_other_sizes_keep_the_whole_gap_too(limit):
    """Rings of two sizes, one of half the wire: each wire is thickened by as much."""
    first, second = limit[0].rings
    fine = replace(second, size=RuleSize("fine", 1.0, 0.5, None, None))
    rule = replace(limit[0], rings=(first, fine))
    sample = dimensions(check(rule, RingSize(0.9, 3.2)), PRINTER, GAP_MM, repeats=1)
    assert sample.smallest_mm == pytest.approx(GAP_MM, abs=1e-6)
    wires = np.unique(np.round(2.0 * sample.piece.wire_radii_mm / sample.scale, 6))
    assert wires.tolist() == pytest.approx([0.45, 0.9])


class TestRefusals:
    def test_no_room_at_the_tightest(self, limit):
        ratio = limit[1].aspect_ratio * 1.0001
        report = check(limit[0], RingSize(0.9, 0.9 * ratio), limit=limit[1])
        with pytest.raises(BadInput, match="room between its rings"):
            dimensions(report, PRINTER)

    def test_a_scale_that_leaves_no_room(self, report):
        with pytest.raises(BadInput, match="no room for a gap"):
            dimensions(report, PRINTER, 1.5, scale=1.0)

    def test_wire_too_thin_for_grooves_that_show(self, report):
        with pytest.raises(BadInput, match="too thin for grooves"):
            dimensions(report, PRINTER, scale=2.0, teaching=True)

    def test_rings_that_would_fuse(self, report):
        with pytest.raises(BadInput, match="would fuse"):
            dimensions(report, PRINTER, 0.1)

    def test_too_large_for_the_bed(self, report):
        with pytest.raises(BadInput, match="does not fit the bed"):
            dimensions(report, PRINTER, repeats=30)


def test_grooved_rings_that_lean_stand_on_the_bed():
    """The kernel's box around such a ring is roomy: by that it would float 0.3 mm above the bed."""
    leaning = cq.Location(cq.Plane((0, 0, 0), normal=(0.3, 0.9, 0.05)))
    ring = _grooved(9.2, 2.0, GROOVES_RAD).moved(leaning)
    # Flat where it stands.
    below = cq.Solid.makeBox(100, 100, 100, cq.Vector(-50, -50, -110.4))
    whole = cq.Compound.makeCompound(ring.cut(below).Solids())
    assert mesh_of(whole).bounds[0][2] == pytest.approx(-10.4, abs=1e-6)
    part = Part("ring", whole, ORANGE, together=whole)
    assert mesh_of(on_the_bed(part, whole)).bounds[0][2] == pytest.approx(0.0, abs=1e-6)
    # By itself the part is placed by that box, and refused.
    (fault,) = check_part(replace(part, together=None, supports=True), 1, PRINTER)[0].faults
    assert "off the bed" in fault
