"""Stills: what is in the files, and that the pictures show what their words say."""

import json
from functools import cache
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from PIL import Image

from ringwright.cli import main
from ringwright.colour.looks import COLOUR_WORDS
from ringwright.commands.json_schema import schema_of
from ringwright.outputs.stills import studio
from ringwright.outputs.stills.stills import parse_paints, print_pixels

SIZE = ["--wire", "0.9mm", "--inner", "3.2mm"]


def refused(capsys, *arguments):
    assert main(["stills", *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("ringwright: ")
    assert err.count("\n") == 1
    return err


@pytest.fixture(scope="module")
def taken(tmp_path_factory):
    """One weave cut out in two metals, small in print; the JSON of it."""
    folder = tmp_path_factory.mktemp("stills")
    options = ["--view", "close", "--background", "transparent", "--for", "print"]
    options += ["--print-width", "30mm", "--metal", "copper,silver"]
    assert main(["stills", "one-in-one", *SIZE, *options, "--out", str(folder / "a")]) == 0
    facts = json.loads((folder / "a.json").read_text(encoding="utf-8"))
    jsonschema.validate(facts, schema_of("stills"))
    return facts


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """Takes small stills by the roles of rings, of the views asked for; their JSON."""

    @cache
    def take(*views):
        folder = tmp_path_factory.mktemp("small")
        options = [part for view in views for part in ("--view", view)]
        options += ["--finger", "40mm"] if "worn" in views else []
        options += ["--metal", "roles", "--length", "40mm", "--out", str(folder / "a")]
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("ringwright.outputs.stills.stills._WEB_PIXELS", 160)
            assert main(["stills", "one-in-one", *SIZE, *options]) == 0
        facts = json.loads((folder / "a.json").read_text(encoding="utf-8"))
        jsonschema.validate(facts, schema_of("stills"))
        return facts["stills"]

    return take


def levels(still):
    with Image.open(still["file"]) as picture:
        return np.asarray(picture).astype(float)


class TestFiles:
    def test_the_words_in_the_picture_are_those_of_the_json(self, taken):
        for still in taken["stills"]:
            with Image.open(still["file"]) as picture:
                picture.load()
                assert picture.text["Title"] == still["title"]
                assert picture.text["Description"] == still["alt"]
            assert still["metal"] in still["alt"]
            assert "0.9 mm" in still["alt"]
            assert "approximations" in still["alt"]

    def test_in_print_it_is_as_wide_as_was_asked_for(self, taken):
        # pHYs counts whole pixels a metre, so 300 dpi is kept to a hundredth.
        for still in taken["stills"]:
            with Image.open(still["file"]) as picture:
                assert picture.info["dpi"][0] == pytest.approx(300.0, abs=0.01)
                assert picture.width / picture.info["dpi"][0] * 25.4 == pytest.approx(30.0, abs=0.1)
                assert picture.size == (still["width_px"], still["height_px"])

    def test_for_the_web_there_is_a_small_one_of_the_same_shape(self, small):
        for still in small("whole", "worn"):
            with Image.open(still["file"]) as large, Image.open(still["small_file"]) as half:
                assert (large.width, half.width) == (160, 80)
                assert half.height == pytest.approx(large.height / 2, abs=1)
                assert large.mode == "RGB"

    def test_the_same_again_is_the_same_file(self, small):
        first, again = small("whole", "worn")[0], small("whole")[0]
        assert first["file"] != again["file"]
        assert Path(first["file"]).read_bytes() == Path(again["file"]).read_bytes()

    def test_worn_it_says_how_it_is_laid(self, small):
        still = small("whole", "worn")[1]
        assert still["inner_girth_mm"] == pytest.approx(40.0, abs=0.05)
        assert still["laid"]["state"] == "worn"
        assert (still["laid"]["worn_on"], still["laid"]["goes_round"]) == ("finger", True)
        assert still["smallest_gap_mm"] > -1e-6
        # The alternative text says in words what is open, and what each colour stands for.
        assert f"{still['open_for_clasp_mm']:.2g} mm apart, where the clasp goes" in still["alt"]
        assert "opened to weave them are polished vermilion" in still["alt"]
        assert "closed beforehand are satin sky blue" in still["alt"]


@pytest.mark.parametrize("laid", ["on-table", "hung"])
def test_a_piece_is_shown_as_it_lies_or_hangs(laid, tmp_path, monkeypatch):
    monkeypatch.setattr("ringwright.outputs.stills.stills._WEB_PIXELS", 160)
    options = ["--view", "whole", "--length", "30mm", "--laid", laid, "--background", "transparent"]
    assert main(["stills", "one-in-one", *SIZE, *options, "--out", str(tmp_path / "a")]) == 0
    facts = json.loads((tmp_path / "a.json").read_text(encoding="utf-8"))
    jsonschema.validate(facts, schema_of("stills"))
    still = facts["stills"][0]
    assert (still["laid"]["state"], still["laid"]["settled"]) == (laid, True)
    alpha = levels(still)[:, :, 3]
    rows, columns = alpha.shape
    # There is a soft shadow under what lies, and none where nothing is.
    soft = ((alpha > 20) & (alpha < 140)).mean()
    if laid == "hung":
        assert rows > 2 * columns
        assert "hung from its first ring" in still["alt"]
        assert soft < 0.03
    else:
        assert columns > rows
        assert "lying on a table" in still["alt"]
        assert soft > 0.03


class TestLook:
    def test_where_nothing_is_it_is_see_through(self, taken):
        for still in taken["stills"]:
            alpha = levels(still)[:, :, 3]
            # The chain runs from the left to the right, downwards.
            assert alpha[0, -1] == alpha[-1, 0] == 0.0
            assert alpha.max() == 255.0
            middle = alpha[alpha.shape[0] // 3 : -alpha.shape[0] // 3]
            assert (middle == 255.0).mean() > 0.1

    def test_each_metal_is_nearest_its_own_colour(self, taken):
        def hue(colour):
            return colour / colour.sum()

        for still in taken["stills"]:
            picture = levels(still)
            solid = picture[:, :, 3] == 255.0
            mean = picture[solid][:, :3].mean(axis=0)
            away = {
                metal: np.linalg.norm(hue(mean) - hue(np.array(COLOUR_WORDS[metal].colour)))
                for metal in ("copper", "silver", "brass", "niobium")
            }
            stated = tuple(round(255 * part) for part in COLOUR_WORDS[still["metal"]].colour)
            assert still["colours"] == {still["metal"]: "#{:02x}{:02x}{:02x}".format(*stated)}
            assert min(away, key=away.get) == still["metal"]
            # Neither burnt out nor black.
            assert 60.0 < mean.max() < 225.0

    def test_the_film_keeps_middle_tones_and_rolls_off_highlights(self):
        film = studio.film()
        light = studio.HEADROOM * (np.arange(256) / 255.0) ** 2.2
        middle = light < 0.6
        assert film[middle] == pytest.approx(light[middle], rel=0.02)
        assert np.all(np.diff(film) >= 0.0)
        assert film[-1] == 1.0


class TestRefusals:
    def test_one_sentence_each(self, capsys, tmp_path):
        out = ["--out", str(tmp_path / "a")]
        assert "not a metal" in refused(capsys, "barrel", *SIZE, "--metal", "cheese", *out)
        assert "sheets" in refused(capsys, "barrel", *SIZE, "--width", "20mm", *out)
        assert "--for print" in refused(capsys, "barrel", *SIZE, "--print-width", "9cm", *out)
        assert "--view worn" in refused(capsys, "barrel", *SIZE, "--wrist", "165mm", *out)
        assert "no way" not in refused(
            capsys, "barrel", *SIZE, "--view", "whole", "--laid", "worn", *out
        )
        both = ["--view", "worn", "--wrist", "165mm", "--neck", "400mm"]
        assert "worn on one" in refused(capsys, "barrel", *SIZE, *both, *out)
        neck = ["--view", "worn", "--neck", "400mm"]
        assert "give --length" in refused(capsys, "barrel", *SIZE, *neck, *out)
        oval = ["--view", "worn", "--oval", "0.5"]
        assert "between 1 and 2" in refused(capsys, "barrel", *SIZE, *oval, *out)
        wrist = ["--view", "worn", "--wrist", "5m"]
        assert "between 40 and 600 mm" in refused(capsys, "barrel", *SIZE, *wrist, *out)
        laid = ["--view", "worn", "--laid", "on-table"]
        assert "add --view whole" in refused(capsys, "barrel", *SIZE, *laid, *out)
        assert "a chain" in refused(capsys, "barrel", *SIZE, "--laid", "spread", *out)
        assert list(tmp_path.iterdir()) == []

    def test_without_graphics_nothing_is_written(self, capsys, tmp_path, monkeypatch):
        monkeypatch.setattr(
            "ringwright.outputs.stills.write_stills.ARTIST", "ringwright.nothing_here"
        )
        err = refused(capsys, "one-in-one", *SIZE, "--out", str(tmp_path / "a"))
        assert "No picture was drawn" in err
        assert list(tmp_path.iterdir()) == []


def test_metals_are_taken_once_each():
    assert parse_paints(["copper,silver", "copper"]) == ("copper", "silver")
    assert parse_paints(["all"]) == tuple(COLOUR_WORDS)
    # 150 mm at 300 dots an inch of 25.4 mm.
    assert print_pixels(150.0) == 1772
