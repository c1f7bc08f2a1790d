"""What all jigs share: measuring printed parts, and writing a jig's files."""

import argparse
import csv
import json
import math
import re
import zipfile
from xml.etree import ElementTree

import cadquery as cq
import numpy as np
import pypdf
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.base.errors import BadInput
from ringwright.cli import main
from ringwright.jigs import JIGS
from ringwright.jigs.checks.overhangs import overhangs
from ringwright.jigs.checks.printability import check_jig, check_part, require_printable
from ringwright.jigs.checks.rays import Rays, mesh_of
from ringwright.jigs.files.write_jig import write_jig
from ringwright.jigs.parts.hardware import THREADS, nut, screw
from ringwright.jigs.parts.jig import ORANGE, Bought, Jig, Label, Mating, Part, Placed, on_the_bed
from ringwright.jigs.parts.lettering import raised
from ringwright.jigs.parts.printing import Printer, add_printer, printer_from
from ringwright.outputs.models.artist import PictureUnavailable

PRINTER = Printer()


def box(x, y, z, at=(0, 0, 0)):
    """A box that stands on z = 0 about the z axis, moved."""
    made = cq.Workplane("XY").box(x, y, z, centered=(True, True, False)).val()
    return made.moved(cq.Location(cq.Vector(*at)))


def jig_of(*parts, placed=None, mating=(), bought=()):
    """The least jig with these parts."""
    places = placed or [
        Placed(part.name, part.name, cq.Location(cq.Vector(100 * index, 0, 0)))
        for index, part in enumerate(parts)
    ]
    return Jig("trial", "Trial", parts, bought, tuple(places), mating, (), (), (), {})


def faults_of(part, printer=PRINTER):
    """What is wrong with one part."""
    return check_part(part, 1, printer)[0].faults


class TestWalls:
    @given(bore_mm=st.floats(1.0, 20.0), wall_mm=st.floats(0.5, 4.0))
    @settings(max_examples=8, deadline=None)
    def test_a_tube_is_as_thick_as_its_wall(self, bore_mm, wall_mm):
        made = trimesh.creation.annulus(bore_mm / 2, bore_mm / 2 + wall_mm, 30.0, sections=90)
        assert Rays(made).thinnest().mm == pytest.approx(wall_mm, rel=0.01)

    def test_the_thinnest_of_several_walls_is_found_and_placed(self):
        hollow = box(30, 20, 10).cut(box(26, 17.6, 10, (0.9, 0, 1.5)))
        found = Rays(mesh_of(hollow)).thinnest()
        # Walls of 1.1 (right), 2.9 (left), 1.2 (front and back), 1.5 (floor).
        assert found.mm == pytest.approx(1.1, abs=1e-6)
        assert abs(found.at_mm[0]) == pytest.approx(15.0, abs=1.2)

    def test_square_edges_are_not_walls(self):
        assert Rays(mesh_of(box(5, 6, 7))).thinnest().mm == pytest.approx(5.0)

    def test_inside(self):
        rays = Rays(mesh_of(box(10, 10, 10).cut(box(6, 6, 10))))
        assert rays.inside(np.array([4.0, 4.0, 5.0]))
        assert not rays.inside(np.array([0.0, 0.0, 5.0]))
        assert not rays.inside(np.array([9.0, 0.0, 5.0]))


class TestOverhangs:
    def kinds(self, solid):
        mesh = mesh_of(solid)
        return [each.kind for each in overhangs(mesh, Rays(mesh), PRINTER)]

    def test_a_box_has_none(self):
        assert self.kinds(box(10, 10, 10)) == []

    @pytest.mark.parametrize(("half_angle_deg", "kinds"), [(44.0, []), (50.0, ["overhang"])])
    def test_a_funnel_is_judged_by_its_angle(self, half_angle_deg, kinds):
        wide = 2.0 + 8.0 * math.tan(math.radians(half_angle_deg))
        assert self.kinds(cq.Solid.makeCone(2.0, wide, 8.0)) == kinds

    @pytest.mark.parametrize(("span_mm", "kind"), [(8.0, "bridge"), (14.0, "overhang")])
    def test_a_flat_roof_between_walls_is_a_bridge_while_it_is_short(self, span_mm, kind):
        tunnel = box(span_mm + 6, 40, 10).cut(box(span_mm, 40, 6))
        mesh = mesh_of(tunnel)
        (found,) = overhangs(mesh, Rays(mesh), PRINTER)
        assert found.kind == kind
        assert found.span_mm == pytest.approx(span_mm, abs=1e-6)
        assert found.low_mm == pytest.approx(6.0)
        assert found.area_mm2 == pytest.approx(40 * span_mm)

    def test_a_shelf_is_no_bridge(self):
        shelf = box(4, 20, 12).fuse(box(8, 20, 3, (5, 0, 9)))
        assert self.kinds(shelf) == ["overhang"]

    def test_a_shelf_no_wider_than_a_bead_is_a_lip(self):
        lip = box(4, 20, 12).fuse(box(0.4, 20, 3, (2.2, 0, 9)))
        assert self.kinds(lip) == ["lip"]

    def test_a_part_is_judged_as_it_is_printed(self):
        tee = box(4, 20, 12).fuse(box(30, 20, 4, (0, 0, 12)))
        assert faults_of(Part("tee", tee, ORANGE))[0].startswith("tee overhangs by 90 degrees")
        assert faults_of(Part("tee", tee, ORANGE, turns=(("x", 180.0),))) == ()


class TestFaults:
    def test_thin_wall(self):
        cup = box(10, 10, 10).cut(box(8.4, 8.4, 10, (0, 0, 2)))
        assert "a wall of cup is 0.8 mm" in faults_of(Part("cup", cup, ORANGE))[0]

    def test_too_large_for_the_bed_unless_turned(self):
        part = Part("bar", box(20, 100, 5), ORANGE)
        assert "does not fit the bed" in faults_of(part, Printer(bed_mm=(90, 90, 90)))[0]
        assert faults_of(part, Printer(bed_mm=(120, 60, 60))) == ()

    def test_two_bodies_where_one_is_meant(self):
        pair = cq.Compound.makeCompound([box(5, 5, 5), box(5, 5, 5, (10, 0, 0))])
        assert faults_of(Part("pair", pair, ORANGE)) == ("pair is 2 bodies where 1 is meant",)
        assert faults_of(Part("pair", pair, ORANGE, volumes=2)) == ()

    def test_bodies_printed_in_place_too_near_to_stay_apart(self):
        pair = cq.Compound.makeCompound([box(5, 5, 5), box(5, 5, 5, (5.1, 0, 0))])
        (fault,) = faults_of(Part("pair", pair, ORANGE, volumes=2))
        assert "0.1 mm apart" in fault

    def test_letters_too_small_or_too_thin(self):
        plate = box(40, 20, 3)
        low = Part("plate", plate, ORANGE, (raised("12", (0, 0, 3), 4.0),))
        assert any("lower than 5 mm" in fault for fault in faults_of(low))
        stroke = box(0.3, 8, 1, (0, 0, 3))
        thin = Part("plate", plate, ORANGE, (Label("l", (stroke,), 8.0),))
        assert faults_of(thin) == (
            "letters on plate have strokes of 0.3 mm, thinner than the nozzle (0.4 mm)",
        )

    def test_another_gap_than_designed_and_parts_in_the_way(self):
        outer = Part("outer", box(20, 20, 10).cut(box(10.4, 10.4, 10)), ORANGE)
        inner = Part("inner", box(10, 10, 10), ORANGE)

        def checked(designed_mm, x_mm, more_mm=0.0):
            placed = [
                Placed("outer", "outer", cq.Location()),
                Placed("inner", "inner", cq.Location(cq.Vector(x_mm, 0, 0))),
            ]
            pair = Mating("outer", "inner", designed_mm, "slides", more_mm)
            return check_jig(jig_of(outer, inner, placed=placed, mating=(pair,)), PRINTER)

        good = checked(0.2, 0.0)
        assert good.faults == ()
        assert good.pairs[0].measured_mm == pytest.approx(0.2)
        assert "0.2 mm apart where 0.3 mm" in checked(0.3, 0.0).faults[0]
        assert "0.2 mm apart where 0.1 mm" in checked(0.1, 0.0).faults[0]
        # As where there may be a groove; but it is never less than designed.
        assert checked(0.1, 0.0, 0.15).faults == ()
        assert checked(0.3, 0.0, 0.15).faults != ()
        # The block reaches 0.5 mm into a wall, 10 mm wide and high.
        assert "overlap by 50 cubic mm" in checked(0.2, 0.7).faults[0]

    def test_a_faulty_jig_is_not_written(self, tmp_path):
        jig = jig_of(Part("cup", box(10, 10, 10).cut(box(8.4, 8.4, 10, (0, 0, 2))), ORANGE))
        with pytest.raises(BadInput, match="fails its own check and was not written"):
            write_jig(jig, PRINTER, tmp_path / "new", "trial")
        assert list(tmp_path.iterdir()) == []


# ISO 273 (medium), ISO 4032 (s, m) and ISO 4762 (dk knurled, k, s) as tabulated by the
# open-source project cq_warehouse: hole, flats, nut height, head, head height, key.
STANDARDS = {
    "M3": (3.4, 5.5, 2.4, 5.68, 3, 2.5),
    "M4": (4.5, 7, 3.2, 7.22, 4, 3),
    "M5": (5.5, 8, 4.7, 8.72, 5, 4),
    "M6": (6.6, 10, 5.2, 10.22, 6, 5),
    "M8": (9, 13, 6.8, 13.27, 8, 6),
}


class TestBought:
    @pytest.mark.parametrize("name", STANDARDS)
    def test_sizes_are_those_of_the_standards(self, name):
        thread = THREADS[name]
        hole, flats, high, head, head_high, key = STANDARDS[name]
        assert thread.hole_mm == hole
        assert thread.key_mm == key
        made = nut(thread).BoundingBox()
        assert (made.ylen, made.zlen) == pytest.approx((flats, high))
        made = screw(thread, 20.0).BoundingBox()
        assert (made.xlen, made.zlen) == pytest.approx((head, 20.0 + head_high), abs=1e-3)


def test_letters_have_the_height_that_is_asked_for():
    label = raised("17", (5, 5, 2), 6.0, "left")
    boxes = [solid.BoundingBox() for solid in label.solids]
    assert min(each.ymin for each in boxes) == pytest.approx(2.0, abs=0.02)
    assert max(each.ymax for each in boxes) == pytest.approx(8.0, abs=0.02)
    assert min(each.xmin for each in boxes) == pytest.approx(5.0)
    assert {each.zmin for each in boxes} == {2.0}


@pytest.mark.parametrize(
    "wrong", [{"nozzle_mm": 3.0}, {"layer_height_mm": 0.5}, {"clearance_mm": 0.0}]
)
def test_printers_that_cannot_be(wrong):
    with pytest.raises(BadInput, match="is outside"):
        Printer(**wrong)


@pytest.fixture(scope="module")
def trial():
    """A peg in a plate with letters, and a screw through the plate."""
    plate = box(40, 24, 4).cut(box(8.4, 8.4, 4)).cut(box(3.4, 3.4, 4, (14, 0, 0)))
    peg = Part("peg", box(8, 8, 12), (0.0, 0.45, 0.7), turns=(("x", 90.0),), note="print slowly")
    m3 = THREADS["M3"]
    bought = Bought("cap screw M3 x 6", "ISO 4762", 1, screw(m3, 6.0))
    return jig_of(
        Part("plate", plate, ORANGE, (raised("8", (-12, 0, 4)),)),
        peg,
        bought=(bought,),
        placed=[
            Placed("plate", "plate", cq.Location()),
            Placed("peg", "peg", cq.Location(), (0, 0, 20)),
            Placed("screw", bought.name, cq.Location(cq.Vector(14, 0, 4)), (0, 0, 10)),
        ],
        mating=(Mating("plate", "peg", 0.2, "slides"), Mating("plate", "screw", 0.0, "head")),
    )


@pytest.fixture(scope="module")
def written(trial, tmp_path_factory):
    """Its files, by kind."""
    folder = tmp_path_factory.mktemp("jig")
    made = write_jig(trial, PRINTER, folder, "trial")
    return {kind: folder / path.rsplit("/", 1)[1] for kind, path in made.files.items() if path}


class TestFiles:
    def test_stl_lies_flat_and_holds_the_volume_of_the_solid(self, trial, written):
        for part in trial.parts:
            mesh = trimesh.load_mesh(written[f"stl {part.name}"])
            assert mesh.is_watertight
            assert mesh.bounds[0][2] == pytest.approx(0.0, abs=1e-6)
            assert mesh.volume == pytest.approx(part.solid.Volume(), rel=0.005)
        # The peg, 12 mm high, was laid on its side.
        assert trimesh.load_mesh(written["stl peg"]).extents[2] == pytest.approx(8.0)

    def test_step_read_back_has_every_thing_by_name_and_colour(self, written):
        read = cq.Assembly.importStep(str(written["step"]))
        things = {child.name: child for child in read.children}
        assert set(things) == {"plate", "peg", "screw"}
        mesh = trimesh.load_mesh(written["stl peg"])
        assert things["peg"].obj.Volume() == pytest.approx(mesh.volume, rel=0.005)
        assert things["plate"].color.toTuple()[:3] == pytest.approx(ORANGE, abs=0.01)

    def test_3mf_is_a_package_with_the_same_mesh(self, written):
        with zipfile.ZipFile(written["3mf plate"]) as package:
            assert package.testzip() is None
            model = ElementTree.fromstring(package.read("3D/3dmodel.model"))
        core = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
        assert model.get("unit") == "millimeter"
        vertices = [[float(v.get(axis)) for axis in "xyz"] for v in model.iter(f"{core}vertex")]
        faces = [
            [int(t.get(corner)) for corner in ("v1", "v2", "v3")]
            for t in model.iter(f"{core}triangle")
        ]
        mesh = trimesh.Trimesh(vertices, faces, process=False)
        stl = trimesh.load_mesh(written["stl plate"])
        assert mesh.is_watertight
        assert mesh.volume == pytest.approx(stl.volume, rel=1e-5)

    def test_sheet_embeds_its_typeface_with_text_that_can_be_copied(self, written):
        data = written["sheet"].read_bytes()
        assert data.startswith(b"%PDF-")
        assert b"/FontFile2" in data
        # Tables from glyphs back to letters, one for each of the two styles.
        assert data.count(b"beginbfchar") + data.count(b"beginbfrange") >= 2
        pages = pypdf.PdfReader(written["sheet"]).pages
        text = " ".join(" ".join(page.extract_text() for page in pages).split())
        assert "its surface is watertight and faces outwards; it is one body;" in text
        within = re.search(r"hold the same volume to within ([\d.]+) %", text)
        assert float(within[1]) < 0.5

    def test_materials_and_json(self, written):
        with open(written["materials"], newline="", encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
        assert [(row["count"], row["item"], row["standard"]) for row in rows] == [
            ("1", "plate", ""),
            ("1", "peg", ""),
            ("1", "cap screw M3 x 6", "ISO 4762"),
        ]
        facts = json.loads(written["json"].read_text(encoding="utf-8"))
        assert facts["mating"][0]["measured_mm"] == pytest.approx(0.2)
        assert facts["parts"][0]["smallest_wall_mm"] == pytest.approx(4.0)

    def test_pictures_show_every_colour(self, written, trial):
        from PIL import Image

        for kind in ("png", "apart_png"):
            pixels = np.asarray(Image.open(written[kind]).convert("HSV"))[:, :1100]
            hues = pixels[pixels[:, :, 1] > 120][:, 0]
            for hue in (29, 144):
                assert (np.abs(hues.astype(int) - hue) < 8).sum() > 2000

    def test_again_gives_the_same_bytes_and_no_picture_where_none_can_be_drawn(
        self, trial, written, tmp_path, monkeypatch
    ):
        def fails(jig, places, path, apart):
            raise PictureUnavailable("No picture was drawn.")

        monkeypatch.setattr("ringwright.jigs.files.write_jig.write_jig_png", fails)
        again = write_jig(trial, PRINTER, tmp_path, "trial")
        assert again.no_picture == "No picture was drawn."
        assert again.files["png"] is None
        assert list(tmp_path.glob("*.png")) == []
        for kind, path in again.files.items():
            if kind not in ("png", "apart_png", "sheet", "json"):
                same = (tmp_path / path.rsplit("/", 1)[1]).read_bytes()
                assert same == written[kind].read_bytes(), kind


def test_what_does_not_come_apart_is_drawn_once(tmp_path, monkeypatch):
    drawn = []
    monkeypatch.setattr(
        "ringwright.jigs.files.write_jig.write_jig_png",
        lambda jig, places, path, apart: drawn.append(apart),
    )
    monkeypatch.setattr("ringwright.jigs.files.write_jig.write_sheet", lambda *given: None)
    made = write_jig(jig_of(Part("block", box(9, 9, 9), ORANGE)), PRINTER, tmp_path, "trial")
    assert drawn == [False]
    assert "apart_png" not in made.files
    assert not (tmp_path / "trial-apart.png").exists()


def test_a_part_on_the_bed_stands_on_it(trial):
    box_ = on_the_bed(trial.parts[1], trial.parts[1].solid).BoundingBox()
    assert (box_.zmin, box_.center.x, box_.center.y) == pytest.approx((0, 0, 0), abs=1e-6)


def test_require_printable_returns_what_was_measured(trial):
    assert [part.count for part in require_printable(trial, PRINTER).parts] == [1, 1]


class TestPrinterOptions:
    def printer(self, *given):
        parser = argparse.ArgumentParser()
        add_printer(parser)
        return printer_from(parser.parse_args(given))

    def test_without_any_it_is_a_usual_one(self):
        assert self.printer() == Printer()

    def test_the_shop_file_goes_before_what_is_usual_and_an_option_before_that(self, tmp_path):
        shop = tmp_path / "shop.toml"
        shop.write_text('[printer]\nnozzle = "0.6mm"\nbed = ["180mm", "180mm", "150mm"]\n')
        of_shop = self.printer("--shop", str(shop))
        assert of_shop.nozzle_mm == 0.6
        assert of_shop.extrusion_width_mm == pytest.approx(0.675)
        assert of_shop.bed_mm == (180.0, 180.0, 150.0)
        assert of_shop.clearance_mm == Printer().clearance_mm
        assert self.printer("--shop", str(shop), "--nozzle", "0.25mm").nozzle_mm == 0.25


class TestCommands:
    def test_jigs_are_listed(self, capsys):
        assert main(["jigs", "--json"]) == 0
        listed = json.loads(capsys.readouterr().out)["jigs"]
        assert [each["jig"] for each in listed] == list(JIGS)
        assert all(each["summary"] for each in listed)

    @pytest.mark.parametrize(
        ("given", "said"),
        [
            (["--wire", "0.9"], "write the unit"),
            (["--wire", "0.9mm", "--inner", "3.2mm", "--bed", "big"], "bed 'big'"),
            (["--wire", "0.9mm", "--inner", "44mm"], "calipers"),
            (["--wire", "0.9mm", "--inner", "3.2mm", "--bed", "60x60x60mm"], "fit the bed"),
        ],
    )
    def test_what_cannot_be_made_is_refused_in_one_sentence(self, capsys, tmp_path, given, said):
        out = ["--out", str(tmp_path / "new" / "gauge")]
        assert main(["jig", "ring-gauge", *given, *out]) == 2
        err = capsys.readouterr().err
        assert said in err
        assert err.count("\n") == 1
        assert not (tmp_path / "new").exists()
