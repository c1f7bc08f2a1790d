"""The gallery: one picture and one page of all weaves."""

import json
import math
import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
from PIL import Image

from ringwright.cli import main
from ringwright.outputs.gallery import gallery
from ringwright.outputs.gallery.gallery import exhibits
from ringwright.outputs.gallery.gallery_figures import ExhibitFigures
from ringwright.outputs.gallery.write_gallery import exhibit_rows, gallery_text, write_gallery
from ringwright.outputs.models import artist
from ringwright.weaves import load_rule
from ringwright.weaves.rest_states import Body
from ringwright.weaves.writing import rule_text
from tests.tools.source_tree import ROOT


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A gallery of a chain, a sheet, and a rule whose common range is too tight to be woven."""
    folder = tmp_path_factory.mktemp("gallery")
    text = rule_text(load_rule("one-in-one")).replace(
        'name = "one-in-one"', 'name = "too tight"', 1
    )
    text = text.replace("low = 2.8", "low = 1.5").replace("high = 5.0", "high = 1.6")
    (folder / "tight.toml").write_text(text.replace("simple chain", "a <b> & c"))
    names = ["one-in-one", "european-4-in-1", str(folder / "tight.toml")]
    assert main(["gallery", *names, "--out", str(folder / "out" / "all")]) == 0
    return folder / "out"


class Page(HTMLParser):
    """What a browser would find: the tags with their attributes, and open tags left over."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.open = [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "img"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def of(self, tag):
        return [attributes for name, attributes in self.tags if name == tag]


def test_just_the_two_files_are_written(made):
    assert sorted(path.name for path in made.iterdir()) == ["all.html", "all.png"]


def test_the_contact_sheet_has_a_picture_for_each_weave_that_can_be_woven(made):
    sheet = np.asarray(Image.open(made / "all.png").convert("RGB")).astype(int)
    # Three tiles in a row: copper in the first two, none in the third.
    copper = (sheet[:400, :, 0] - sheet[:400, :, 2]) > 60
    third = sheet.shape[1] // 3
    assert copper[:, :third].sum() > 2000
    assert copper[:, third : 2 * third].sum() > 2000
    assert copper[:, 2 * third :].sum() == 0


def test_the_page_holds_everything_it_needs(made):
    text = (made / "all.html").read_text(encoding="utf-8")
    page = Page(text)
    assert page.open == []
    for _, attributes in page.tags:
        for key in ("src", "href"):
            assert attributes.get(key, "data:").startswith("data:")
    policy = next(a["content"] for a in page.of("meta") if "content" in a and "src" in a["content"])
    assert "default-src 'none'" in policy
    assert "http" not in policy
    assert "http:" not in text
    assert "https:" not in text


def test_every_model_and_picture_has_alt_text_and_every_weave_a_table(made):
    page = Page((made / "all.html").read_text(encoding="utf-8"))
    pictures, models = page.of("img"), page.of("canvas")
    assert len(pictures) == len(models) == 2
    assert all("weave" in attributes["alt"] for attributes in pictures)
    assert all("weave" in attributes["aria-label"] for attributes in models)
    assert all(attributes["tabindex"] == "0" for attributes in models)
    assert len(page.of("table")) == len(page.of("article")) == 3
    assert all(attributes["scope"] == "row" for attributes in page.of("th"))


def test_the_models_are_the_rings(made):
    page = Page((made / "all.html").read_text(encoding="utf-8"))
    rings = np.reshape(json.loads(page.of("canvas")[0]["data-rings"])["rings"], (-1, 11))
    (one,) = exhibits([load_rule("one-in-one")], 0.9, lambda *_: None, on_table=None)
    piece = one.laid.piece
    # A chain is shown on a table where nothing else is asked for.
    assert one.laid.state.name == "on-table"
    assert "or pulled straight" not in (made / "all.html").read_text(encoding="utf-8")
    assert np.allclose(rings[:, :3], piece.centres_mm, atol=1e-4)
    assert np.allclose(rings[:, 3:6], piece.axes, atol=1e-4)
    assert np.allclose(rings[:, 6], piece.core_radii_mm, atol=1e-4)
    assert np.allclose(rings[:, 7], piece.wire_radii_mm, atol=1e-4)


def test_a_weave_that_is_not_shown_says_why(made):
    text = (made / "all.html").read_text(encoding="utf-8")
    assert "Not shown: it cannot be woven at this size." in text
    # A rule file is data from a stranger.
    assert "a &lt;b&gt; &amp; c" in text


def test_a_rule_without_a_common_range_is_shown_above_its_smallest_ratio(tmp_path):
    text = re.sub(r"(?s)\[common_aspect_ratio\].*?\n\n", "", rule_text(load_rule("one-in-one")))
    (tmp_path / "mine.toml").write_text(text)
    (one,) = exhibits([load_rule(tmp_path / "mine.toml")], 0.9, lambda *_: None)
    # A chain of single rings closes down to aspect ratio 2; a fifth above that is 2.4.
    assert one.size.aspect_ratio == pytest.approx(2.4)
    assert dict(exhibit_rows(one))["common aspect ratio"].startswith("none given")


def test_without_graphics_libraries_the_page_is_still_written(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(artist, "_command", lambda: ["false"])
    assert main(["gallery", "one-in-one", "--out", str(tmp_path / "all"), "--json"]) == 0
    out, err = capsys.readouterr()
    assert "No picture was drawn" in err
    assert json.loads(out)["files"]["png"] is None
    assert [path.name for path in tmp_path.iterdir()] == ["all.html"]


def test_on_a_table_pieces_are_shown_as_they_come_to_rest(tmp_path, monkeypatch):
    rules = [load_rule("barrel"), load_rule(ROOT / "tests" / "rules" / "sheet.toml")]
    # As little as will do.
    monkeypatch.setattr(gallery, "_LENGTH", 8.0)
    monkeypatch.setattr(gallery, "_WIDTH", 4.0)
    shown = exhibits(rules, 0.9, lambda *_: None, on_table=True)
    assert [ExhibitFigures.of(one).laid.state for one in shown] == ["on-table", "spread"]
    barrel = shown[0]
    assert barrel.piece is barrel.laid.piece
    assert np.abs(barrel.piece.axes - barrel.laid.pulled.axes).max() > 0.01
    assert dict(exhibit_rows(barrel))["as it lies"].startswith("lying on a table: ")
    monkeypatch.setattr(artist, "_command", lambda: ["false"])
    files, _ = write_gallery(shown, tmp_path, "all", lambda *_: None)
    assert "Every weave as it lies on a table" in (tmp_path / "all.html").read_text("utf-8")
    assert "not quite at rest" not in gallery_text(shown, files)
    lying = replace(barrel.laid.lying, settled=False, residual=2e-3)
    restless = replace(barrel, laid=replace(barrel.laid, lying=lying))
    assert "not quite at rest: barrel: after" in gallery_text([restless], files)


def test_worn_as_much_is_shown_as_goes_round_and_the_rest_as_usual():
    rules = [load_rule("one-in-one"), load_rule("japanese-flower")]
    chain, flower = exhibits(rules, 1.2, lambda *_: None, None, Body("finger", 54.0))
    assert chain.laid.fit.goes_round
    assert ExhibitFigures.of(chain).laid.state == "worn"
    assert "for the clasp" in dict(exhibit_rows(chain))["as it is worn"]
    assert flower.laid.state.name == "on-table"
    # Round the finger, in the plane of the picture.
    assert np.hypot(*chain.piece.centres_mm[:, :2].T).min() > 54.0 / math.tau


def test_the_smallest_ratio_is_that_of_the_tightest_shape():
    (one,) = exhibits([load_rule("spiral-3-in-1")], 0.9, lambda *_: None)
    kept = load_rule("spiral-3-in-1").computed
    assert kept is not None
    assert kept.geometric < one.report.tightest.aspect_ratio - 0.1
    assert dict(exhibit_rows(one))["smallest aspect ratio"].startswith(f"{kept.geometric:.3f} ")
    facts = ExhibitFigures.of(one).facts()
    assert facts["min_aspect_ratio"] == pytest.approx(kept.geometric, abs=1e-3)
