"""The pictures of the README: small, and not out of date."""

import pytest
from PIL import Image

from tests.tools.make_pictures import FOLDER, PICTURES, recorded, run, shown
from tests.tools.written_for_makers import README

_AGAIN = "is out of date: python -m tests.tools.make_pictures {0}, and look at it"


def test_the_readme_shows_all_of_them_with_words_for_those_who_do_not_see_them():
    text = README.read_text(encoding="utf-8")
    for name in PICTURES:
        before, found, _ = text.partition(f"](out/pictures/{name}.webp)")
        assert found, name
        assert len(before.rpartition("![")[2]) > 60


def test_they_are_small():
    sizes = {path.name: path.stat().st_size for path in FOLDER.iterdir()}
    assert set(sizes) == {f"{name}.webp" for name in PICTURES} | {"shown.json"}
    assert max(sizes.values()) < 80_000
    assert sum(sizes.values()) < 300_000


@pytest.mark.parametrize("name", PICTURES)
def test_they_are_pictures_on_a_light_ground(name):
    with Image.open(FOLDER / f"{name}.webp") as picture:
        assert picture.format == "WEBP"
        corner = picture.convert("L").getpixel((3, picture.height - 4))
        assert picture.width == PICTURES[name].wide
    assert corner > 150


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(n, marks=pytest.mark.slow if one.command else pytest.mark.outside)
        for n, one in PICTURES.items()
    ],
)
def test_they_show_what_the_program_makes_today(name, tmp_path):
    folder = tmp_path / "made"
    run(PICTURES[name], folder)
    assert shown(PICTURES[name], folder) == recorded()[name], _AGAIN.format(name)
