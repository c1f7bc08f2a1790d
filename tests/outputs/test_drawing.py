"""Measured drawings: outlines and hidden lines against other means, files measured again."""

import itertools
import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import ezdxf
import numpy as np
import pypdf
import pytest
import shapely
from ezdxf.entitydb import EntityDB
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pypdf.generic import ContentStream
from scipy.spatial.transform import Rotation

from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.verdict import check
from ringwright.api.asked import asked_state
from ringwright.base.errors import BadInput
from ringwright.base.paper import PAPERS, landscape
from ringwright.base.sizes import RingSize
from ringwright.base.typeface import typeface
from ringwright.cli import main
from ringwright.geometry.contact import Rings
from ringwright.outputs.drawing.draw import Wanted, draw, write
from ringwright.outputs.drawing.drawing_figures import DrawingFigures, DrawnFiles
from ringwright.outputs.drawing.figures import three_views, view_figures
from ringwright.outputs.drawing.layout import (
    SCALES,
    Title,
    lay_out,
    parse_scale,
    scale_text,
)
from ringwright.outputs.drawing.marks import CAPITALS, dashed, text_width
from ringwright.outputs.drawing.outline import View, ellipses
from ringwright.outputs.drawing.visibility import BEHIND_ITSELF, HIDDEN, SEEN, kinds, outlines
from ringwright.piece.piece import woven_piece
from ringwright.solver.measure import all_round, extent, width_and_thickness
from ringwright.solver.placement import placed_unit
from ringwright.weaves import load_rule

SVG = "{http://www.w3.org/2000/svg}"
MM_PER_POINT = 25.4 / 72.0
FRONT = View("front", *np.eye(3))
OBLIQUE = tuple(
    View("oblique", *Rotation.from_rotvec(turn).as_matrix())
    for turn in ([0.4, -0.7, 0.2], [1.9, 0.3, -1.1])
)
RULES = Path(__file__).parents[1] / "rules"


def one_ring(axis, core=2.0, wire=0.45):
    axis = np.asarray(axis, float)
    return Rings(
        np.zeros((1, 3)),
        (axis / np.linalg.norm(axis))[None],
        np.array([core]),
        np.array([wire]),
    )


def surface(rings, ring, along=721, round_wire=91):
    """Points of a torus, straight from its definition."""
    axis = rings.axes[ring]
    one = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    one /= np.linalg.norm(one)
    two = np.cross(axis, one)
    t, phi = np.meshgrid(np.linspace(0, 2 * np.pi, along), np.linspace(0, 2 * np.pi, round_wire))
    out = np.cos(t)[..., None] * one + np.sin(t)[..., None] * two
    core, wire = rings.core_radii[ring], rings.wire_radii[ring]
    points = (core + wire * np.cos(phi))[..., None] * out + wire * np.sin(phi)[..., None] * axis
    return (rings.centres[ring] + points).reshape(-1, 3)


def distance(rings, points):
    """From points (..., 3) to the nearest torus, negative inside: by the distance to a circle."""
    found = np.full(points.shape[:-1], np.inf)
    for centre, axis, core, wire in zip(
        rings.centres, rings.axes, rings.core_radii, rings.wire_radii, strict=True
    ):
        away = points - centre
        height = away @ axis
        radial = np.sqrt(np.maximum((away**2).sum(-1) - height**2, 0.0))
        found = np.minimum(found, np.hypot(radial - core, height) - wire)
    return found


@pytest.fixture(scope="module")
def report():
    return check(load_rule("barrel"), RingSize(0.9, 3.2))


@pytest.fixture(scope="module")
def drawn(report):
    return draw(report, Wanted(3, None, None, "A4", 1.0, True))


@pytest.fixture(scope="module")
def files(drawn, tmp_path_factory):
    return write(drawn, tmp_path_factory.mktemp("drawing"), "barrel")


def placed(path, repeats):
    """A rule, its rough placement, so many repeats of it, and their dimensions by name."""
    rule = load_rule(str(path))
    unit = placed_unit(rule, RingSize(0.9, 3.2))
    piece = woven_piece(rule, unit, 2.05, repeats, repeats)
    views = view_figures(rule, unit, 2.05, piece, False)
    measured = {one.name: one.value_mm for view in views for one in view.dimensions}
    return rule, unit, piece, measured


def laid_out(drawn, paper, scale):
    """The figures of a drawing on other paper, at another scale."""
    *views, ring = (placed.figure for placed in drawn.sheet.figures)
    title = Title("barrel", "rings", drawn.sheet.facts, "ringwright")
    return lay_out(tuple(views), ring, 0.9, paper, scale, title)


def polylines(files, kind):
    """The SVG's lines of a kind, (n, 2) each, in millimetres with y up."""
    root = ET.parse(files["svg"]).getroot()
    height = float(root.get("height").removesuffix("mm"))
    assert root.get("viewBox") == f"0 0 {root.get('width')[:-2]} {root.get('height')[:-2]}"
    group = root.find(f"{SVG}g[@class='{kind}']")
    for path in group.findall(f"{SVG}path"):
        numbers = np.array(re.findall(r"[-0-9.]+", path.get("d")), float).reshape(-1, 2)
        yield numbers * [1, -1] + [0, height]


def pdf_polylines(files):
    """The PDF's open lines, (n, 2) each, in millimetres, straight from the page's operators."""
    page = pypdf.PdfReader(files["pdf"]).pages[0]
    line = []
    for operands, operator in ContentStream(page.get_contents(), page.pdf).operations:
        if operator == b"m":
            line = [operands]
        elif operator == b"l":
            line.append(operands)
        elif operator == b"S":
            yield np.array(line, float) * MM_PER_POINT


vectors = st.tuples(*[st.floats(-1, 1, allow_nan=False)] * 3).filter(
    lambda vector: np.linalg.norm(vector) > 0.1
)


class TestOutline:
    @settings(max_examples=25, deadline=None)
    @given(axis=vectors, core=st.floats(1.0, 6.0), share=st.floats(0.05, 0.7))
    def test_outer_outline_is_the_hull_of_the_surface(self, axis, core, share):
        rings = one_ring(axis, core, share * core)
        drawn = ellipses(rings, FRONT)
        t = drawn.steps(0)
        line = drawn.outline(np.zeros(len(t), int), np.ones(len(t)), t)
        points = FRONT.flat(surface(rings, 0))
        angles = np.linspace(0, 2 * np.pi, 97)
        ways = np.stack([np.cos(angles), np.sin(angles)])
        reach, sampled = (line @ ways).max(0), (points @ ways).max(0)
        # Samples never reach beyond the torus, and at 0.5 and 4 degrees nearly there.
        assert (sampled <= reach + 2e-4 * core).all()
        assert (sampled >= reach - 1e-3 * core).all()

    @settings(max_examples=25, deadline=None)
    @given(axis=vectors, core=st.floats(1.0, 6.0), share=st.floats(0.05, 0.7))
    def test_points_are_on_the_torus_where_it_turns_out_of_sight(self, axis, core, share):
        rings = one_ring(axis, core, share * core)
        drawn = ellipses(rings, FRONT)
        t = np.repeat(drawn.steps(0), 2)
        side = np.tile([1.0, -1.0], len(t) // 2)
        which = np.zeros(len(t), int)
        flat = drawn.outline(which, side, t)
        points = np.column_stack([flat, drawn.depth(which, t)])
        assert np.abs(distance(rings, points)).max() < 2e-6 * core
        # The distance does not change, to first order, when a point moves along the line of sight.
        step = 1e-4 * core
        moved = points[:, None] + step * np.array([[0, 0, 1], [0, 0, -1]])
        slope = np.diff(distance(rings, moved), axis=1) / (2 * step)
        assert np.abs(slope).max() < 1e-3

    def test_face_on_two_circles_and_edge_on_a_slot(self):
        circles = outlines(one_ring([0, 0, 1]), FRONT)
        radii = sorted(np.hypot(*line.T).mean() for line in circles.seen)
        assert radii == pytest.approx([1.55, 2.45], abs=1e-3)
        slot = outlines(one_ring([0, 1, 0]), FRONT)
        lines = shapely.union_all([shapely.LineString(line) for line in slot.seen])
        # Two straight sides of twice the core radius and two half circles of the wire.
        assert lines.length == pytest.approx(2 * 4.0 + 2 * np.pi * 0.45, rel=1e-3)
        assert lines.bounds == pytest.approx((-2.45, -0.45, 2.45, 0.45), abs=1e-3)
        assert circles.hidden == slot.hidden == ()

    @settings(max_examples=8, deadline=None)
    @given(axis=vectors)
    @example(axis=(0.0, 1.0, 1e-5))
    @example(axis=(0.0, 1.0, 4e-5))
    @example(axis=(0.0, 1.0, 1.0))
    def test_what_one_ring_shows_is_drawn_and_no_more(self, axis):
        rings = one_ring(axis)
        found = outlines(rings, FRONT)
        lines = shapely.multilinestrings([shapely.LineString(line) for line in found.seen])
        # Cut along its lines, the paper falls apart into pieces: within one of them, either every
        # line of sight meets the ring or none does.
        pieces = shapely.get_parts(shapely.box(-2.6, -2.6, 2.6, 2.6) - lines.buffer(0.005))
        assert len(pieces) >= 2
        places = np.random.default_rng(3).uniform(-2.5, 2.5, (200, 2))
        height = np.linspace(-2.6, 2.6, 201)
        rays = np.concatenate(
            [
                np.repeat(places[:, None], len(height), 1),
                np.tile(height, (len(places), 1))[..., None],
            ],
            axis=2,
        )
        covered = distance(rings, rays).min(axis=1) < 0.0
        far = shapely.distance(shapely.points(places), lines) > 0.03
        for piece in pieces:
            inside = shapely.contains_xy(piece, *places.T) & far
            assert len(set(covered[inside])) <= 1


class TestHidden:
    # Straight views, in which most lines of sight just graze a ring, and oblique ones.
    @pytest.mark.parametrize(
        ("which", "least"), [(0, 0.5), (1, 0.5), (2, 0.35), (3, 0.8), (4, 0.8)]
    )
    def test_kinds_agree_with_rays_through_space(self, drawn, which, least):
        rings = drawn.piece.rings()
        view = (*three_views(0.0), *OBLIQUE)[which]
        found = ellipses(rings, view)
        random = np.random.default_rng(which)
        ring = random.integers(len(rings.centres), size=700)
        side = random.choice([-1.0, 1.0], 700)
        t = random.uniform(0, 2 * np.pi, 700)
        flat, depth = found.outline(ring, side, t), found.depth(ring, t)
        points = np.outer(flat[:, 0], view.right) + np.outer(flat[:, 1], view.up)
        points += np.outer(depth, view.toward)
        # Every ray is followed towards the eye, from just off the ring, in small steps.
        ahead = np.concatenate([np.linspace(0.06, 1.0, 95), np.arange(1.02, 11.0, 0.02)])
        rays = points[:, None] + ahead[:, None] * view.toward
        nearest = distance(rings, rays).min(axis=1)
        said = kinds(found, ring, side, t)
        sure = np.abs(nearest) > 2e-3
        assert sure.mean() > least
        assert {SEEN, HIDDEN} <= set(said[sure])
        np.testing.assert_array_equal(said[sure] != SEEN, nearest[sure] < 0.0)
        # And what is hidden by the ring itself is, when it is alone.
        own = np.array(
            [
                distance(
                    Rings(*(part[i : i + 1] for part in vars(rings).values())), rays[row]
                ).min()
                for row, i in enumerate(ring)
            ]
        )
        sure = np.abs(own) > 2e-3
        np.testing.assert_array_equal(said[sure] == BEHIND_ITSELF, own[sure] < 0.0)

    def test_cuts_are_where_the_ring_in_front_begins(self):
        # A large ring edge on is a straight bar across a flat one.
        rings = Rings(
            np.array([[0, 0, 0], [0, 0, 5.0]]),
            np.array([[0, 0, 1.0], [0, 1.0, 0]]),
            np.array([2.0, 3.0]),
            np.array([0.45, 0.45]),
        )
        ends = np.concatenate([line[[0, -1]] for line in outlines(rings, FRONT).hidden])
        assert len(ends) == 8
        # Circles of 1.55 and 2.45 pass under its sides, which are 0.45 from the middle.
        np.testing.assert_allclose(np.abs(ends[:, 1]), 0.45, atol=1e-4)
        assert sorted(np.hypot(*ends.T)) == pytest.approx([1.55] * 4 + [2.45] * 4, abs=1e-4)

    def test_a_ring_exactly_behind_another_adds_no_lines(self):
        rings = Rings(
            np.array([[0, 0, 0], [0, 0, -1.0]]),
            np.array([[0.3, 0, 1.0], [0.3, 0, 1.0]]) / np.hypot(1, 0.3),
            np.array([2.0, 2.0]),
            np.array([0.45, 0.45]),
        )
        both = outlines(rings, FRONT)
        alone = outlines(one_ring([0.3, 0, 1.0]), FRONT)
        assert both.hidden == ()
        assert sum(shapely.LineString(line).length for line in both.seen) == pytest.approx(
            sum(shapely.LineString(line).length for line in alone.seen), abs=0.05
        )


class TestMeasures:
    def test_dimensions_are_those_of_the_check(self, report, drawn):
        facts = CheckFigures.of(report).facts()
        found = drawn.dimensions
        for name in ("repeat", "width", "thickness", "wire", "inner"):
            assert found[name] == pytest.approx(facts[f"{name}_mm"], abs=1e-6)
        assert found["length"] == pytest.approx(drawn.piece.length_mm(), abs=1e-9)

    def test_svg_says_and_measures_the_same(self, drawn, files):
        root = ET.parse(files["svg"]).getroot()
        said = [text.text for text in root.iter(f"{SVG}text") if text.get("class") == "dimension"]
        written = {}
        for text in said:
            name, number = re.fullmatch(r"(\w+) Ø?([0-9.]+)", text).groups()
            written[name] = float(number)
        assert written == {
            name: pytest.approx(value, abs=0.00501) for name, value in drawn.dimensions.items()
        }
        lines = np.concatenate([*polylines(files, "visible")])
        views = lines[lines[:, 1] > 70]
        # At 1:1 the front and side views are as long as the piece, to a hundredth of a millimetre.
        left = views[views[:, 0] < views[:, 0].min() + drawn.dimensions["length"] + 5]
        assert np.ptp(left[:, 0]) == pytest.approx(drawn.dimensions["length"], abs=0.01)
        front = left[left[:, 1] > left[:, 1].max() - drawn.dimensions["width"] - 5]
        assert np.ptp(front[:, 1]) == pytest.approx(drawn.dimensions["width"], abs=0.01)
        end = views[views[:, 0] > left[:, 0].max()]
        assert np.ptp(end[:, 0]) == pytest.approx(drawn.dimensions["thickness"], abs=0.01)

    def test_both_rulers_are_true(self, files):
        for lines in (polylines(files, "ruler"), pdf_polylines(files)):
            sizes = [np.ptp(line, axis=0) for line in lines if len(line) == 2]
            for size in ([100.0, 0.0], [0.0, 40.0]):
                assert any(np.allclose(found, size, atol=0.01) for found in sizes)

    def test_pdf_is_true_to_size_and_its_text_can_be_copied(self, report, drawn, files):
        reader = pypdf.PdfReader(files["pdf"])
        page = reader.pages[0]
        assert len(reader.pages) == 1
        # A print dialogue then starts without "fit to page".
        assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
        box = np.array([page.mediabox.width, page.mediabox.height], float)
        np.testing.assert_allclose(box * MM_PER_POINT, landscape("A4"), atol=0.01)
        text = page.extract_text()
        for name, value in drawn.dimensions.items():
            assert re.search(rf"{name} Ø?{value:.2f}", text)
        assert report.verdict in text
        fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
        inside = [font["/DescendantFonts"][0].get_object()["/FontDescriptor"] for font in fonts]
        assert len(inside) == 2
        assert all("/FontFile2" in font.get_object() for font in inside)
        lines = [line for line in pdf_polylines(files) if len(line) > 8]
        points = np.concatenate(lines)
        views = points[points[:, 1] > 70]
        left = views[views[:, 0] < views[:, 0].min() + drawn.dimensions["length"] + 5]
        assert np.ptp(left[:, 0]) == pytest.approx(drawn.dimensions["length"], abs=0.02)

    def test_dxf_is_sound_and_measures_the_same(self, drawn, files):
        document = ezdxf.readfile(files["dxf"])
        audit = document.audit()
        assert not audit.has_errors
        assert not audit.has_fixes
        assert document.units == ezdxf.units.MM
        space = document.modelspace()
        measured = {
            re.match(r"\w+", entity.dxf.text).group(): entity.get_measurement()
            for entity in space.query("DIMENSION[layer=='dimensions']")
        }
        assert measured == {
            name: pytest.approx(value, abs=1e-6) for name, value in drawn.dimensions.items()
        }
        written = {entity.dxf.text for entity in space.query("DIMENSION")}
        root = ET.parse(files["svg"]).getroot()
        assert written == {
            text.text for text in root.iter(f"{SVG}text") if text.get("class") == "dimension"
        }
        layers = {entity.dxf.layer for entity in space}
        assert layers == {"visible", "hidden", "centre", "dimensions", "notes"}
        points = np.array(
            [
                point
                for line in space.query("LWPOLYLINE[layer=='visible']")
                for point in line.get_points("xy")
            ]
        )
        lowest = points[:, 0].min()
        left = points[points[:, 0] < lowest + drawn.dimensions["length"] + 5]
        assert np.ptp(left[:, 0]) == pytest.approx(drawn.dimensions["length"], abs=1e-3)

    def test_enlarged_the_dxf_stays_at_full_size(self, report, tmp_path):
        large = draw(report, Wanted(2, None, None, "letter", 5.0, False))
        files = write(large, tmp_path, "large")
        document = ezdxf.readfile(files["dxf"])
        assert not document.audit().has_errors
        space = document.modelspace()
        assert not space.query("LWPOLYLINE[layer=='hidden']")
        measured = {entity.get_measurement() for entity in space.query("DIMENSION")}
        assert any(found == pytest.approx(report.repeat_mm) for found in measured)
        visible = np.concatenate([*polylines(files, "visible")])
        views = visible[visible[:, 1] > 70]
        left = views[views[:, 0] < views[:, 0].min() + 5 * large.dimensions["length"] + 5]
        assert np.ptp(left[:, 0]) == pytest.approx(5 * large.dimensions["length"], abs=0.02)

    @pytest.mark.parametrize("backwards", [False, True])
    def test_same_drawing_same_bytes(self, drawn, files, tmp_path, monkeypatch, backwards):
        # The order of the library's sets changes from run to run.
        in_use = EntityDB.dxf_types_in_use
        monkeypatch.setattr(
            EntityDB, "dxf_types_in_use", lambda self: sorted(in_use(self), reverse=backwards)
        )
        again = write(drawn, tmp_path, "again")
        for kind in ("svg", "pdf", "dxf"):
            assert Path(again[kind]).read_bytes() == Path(files[kind]).read_bytes()

    def test_everything_stays_inside_the_frame(self, drawn):
        for paper, scale in itertools.product(PAPERS, (None, 1.0)):
            sheet = laid_out(drawn, paper, scale)
            marks = sheet.marks()
            points = np.concatenate([stroke.points for stroke in marks.strokes])
            assert (points >= 10.0 - 1e-9).all()
            assert (points <= np.array(sheet.size_mm) - 10.0 + 1e-9).all()
            for words in marks.words:
                share = {"start": 0.0, "middle": 0.5, "end": 1.0}[words.anchor]
                width = text_width(words.text, words.height, words.bold)
                axis = int(words.turned)
                low = words.at[axis] - share * width
                assert low >= 10.0
                assert low + width <= sheet.size_mm[axis] - 10.0
                assert words.height >= 1.3


@pytest.fixture(scope="module")
def lying(report):
    on_table = asked_state(report.rule, "on-table")
    return draw(report, Wanted(2, None, None, "A4", 1.0, False, on_table))


class TestOnATable:
    def test_it_is_measured_as_it_lies(self, lying):
        assert lying.laid.lying.settled
        measured = [lying.dimensions[name] for name in ("length", "width", "thickness")]
        assert measured == pytest.approx(lying.laid.lying.size_mm(), abs=1e-9)
        assert dict(lying.sheet.facts)["drawn"].endswith("mm long, lying on a table")
        figures = DrawingFigures.of(DrawnFiles(lying, {}))
        assert figures.laid.state == "on-table"

    def test_the_table_is_under_it(self, lying):
        (side,) = [one.figure for one in lying.sheet.figures if one.figure.name == "side"]
        (table,) = [line.points for line in side.strokes if line.kind == "envelope"]
        assert table[:, 1] == pytest.approx([0.0, 0.0])
        # Seen from above, down is up on paper: what lies on the table is below the line.
        highest = max(line.points[:, 1].max() for line in side.strokes if line.kind == "visible")
        assert highest == pytest.approx(0.0, abs=1e-3)


class TestFamilies:
    """Dimensions of rough placements, which need no settling."""

    @pytest.mark.parametrize(("rule", "repeats"), [("screw", 3), ("tube", 1)])
    def test_what_turns_has_the_room_it_takes_up(self, rule, repeats):
        rule, unit, piece, measured = placed(RULES / f"{rule}.toml", repeats)
        front, side, end = view_figures(rule, unit, 2.05, piece, False)
        width, thickness = (2.05 * size for size in width_and_thickness(all_round(unit)))
        assert measured["width"] == pytest.approx(width, abs=1e-9)
        assert measured["thickness"] == pytest.approx(thickness, abs=1e-9)
        for view, size in ((front, width), (side, thickness)):
            levels = [line.points[0, 1] for line in view.strokes if line.kind == "envelope"]
            assert np.ptp(levels) == pytest.approx(size)
        assert sum(line.kind == "envelope" for line in end.strokes) == 4

    def test_a_sheet_is_measured_over_all_its_rows(self):
        _, unit, piece, measured = placed(RULES / "sheet.toml", 3)
        repeat, _, row = 2.05 * unit.lattice.values
        assert measured["repeat"] == pytest.approx(repeat)
        # A repeat across holds two rows, one of rings P and one of rings Q.
        assert measured["row"] == pytest.approx(row / 2)
        low, high = extent(piece.rings(), np.array([0.0, 1.0, 0.0]))
        assert measured["width"] == pytest.approx(high - low)

    def test_a_finished_piece_has_no_repeat(self):
        _, _, piece, measured = placed(RULES / "hopf.toml", 1)
        assert set(measured) == {"width", "length", "thickness"}
        assert measured["length"] == pytest.approx(piece.length_mm())


class TestAsking:
    @pytest.mark.parametrize(("text", "scale"), [("1:1", 1.0), (" 5:1", 5.0), ("1:2", 0.5)])
    def test_scales(self, text, scale):
        assert parse_scale(text) == scale
        assert scale_text(scale) == text.strip()

    @pytest.mark.parametrize("text", ["", "2", "2:3", "0:1", "-1:1", "1:1:1", "1.5:1", "9999:1"])
    def test_no_scales(self, text):
        with pytest.raises(BadInput, match="is not a scale"):
            parse_scale(text)

    def test_fit_is_the_largest_recommended_scale_that_fits(self, drawn):
        for paper in PAPERS:
            found = laid_out(drawn, paper, None).scale
            larger = SCALES[SCALES.index(found) - 1]
            with pytest.raises(BadInput, match="ask for fewer repeats"):
                laid_out(drawn, paper, larger)

    def test_too_many_rings_for_a_sheet_of_paper(self, report):
        for wanted in (
            Wanted(10**9, None, None, "A4", None, False),
            Wanted(3, 3000.0, None, "A4", None, False),
        ):
            with pytest.raises(BadInput, match="sheet of paper can show"):
                draw(report, wanted)

    @pytest.mark.parametrize(
        ("more", "said"),
        [
            (["--length", "60mm", "--repeats", "3"], "leave one of them out"),
            (["--repeats", "0"], "ask for 2 or more"),
            (["--width", "60mm"], "--width is for sheets"),
            (["--scale", "big"], "is not a scale"),
            (["--length", "60"], "60"),
        ],
    )
    def test_bad_input_is_one_sentence(self, capsys, tmp_path, more, said):
        size = ["--wire", "0.9mm", "--inner", "3.2mm", "--out", str(tmp_path / "x")]
        assert main(["drawing", "barrel", *size, *more]) == 2
        assert said in capsys.readouterr().err
        assert not list(tmp_path.iterdir())

    def test_the_command_writes_three_files_and_says_so(self, capsys, tmp_path):
        size = ["--wire", "0.9mm", "--inner", "3.2mm", "--out", str(tmp_path / "one")]
        assert main(["drawing", "one-in-one", *size, "--length", "20mm", "--json"]) == 0
        facts = json.loads(capsys.readouterr().out)
        assert sorted(path.name for path in tmp_path.iterdir()) == ["one.dxf", "one.pdf", "one.svg"]
        assert facts["length_mm"] >= 20.0
        assert facts["dimensions_mm"]["length"] == pytest.approx(facts["length_mm"], abs=1e-6)
        assert facts["dimensions_mm"]["repeat"] == pytest.approx(facts["repeat_mm"], abs=1e-6)

    def test_what_cannot_be_woven_is_not_drawn(self, capsys, tmp_path):
        out = str(tmp_path / "x")
        asked = ["drawing", "one-in-one", "--wire", "1mm", "--ratio", "1.5", "--out", out]
        assert main(asked) == 1
        assert "Nothing was written." in capsys.readouterr().out
        assert not list(tmp_path.iterdir())


class TestMarks:
    def test_capitals_are_as_high_as_the_font_says(self):
        from fontTools.ttLib import TTFont

        for bold in (False, True):
            with TTFont(typeface(bold)) as font:
                letter = font["glyf"]["H"]
                assert letter.yMax / font["head"].unitsPerEm == CAPITALS

    @given(length=st.floats(0.1, 300.0))
    def test_dashes_lie_on_the_line_and_are_even_at_both_ends(self, length):
        line = np.array([[1.0, 2.0], [1.0 + length, 2.0]])
        pieces = dashed(line, (4.0, 1.0, 0.5, 1.0))
        first, last = pieces[0], pieces[-1]
        assert first[0, 0] - 1.0 == pytest.approx(1.0 + length - last[1, 0], abs=1e-6)
        for before, after in itertools.pairwise(pieces):
            assert after[0, 0] - before[1, 0] == pytest.approx(1.0, abs=1e-6)


def test_views_are_right_handed_and_first_angle():
    for flat in (0.0, 0.4):
        front, side, end = three_views(flat)
        for view in (front, side, end):
            np.testing.assert_allclose(np.cross(view.right, view.up), view.toward, atol=1e-12)
        # Below the front view stands what is seen from above, and right of it the left end.
        np.testing.assert_allclose(side.toward, front.up)
        np.testing.assert_allclose(end.toward, -front.right)


def test_a_worn_piece_goes_round_in_the_front_view():
    rule, size = load_rule("one-in-one"), RingSize(1.0, 4.0)
    report = check(rule, size)
    state = asked_state(rule, "worn", finger="54mm")
    drawn = draw(report, Wanted(9, None, None, "A4", None, False, state))
    assert drawn.laid.fit.closed
    front, _, end = (placed.figure for placed in drawn.sheet.figures[:3])
    assert front.caption == "front, as it is worn"
    # Longer down than across, for it hangs loose; and no wider than two rings.
    long, high = front.size
    assert drawn.dimensions["height"] == pytest.approx(high)
    assert drawn.dimensions["length"] == pytest.approx(long)
    assert high > long > 54.0 / np.pi
    assert drawn.dimensions["width"] == pytest.approx(end.size[0])
    assert drawn.dimensions["width"] < 2.0 * size.outer_mm
