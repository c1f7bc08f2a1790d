"""Colours of a grid that stand for metals: exactly, nearly, or as a legend has it."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from ringwright.base.errors import BadInput
from ringwright.colour.legend import parse_legend
from ringwright.colour.looks import COLOUR_WORDS, hex_of, named_colour
from ringwright.colour.near import apart
from ringwright.colour.read_grid import read_grid

COPPER, BRASS = (180, 106, 60), (217, 176, 84)


def saved(tmp_path, *rows):
    picture = Image.new("RGB", (len(rows[0]), len(rows)))
    picture.putdata([pixel for row in rows for pixel in row])
    picture.save(tmp_path / "a.png")
    return str(tmp_path / "a.png")


def test_distances_are_those_of_cielab():
    # White, black and the red of sRGB in CIELAB, as tables of colours give them (from memory).
    assert apart((1, 1, 1), (0, 0, 0)) == pytest.approx(100.0, abs=0.05)
    red = ((100 - 53.24) ** 2 + 80.09**2 + 67.20**2) ** 0.5
    assert apart((1, 1, 1), (1, 0, 0)) == pytest.approx(red, abs=0.1)


def test_pixels_are_of_the_metal_of_a_legend_that_they_nearly_are(tmp_path):
    legend = parse_legend("#B46A3C=copper, #d9b054 = yellow brass")
    path = saved(tmp_path, [COPPER, BRASS], [(182, 105, 61), (215, 177, 86)])
    assert read_grid(path, legend=legend).rows == (("copper", "yellow brass"),) * 2


@pytest.mark.parametrize(
    ("pixel", "legend", "said"),
    [
        ((20, 40, 200), "#b46a3c=copper", "near to none of #b46a3c; add it to legend"),
        (COPPER, "#b66c3e=copper,#b2683a=bronze", "may be #b66c3e or #b2683a"),
        (COPPER, "x=copper", "is not in the legend"),
    ],
)
def test_a_pixel_that_is_not_clear_is_refused_by_its_colour(tmp_path, pixel, legend, said):
    with pytest.raises(BadInput, match=re.escape(said)) as refusal:
        read_grid(saved(tmp_path, [pixel]), legend=parse_legend(legend))
    assert hex_of(*pixel) in str(refusal.value)


def test_marks_of_a_table_stand_for_metals(tmp_path):
    (tmp_path / "a.csv").write_text("X,o\no,silver\n")
    rows = read_grid(str(tmp_path / "a.csv"), legend=parse_legend("x=copper,o=brass")).rows
    assert rows == (("copper", "brass"), ("brass", "silver"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("copper", "not COLOUR=METAL"),
        ("=copper", "not COLOUR=METAL"),
        ("x=", "not COLOUR=METAL"),
        ("x=copper,X=brass", "gives x twice"),
        ("x=wood", "not a metal known here"),
        ("x=copper," * 1000, "longer than"),
    ],
)
def test_a_legend_that_cannot_be_used_is_refused(text, said):
    with pytest.raises(BadInput, match=said):
        parse_legend(text)


@settings(derandomize=True, deadline=None, max_examples=200)
@given(st.sampled_from(sorted(COLOUR_WORDS)), st.tuples(*[st.integers(-3, 3)] * 3))
def test_a_colour_is_never_taken_for_another_metal_than_the_one_it_was(word, noise):
    exact = [round(255 * part) for part in COLOUR_WORDS[word].colour]
    pixel = hex_of(*(min(255, part + off) for part, off in zip(exact, noise, strict=True)))
    try:
        found = named_colour(pixel)
    except BadInput:
        # Brass and gold are the two that lie so near to each other.
        assert word in ("gold", "brass")
    else:
        assert found == word


def test_names_are_left_alone_and_far_colours_refused():
    assert named_colour("fine silver") == "fine silver"
    assert named_colour(hex_of(216, 112, 54)) == "copper"
    with pytest.raises(BadInput, match="#00ff00 is near to none of copper"):
        named_colour("#00ff00")
