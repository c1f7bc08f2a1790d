"""Colours and metals: which ring gets which, and that files and counts agree."""

import io
import json
import math
import re

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.cli import main
from ringwright.colour.looks import COLOUR_WORDS, look_of, paint_of_pixel
from ringwright.colour.metals import ByGrid, metal_counts, painted, parse_metals, parse_pattern
from ringwright.colour.read_grid import read_grid
from ringwright.outputs.models.picture import write_png
from ringwright.outputs.models.write_glb import write_glb
from ringwright.outputs.models.write_step import write_step
from ringwright.piece.piece import rows_of, woven_piece
from ringwright.solver.placement import placed_unit
from ringwright.weaves import load_rule

SIZE = RingSize(0.9, 3.2)
SETTINGS = settings(
    derandomize=True,
    deadline=None,
    max_examples=150,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


def laid_out(name, repeats, rows=1):
    """A piece of the rule's rough placement; enough to see which ring is which."""
    rule = load_rule(name)
    return rule, woven_piece(rule, placed_unit(rule, SIZE), SIZE.core_radius_mm, repeats, rows)


def metal_of(piece):
    return dict(zip(piece.names, piece.metals, strict=True))


def test_metals_by_role_and_by_ring_take_turns_from_repeat_to_repeat():
    rule, piece = laid_out("barrel", 4)
    made = metal_of(painted(piece, parse_metals("open=copper, E=brass, closed=steel/silver", rule)))
    assert made["B.1"] == made["D.4"] == "copper"
    assert made["E.0"] == made["E.3"] == "brass"
    assert [made[f"C1.{n}"] for n in (1, 2, 3, 4)] == ["steel", "silver"] * 2


def test_a_pattern_goes_from_ring_to_ring_in_the_order_of_weaving():
    _, piece = laid_out("one-in-one", 3)
    made = painted(piece, parse_pattern("2*copper,#D86E33"))
    assert made.metals == ("copper", "copper", "#d86e33") * 2 + ("copper",)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("open=copper", "gives no metal for ring C1"),
        ("open=copper,closed=tin foil", "not a metal known here"),
        ("open=copper,Q=steel", "not RING=METAL"),
        ("copper", "not RING=METAL"),
        ("open=copper,open=steel,closed=steel", "gives open twice"),
        ("open=" + "copper/" * 1000, "characters"),
        ("", "not RING=METAL"),
    ],
)
def test_metals_that_cannot_be_read_are_refused(text, said):
    with pytest.raises(BadInput, match=re.escape(said)):
        parse_metals(text, load_rule("barrel"))


@pytest.mark.parametrize("text", ["", "copper,", "300*copper", "1000000000*copper", "-1*copper,x"])
def test_a_pattern_that_cannot_be_read_is_refused(text):
    with pytest.raises(BadInput, match="pattern"):
        parse_pattern(text)


@SETTINGS
@given(text=st.text(max_size=60) | st.text(alphabet="openclsd=/,*#09afB", max_size=60))
def test_any_text_is_metals_or_refused(text):
    for read in (lambda: parse_metals(text, load_rule("barrel")), lambda: parse_pattern(text)):
        try:
            said = str(read())
        except BadInput as error:
            said = str(error)
        assert said.isprintable()


# --- grids -----------------------------------------------------------------------------


def test_the_rows_of_a_sheet_are_those_seen_from_above():
    _, piece = laid_out("european-4-in-1", 3, 2)
    rows = rows_of(piece)
    assert [len(row) for row in rows] == [3, 3, 3, 3]
    heights = [piece.centres_mm[row, 1].mean() for row in rows]
    assert heights == sorted(heights, reverse=True)
    assert [piece.names[ring] for ring in rows[0]] == ["P.1.2", "P.2.2", "P.3.2"]
    assert [piece.names[ring] for ring in rows[3]] == ["Q.1.1", "Q.2.1", "Q.3.1"]


@pytest.mark.parametrize(
    ("name", "rows"),
    # Two repeats across. European: a row of closed rings and one of open ones in each; Japanese:
    # the flat rings make the rows, those that stand only join them.
    [
        ("european-4-in-1", 4),
        ("european-6-in-1", 4),
        ("japanese-4-in-1", 2),
        ("japanese-8-in-2", 2),
    ],
)
def test_rows_are_counted_as_makers_count_them(name, rows):
    _, piece = laid_out(name, 3, 2)
    found = rows_of(piece, lying=True)
    assert len(found) == rows
    # Within a row the rings follow one another along x and lie level.
    for row in found:
        assert np.ptp(piece.centres_mm[row, 1]) < 0.1 * piece.core_radii_mm[0]


def test_a_picture_gives_each_ring_the_colour_of_its_pixel(tmp_path):
    pixels = np.zeros((2, 3, 3), np.uint8)
    pixels[0] = [[217, 110, 51], [1, 2, 3], [4, 5, 6]]
    pixels[1] = [[7, 8, 9], [10, 11, 12], [255, 255, 255]]
    path = tmp_path / "grid.png"
    Image.fromarray(pixels).save(path)
    _, piece = laid_out("european-4-in-1", 3, 2)
    made = metal_of(painted(piece, read_grid(str(path))))
    # 0.85, 0.43, 0.20 of 255 is copper; what is no metal stays the colour it is.
    assert made["P.1.2"] == "copper"
    assert made["P.3.2"] == "#040506"
    assert made["Q.1.2"] == "#070809"
    # Two rows of four: repeated.
    assert made["P.1.1"] == "copper"


def test_a_table_gives_each_ring_the_metal_of_its_cell(tmp_path):
    path = tmp_path / "grid.csv"
    path.write_text("copper,Brass\nsteel,#00ff00\n\n")
    assert read_grid(str(path)).rows == (("copper", "brass"), ("steel", "#00ff00"))


def test_a_grid_larger_than_the_sheet_is_refused():
    _, piece = laid_out("european-4-in-1", 3, 2)
    with pytest.raises(BadInput, match=r"4 wide and 1 high, but the sheet has 4 rows of 3 rings"):
        painted(piece, ByGrid((("copper",) * 4,), "grid"))


def png(size, mode="RGB", colour=(1, 2, 3)):
    out = io.BytesIO()
    Image.new(mode, size, colour).save(out, "PNG")
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.txt", b"copper", "neither a PNG nor a CSV"),
        ("a.png", b"copper", "cannot be read as a PNG"),
        ("a.png", png((3, 3))[:50], "cannot be read as a PNG"),
        ("a.png", png((5000, 2)), "at most 400 by 400"),
        ("a.png", png((2, 2), "RGBA", (1, 2, 3, 0)), "see-through at column 1 of row 1"),
        ("a.csv", b"", "is empty"),
        ("a.csv", b"copper,brass\nsteel\n", "1 cells in row 2 and 2 in the first"),
        ("a.csv", b"copper,wood\n", "not a metal known here"),
        ("a.csv", b"\xff\xfe", "cannot be read as a CSV"),
        ("a.csv", b'"copper', "cannot be read as a CSV"),
        ("a.csv", b"copper\n" * 200_000, "bytes"),
        ("a.csv", b"copper\n" * 500, "400 by 400"),
        ("a.csv", ",".join(f"#0000{n:02x}" for n in range(41)).encode(), "more than 40 colours"),
    ],
)
def test_a_grid_that_cannot_be_used_is_refused(tmp_path, name, content, said):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(BadInput, match=re.escape(said)) as refusal:
        read_grid(str(tmp_path / name))
    assert str(refusal.value).isprintable()


def test_a_grid_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(BadInput, match="cannot be read"):
        read_grid(str(tmp_path / "none.csv"))
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(BadInput, match=r"cannot be read|not a regular file"):
        read_grid(str(tmp_path / "folder.csv"))


@SETTINGS
@given(content=st.binary(max_size=200), kind=st.sampled_from(["csv", "png"]), head=st.booleans())
def test_any_file_is_a_grid_or_refused(tmp_path, content, kind, head):
    path = tmp_path / f"grid.{kind}"
    path.write_bytes(png((2, 2))[:40] + content if head else content)
    try:
        rows = read_grid(str(path)).rows
    except BadInput as error:
        rows = (str(error),)
        assert len(rows[0]) < 1000
    assert len({len(row) for row in rows}) == 1


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_every_pixel_has_a_look_of_its_own_colour(pixel):
    colour = look_of(paint_of_pixel(*pixel)).colour
    assert tuple(round(255 * part) for part in colour) == pixel


def test_every_metal_is_found_again_by_its_colour():
    for name, surface in COLOUR_WORDS.items():
        assert paint_of_pixel(*(round(255 * part) for part in surface.colour)) == name


# --- files -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def made():
    _, piece = laid_out("one-in-one", 2)
    return painted(piece, parse_pattern("brass,copper,#204080"))


def test_metals_are_counted_with_the_wire_in_them(made):
    counts = {one.metal: one for one in metal_counts(made)}
    assert {metal: one.rings for metal, one in counts.items()} == {
        "brass": 2,
        "copper": 2,
        "#204080": 1,
    }
    # A ring of inner diameter 3.2 mm and 0.9 mm wire is 4.1 pi mm long along its middle.
    assert counts["brass"].wire_length_mm == pytest.approx(2 * 4.1 * math.pi)
    assert sum(one.rings_open for one in counts.values()) == made.roles.count("open")


def test_a_glb_file_has_a_material_for_each_metal(made, tmp_path):
    write_glb(made, tmp_path / "a.glb", 0.2)
    scene = trimesh.load(tmp_path / "a.glb")
    for node, metal in zip(made.names, made.metals, strict=True):
        material = scene.geometry[scene.graph[node][1]].visual.material
        assert material.name == metal
        # Materials are stored in 8 bits by the reader.
        linear = look_of(metal).linear()
        assert np.asarray(material.baseColorFactor[:3]) / 255 == pytest.approx(linear, abs=0.005)


def test_a_step_file_has_a_solid_of_the_right_colour_for_each_metal(made, tmp_path):
    write_step(made, tmp_path / "a.step")
    text = (tmp_path / "a.step").read_text()
    colours = dict(re.findall(r"COLOUR_RGB\('([^']*)',([^)]*)\)", text))
    assert set(colours) == set(made.metals)
    for metal, parts in colours.items():
        assert tuple(map(float, parts.split(","))) == pytest.approx(look_of(metal).colour)


def test_a_picture_shows_the_metals(made, tmp_path):
    write_png(made, tmp_path / "a.png", (640, 360))
    picture = np.asarray(Image.open(tmp_path / "a.png").convert("RGB")).astype(int)
    blue = (picture[:, :, 2] - picture[:, :, 0]) > 60
    assert 50 < blue.sum() < blue.size / 4


class TestCommand:
    @pytest.mark.usefixtures("unpictured")
    def test_metals_are_in_the_answer_and_the_table(self, tmp_path, capsys):
        asked = ["preview", "one-in-one", "--wire", "0.9mm", "--inner", "3.2mm", "--length", "20mm"]
        asked += ["--metals", "open=copper,closed=steel/brass", "--chord-error", "0.2mm", "--json"]
        assert main([*asked, "--out", str(tmp_path / "a")]) == 0
        facts = json.loads(capsys.readouterr().out)
        assert sum(one["rings"] for one in facts["metals"]) == facts["rings_total"]
        rings = json.loads((tmp_path / "a.json").read_text())["rings"]
        assert {ring["metal"] for ring in rings} == {"copper", "steel", "brass"}

    @pytest.mark.parametrize(
        ("more", "said"),
        [
            (["--grid", "a.csv"], "--grid is for sheets"),
            (["--metals", "open=copper"], "gives no metal for ring Y"),
            (["--pattern", "copper", "--grid", "a.csv"], "not allowed with"),
        ],
    )
    def test_what_does_not_fit_is_refused_before_anything_is_settled(
        self, tmp_path, capsys, more, said
    ):
        asked = ["preview", "one-in-one", "--wire", "0.9mm", "--inner", "3.2mm", "--length", "20mm"]
        assert main([*asked, "--out", str(tmp_path / "a"), *more]) == 2
        assert said in capsys.readouterr().err


def test_a_piece_without_metals_is_coloured_by_role():
    _, plain = laid_out("one-in-one", 1)
    assert plain.paints == plain.roles
    assert metal_counts(plain) == []


@pytest.mark.usefixtures("unpictured")
def test_metals_of_a_rule_file_are_those_of_its_preview(tmp_path, capsys):
    rule = tmp_path / "mine.toml"
    rule.write_text(
        'name = "mine"\nsummary = "in two metals"\nlike = "one-in-one"\n'
        'metals = "X=copper,Y=brass"\n'
    )
    size = ["--wire", "0.9mm", "--inner", "3.2mm", "--length", "20mm"]
    assert main(["preview", str(rule), *size, "--out", str(tmp_path / "a"), "--json"]) == 0
    metals = json.loads(capsys.readouterr().out)["metals"]
    assert {one["metal"] for one in metals} == {"copper", "brass"}
    rule.write_text(rule.read_text().replace("Y=brass", "Y=cheese"))
    assert main(["preview", str(rule), *size, "--out", str(tmp_path / "b")]) == 2
    assert "metals in" in capsys.readouterr().err
