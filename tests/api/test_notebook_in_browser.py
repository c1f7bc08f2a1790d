"""What a notebook shows of a check and of a piece, in a real browser. Run with ``-m outside``."""

from collections.abc import Iterator
from typing import Any

import pytest

import ringwright as rw
from tests.browser import faults

pytestmark = pytest.mark.outside

# As a notebook does it: into a page that is there already.
PUT_IN = """(outputs) => {
  for (const html of outputs) {
    const output = document.createElement("div");
    output.innerHTML = html;
    document.body.append(output);
  }
}"""
# The dots of a model that are copper: more red than blue.
COPPER = """(canvas) => {
  const {data} = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  const found = [];
  for (let i = 0; i < data.length; i += 4) if (data[i] - data[i + 2] > 60) found.push(i / 4);
  return found;
}"""


@pytest.fixture(scope="module")
def found() -> Any:
    return rw.check("one-in-one", wire="1mm", inner="4mm")


def notebook(browser: Any, *outputs: str) -> Any:
    """A page with these outputs, one below the other."""
    page = browser.new_page(viewport={"width": 1000, "height": 900})
    page.troubles = []
    page.on("pageerror", lambda error: page.troubles.append(str(error)))
    page.on("console", lambda line: line.type == "error" and page.troubles.append(line.text))
    page.set_content("<!DOCTYPE html><title>Notebook</title>")
    page.evaluate(PUT_IN, outputs)
    return page


@pytest.fixture(scope="module")
def page(browser: Any, found: Any) -> Iterator[Any]:
    one = notebook(browser, found._repr_html_(), found.piece(length="60mm")._repr_html_())
    yield one
    assert one.troubles == []
    one.close()


def copper(canvas: Any) -> set[int]:
    return set(canvas.evaluate(COPPER))


@pytest.mark.parametrize("place", [0, 1])
def test_the_model_is_drawn_and_turns_with_keys_and_mouse(page, place):
    page.locator("iframe").nth(place).scroll_into_view_if_needed()
    canvas = page.frame_locator("iframe").nth(place).locator("canvas")
    canvas.wait_for(state="visible")
    page.wait_for_timeout(300)
    at_first = copper(canvas)
    assert len(at_first) > 2000
    canvas.focus()
    page.keyboard.press("ArrowRight")
    turned = copper(canvas)
    assert len(turned ^ at_first) > 500
    page.keyboard.press("Home")
    assert copper(canvas) == at_first
    box = canvas.bounding_box()
    page.mouse.move(box["x"] + 100, box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + 160, box["y"] + 130, steps=4)
    page.mouse.up()
    assert len(copper(canvas) ^ at_first) > 500


def test_the_figures_stand_under_the_model_and_nothing_is_cut_off(page, found):
    frame = page.frames[1]
    assert f"{found.repeat_mm:.3f} mm" in frame.inner_text("table")
    assert "WebGL" not in frame.inner_text("body")
    assert frame.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert frame.evaluate("document.documentElement.scrollHeight <= innerHeight")
    assert faults(frame) == []


def test_a_browser_that_draws_no_models_says_so(browser, found):
    # Such a browser knows no drawing context of that name.
    output = found._repr_html_()
    assert output.count("webgl2") == 1
    page = notebook(browser, output.replace("webgl2", "none"))
    frame = page.frame_locator("iframe")
    frame.get_by_text("WebGL").wait_for(state="visible")
    assert not frame.locator("canvas").is_visible()
    assert page.troubles == []


def test_a_size_that_cannot_be_woven_says_so_without_a_model(browser):
    found = rw.check("one-in-one", wire="1mm", inner="1.5mm")
    page = notebook(browser, found._repr_html_())
    frame = page.frame_locator("iframe")
    frame.get_by_text("Not shown: it cannot be woven at this size.").wait_for(state="visible")
    assert frame.locator("canvas").count() == 0
