"""Lessons: rings told apart by role by colour, shape and name, the same in all that is written."""

import json
import struct
from collections import Counter

import numpy as np
import pypdf
import pytest
from PIL import Image

from generator.cli import main
from generator.role_looks import ROLE_LOOKS


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    """The files of an assembly sheet by role, and what its JSON says."""
    folder = tmp_path_factory.mktemp("lesson")
    given = ["assembly", "one-in-one", "--wire", "0.9mm", "--inner", "3.2mm", "--teaching"]
    assert main([*given, "--out", str(folder / "chain")]) == 0
    return folder, json.loads((folder / "chain.json").read_text(encoding="utf-8"))


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


def test_the_legend_of_the_paper_says_colour_shape_and_name(sheet):
    read = pypdf.PdfReader(sheet[0] / "chain.pdf")
    text = " ".join(read.pages[0].extract_text().split())
    assert "open rings: orange, two fine grooves all around" in text
    assert "closed rings: sky blue, smooth" in text
    # The colours of steps are no part of a lesson.
    assert "vermilion" not in text


def test_the_json_has_the_same_legend_and_every_picture_in_its_words(sheet):
    facts = sheet[1]
    assert {each["name"]: each["colour"] for each in facts["legend"]} == {
        "open rings": "#E69F00",
        "closed rings": "#56B4E9",
    }
    first = facts["steps"][1]
    assert first["alt"].startswith(f"Ring {first['ring']} stands open, in orange")
    assert "in sky blue" in first["alt"]


def test_pictures_show_each_role_in_its_colour(sheet):
    folder, facts = sheet
    for step in facts["steps"]:
        found = hues(folder / f"chain-{step['step']:02}.png")
        # Hues of the two colours: 41 and 202 degrees.
        assert near(found, 202) > 2000
        assert (near(found, 41) > 2000) == (step["ring"] is not None)


def test_the_animation_has_a_material_for_each_role(sheet):
    data = (sheet[0] / "chain.glb").read_bytes()
    content = json.loads(data[20 : 20 + struct.unpack_from("<I", data, 12)[0]])
    painted = {
        each["name"]: each["pbrMetallicRoughness"]["baseColorFactor"][:3]
        for each in content["materials"]
    }
    assert set(painted) == {"open (orange)", "closed (sky blue)"}
    for look in ROLE_LOOKS.values():
        assert painted[f"{look.role} ({look.look.metal})"] == pytest.approx(look.look.linear())
