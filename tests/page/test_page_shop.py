"""The shop on the page without a browser: its file, and single changes of its text."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.base.errors import BadInput
from ringwright.cli import main
from ringwright.making.shop.shop import shop_from_text
from ringwright.making.shop.starting_shop import STARTING_SHOP
from ringwright.page.state.shop_edits import with_table, with_value, without_table
from ringwright.page.state.shop_file import ShopFile

WIRE = {"name": "thin", "size": "0.9mm", "metal": "copper", "temper": "soft"}
NAMES = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=60)


@settings(deadline=None, max_examples=30)
@given(NAMES, st.floats(0.0, 1e7))
def test_a_wire_is_put_in_and_taken_out_again(name: str, price: float) -> None:
    added = with_table(STARTING_SHOP, "wire", {**WIRE, "name": name, "price_per_kg": price})
    wires = shop_from_text(added, Path("shop.toml")).wires
    assert [wire.name for wire in wires] == ["copper 0.9", "silver 20 AWG", name]
    assert wires[2].price_per_kg == price
    assert without_table(added, "wire", 2) == STARTING_SHOP


def test_a_trial_is_kept_with_its_spool_and_taken_out_again() -> None:
    trial = {"wire": "copper 0.9", "mandrel": "3mm", "inner": "3.09mm", "measured": "coil"}
    added = with_table(STARTING_SHOP, "trial", trial)
    shop = shop_from_text(added, Path("shop.toml"))
    assert [wire.bending.trials for wire in shop.wires] == [1, 0]
    assert without_table(added, "trial", 0) == STARTING_SHOP
    told = with_value(added, "caliper", "error", "0.01mm")
    assert shop_from_text(told, Path("shop.toml")).trials[0][1].error_mm == 0.01


def test_remarks_stay_where_they_are() -> None:
    remarks = [line for line in STARTING_SHOP.splitlines() if "#" in line]
    text = without_table(STARTING_SHOP, "wire", 0)
    text = with_value(text, "saw", "kerf", "0.25mm")
    text = with_value(text, "saw", "coil", "90mm")
    text = with_value(text, "printer", "bed", ["180mm", "180mm", "180mm"])
    text = with_value(text, "rates", "markup", None)
    assert [line.replace("90mm", "100mm") for line in text.splitlines() if "#" in line] == remarks
    shop = shop_from_text(text, Path("shop.toml"))
    assert (shop.cut.kerf_mm, shop.coil_mm) == (0.25, 90.0)
    assert shop.printer.bed_mm == (180.0, 180.0, 180.0)
    assert (len(shop.wires), shop.rates.markup) == (1, 1.0)


def test_an_empty_shop_is_filled() -> None:
    text = with_table(with_value("", "saw", "kerf", "0.3mm"), "mandrel", {"size": "3mm"})
    assert tomllib.loads(text) == {"saw": {"kerf": "0.3mm"}, "mandrel": [{"size": "3mm"}]}
    assert with_value("", "saw", "kerf", None) == ""
    assert tomllib.loads(without_table(text, "mandrel", 0)) == {"saw": {"kerf": "0.3mm"}}


@pytest.mark.parametrize(
    "text",
    [
        'wire = [{ name = "a", size = "1mm", metal = "copper", temper = "soft" }]',
        # What looks like a header and is part of a text.
        '[[wire]]\nname = """\n[[wire]]\n"""\n',
    ],
)
def test_a_text_of_another_style_is_left_to_its_maker(text: str) -> None:
    with pytest.raises(BadInput, match="only you"):
        without_table(text, "wire", 0)


def test_a_file_is_saved_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(STARTING_SHOP)
    link = tmp_path / "link.toml"
    link.symlink_to(path)
    file = ShopFile(link)
    seen = file.read()
    with pytest.raises(BadInput, match="unknown key"):
        file.save("[[wier]]\n", seen)
    assert path.read_text() == STARTING_SHOP
    file.save("[saw]\nkerf = '0.3mm'\n", seen)
    assert path.read_text() == "[saw]\nkerf = '0.3mm'\n"
    assert link.is_symlink()
    # Seen before somebody else changed it.
    with pytest.raises(BadInput, match="somebody else"):
        file.save(STARTING_SHOP, seen)
    assert path.read_text() == "[saw]\nkerf = '0.3mm'\n"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["link.toml", "shop.toml"]


@pytest.mark.parametrize("name", ["none.toml", "."])
def test_a_shop_file_that_cannot_be_read_is_refused_at_once(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["serve", "--no-browser", "--port", "0", "--shop", str(tmp_path / name)]) == 2
    assert "shop file" in capsys.readouterr().err
