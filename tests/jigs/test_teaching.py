"""Lessons: rings told apart by role by colour, shape and name, the same in all that is written."""

import json
import math
import re
import struct
import zipfile
from collections import Counter
from itertools import combinations
from xml.etree import ElementTree

import cadquery as cq
import fcl
import numpy as np
import pypdf
import pytest
import trimesh
from PIL import Image

from ringwright.cli import main
from ringwright.colour.role_looks import ROLE_LOOKS

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
# Twice the farthest that a facet lies from the true surface.
FACETS_MM = 0.02


@pytest.fixture(scope="module")
def lesson(tmp_path_factory):
    """The files of a giant sample for lessons, by kind, and what its JSON says."""
    folder = tmp_path_factory.mktemp("lesson")
    given = ["giant-sample", "one-in-one", "--wire", "0.9mm", "--inner", "3.2mm", "--repeats", "1"]
    assert main(["jig", *given, "--teaching", "--out", str(folder / "chain")]) == 0
    facts = json.loads((folder / "chain.json").read_text(encoding="utf-8"))
    return {kind: folder / path.rsplit("/", 1)[1] for kind, path in facts["files"].items()}, facts


@pytest.fixture(scope="module")
def sheet(lesson):
    """What its assembly sheet's JSON says."""
    return json.loads(lesson[0]["steps json"].read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def rings(lesson):
    """Every printed body, by the role of its STL file, read back from the disk."""
    return [
        (role, body)
        for role in ROLE_LOOKS
        for body in trimesh.load_mesh(lesson[0][f"stl {role}-rings"]).split()
    ]


def hues(path):
    """How many strongly coloured pixels of each hue in degrees there are."""
    levels = np.asarray(Image.open(path).convert("HSV")).astype(int)
    return Counter((levels[levels[..., 1] > 110][:, 0] * 360 / 255).round().tolist())


def near(found, degrees):
    """How many pixels have a hue."""
    return sum(count for hue, count in found.items() if abs(hue - degrees) <= 8)


def test_the_colours_are_those_of_okabe_and_ito():
    # Orange and sky blue: M. Okabe and K. Ito, "Color Universal Design", from memory.
    assert ROLE_LOOKS["open"].rgb == (230, 159, 0)
    assert ROLE_LOOKS["closed"].rgb == (86, 180, 233)
    # Each of colour, shape and name tells the roles apart by itself.
    for said in ("hex", "shape", "name"):
        assert len({getattr(look, said) for look in ROLE_LOOKS.values()}) == 2


def distance_mm(one, other):
    """Between two bodies, by the FCL library."""
    bodies = []
    for mesh in (one, other):
        body = fcl.BVHModel()
        body.beginModel(len(mesh.vertices), len(mesh.faces))
        body.addSubModel(np.asarray(mesh.vertices), np.asarray(mesh.faces))
        body.endModel()
        bodies.append(fcl.CollisionObject(body))
    return fcl.distance(*bodies, fcl.DistanceRequest(), fcl.DistanceResult())


def step_colours(path):
    """How many solids of a STEP file are of each colour (ISO 10303-21 text)."""
    text = path.read_text(encoding="ascii")
    entities = {int(n): said for n, said in re.findall(r"#(\d+) = (.*);", text)}

    def needed(number, kind):
        """What an entity leads to, of a kind."""
        here = entities[number]
        if here.startswith(kind):
            return [here]
        below = re.findall(r"#(\d+)", here)
        return [found for each in below for found in needed(int(each), kind)]

    found = Counter()
    for said in entities.values():
        if styled := re.fullmatch(r"STYLED_ITEM\('color',\(#(\d+)\),#(\d+)\)", said):
            assert entities[int(styled[2])].startswith("MANIFOLD_SOLID_BREP")
            (colour,) = set(needed(int(styled[1]), "COLOUR_RGB"))
            levels = re.findall(r"[\d.E-]+", colour.split("'',")[1])
            found["#" + "".join(f"{round(255 * float(level)):02X}" for level in levels)] += 1
    return found


class TestPrintedFiles:
    def test_bodies_of_the_stl_files_are_the_rings_apart_by_the_promised_gap(self, lesson, rings):
        promised = lesson[1]["dimensions"]
        assert len(rings) == promised["rings"] == 3
        assert all(body.is_watertight for _, body in rings)
        # They stand on the bed.
        assert min(body.bounds[0][2] for _, body in rings) == pytest.approx(0.0, abs=1e-3)
        gaps = [distance_mm(one, other) for (_, one), (_, other) in combinations(rings, 2)]
        assert min(gaps) >= promised["gap_kept_mm"] - FACETS_MM
        # Those that carry the pull are just that far apart.
        assert min(gaps) == pytest.approx(promised["gap_kept_mm"], abs=2 * FACETS_MM)

    def test_rings_to_open_have_two_grooves_and_others_none(self, lesson, rings):
        size = lesson[1]["dimensions"]
        wire = size["printed_wire_mm"] / 2
        core = size["printed_inner_mm"] / 2 + wire
        for role, body in rings:
            # The kernel's middle of a ring with a flat is off by the flat.
            middle = body.bounds.mean(axis=0)
            axis = np.eye(3)[int(body.extents.argmin())]
            if role == "closed":
                middle[2] = body.bounds[1][2] - core - wire
            away = np.asarray(body.vertices) - middle
            along = away @ axis
            out = np.linalg.norm(away - along[:, None] * axis, axis=1) - core
            # Clear of the flat that it stands on.
            clear = body.vertices[:, 2] > body.bounds[0][2] + 1.0
            if role == "open":
                clear[:] = True
            from_core = np.hypot(out, along)[clear]
            turn = np.degrees(np.arctan2(along, out))[clear]
            deep = from_core < wire - 0.02
            if role == "closed":
                assert not deep.any()
                continue
            # So wide that the nozzle shows it, as deep as half of that.
            assert size["groove_depth_mm"] == pytest.approx(0.12 * 2 * wire)
            assert from_core.min() == pytest.approx(
                math.sqrt(wire**2 - (0.24 * wire) ** 2) - 0.24 * wire, abs=0.01
            )
            assert 0.24 * 2 * wire >= 2 * 0.4
            half = math.degrees(math.asin(0.24))
            for side in (1, -1):
                mine = turn[deep & (np.sign(turn) == side)]
                assert side * mine.mean() == pytest.approx(45.0, abs=2.0)
                assert np.abs(mine - side * 45.0).max() < half

    def test_stl_step_and_closed_form_hold_the_same_volume(self, lesson, rings):
        size = lesson[1]["dimensions"]
        wire = size["printed_wire_mm"] / 2
        torus = 2 * math.pi**2 * (size["printed_inner_mm"] / 2 + wire) * wire**2
        read = cq.Assembly.importStep(str(lesson[0]["step"]))
        for child in read.children:
            role = child.name.split("-")[0]
            mine = [body.volume for each, body in rings if each == role]
            assert sum(mine) == pytest.approx(child.obj.Volume(), rel=0.005)
            # Pappus: all but grooves, or a flat to stand on.
            assert all(0.94 * torus < volume < torus for volume in mine)

    def test_one_3mf_file_has_both_bodies_in_place_and_all_files_the_same_colours(
        self, lesson, sheet
    ):
        files = lesson[0]
        with zipfile.ZipFile(files["3mf together"]) as package:
            model = ElementTree.fromstring(package.read("3D/3dmodel.model"))
        materials = [base.get("displaycolor") for base in model.iter(f"{CORE}base")]
        *bodies, whole = model.iter(f"{CORE}object")
        (built,) = model.iter(f"{CORE}item")
        assert built.get("objectid") == whole.get("id")
        assert [part.get("objectid") for part in whole.iter(f"{CORE}component")] == [
            body.get("id") for body in bodies
        ]
        painted, lows = {}, []
        for body in bodies:
            painted[body.get("name")] = materials[int(body.get("pindex"))]
            corners = [[float(v.get(axis)) for axis in "xyz"] for v in body.iter(f"{CORE}vertex")]
            stl = trimesh.load_mesh(files[f"stl {body.get('name')}"])
            assert np.ptp(corners, axis=0) == pytest.approx(stl.extents, abs=1e-4)
            lows.append(np.min(corners, axis=0) - stl.bounds[0])
        # Both are moved alike.
        assert lows[0] == pytest.approx(lows[1], abs=1e-4)
        of_sheet = {each["name"].replace(" ", "-"): each["colour"] for each in sheet["legend"]}
        assert painted == of_sheet
        # Every ring's solid has its colour in the STEP file.
        assert step_colours(files["step"]) == {
            painted["open-rings"]: 1,
            painted["closed-rings"]: 2,
        }


def test_the_legend_of_the_paper_says_colour_shape_and_name(lesson):
    read = pypdf.PdfReader(lesson[0]["steps pdf"])
    text = " ".join(read.pages[0].extract_text().split())
    assert "open rings: orange, two fine grooves all around" in text
    assert "closed rings: sky blue, smooth" in text
    # The colours of steps are no part of a lesson.
    assert "vermilion" not in text
    # The sample's own sheet says the same.
    pages = pypdf.PdfReader(lesson[0]["sheet"]).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split()).lower()
    for look in ROLE_LOOKS.values():
        assert look.words in text


def test_the_json_has_the_same_legend_and_every_picture_in_its_words(sheet):
    assert {each["name"]: each["colour"] for each in sheet["legend"]} == {
        "open rings": "#E69F00",
        "closed rings": "#56B4E9",
    }
    first = sheet["steps"][1]
    assert first["alt"].startswith(f"Ring {first['ring']} stands open, in orange")
    assert "in sky blue" in first["alt"]


def test_pictures_show_each_role_in_its_colour(lesson, sheet):
    for step in sheet["steps"]:
        found = hues(lesson[0][f"steps png {step['step']}"])
        # Hues of the two colours: 41 and 202 degrees.
        assert near(found, 202) > 2000
        assert (near(found, 41) > 2000) == (step["ring"] is not None)


def test_the_animation_has_a_material_for_each_role(lesson):
    data = lesson[0]["steps glb"].read_bytes()
    content = json.loads(data[20 : 20 + struct.unpack_from("<I", data, 12)[0]])
    painted = {
        each["name"]: each["pbrMetallicRoughness"]["baseColorFactor"][:3]
        for each in content["materials"]
    }
    assert set(painted) == {"open (orange)", "closed (sky blue)"}
    for look in ROLE_LOOKS.values():
        assert painted[f"{look.role} ({look.look.metal})"] == pytest.approx(look.look.linear())
