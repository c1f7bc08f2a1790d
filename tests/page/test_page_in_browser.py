"""The bench in a real browser. Run with ``pytest -m outside``."""

from pathlib import Path
from typing import Any

import pytest

from ringwright.answers.report import report_text
from ringwright.api.check import check
from tests.browser import (
    DESKTOP,
    PHONE,
    START,
    TABLET,
    Served,
    drag_to,
    opened,
    ratio,
    serve,
    sound,
    verdict,
)

pytestmark = pytest.mark.outside
RULES = Path(__file__).parents[1] / "rules"


def test_dragging_to_an_impossible_size_and_back(browser: Any, served: Served) -> None:
    page = opened(browser, served.address + START)
    # Of single rings, the wire of three others passes a ring only from a ratio of 2 on.
    drag_to(page, 1.6)
    verdict(page, "Cannot be woven")
    marks = page.locator(".ring-mark-overlap")
    marks.first.wait_for()
    assert "mm" in marks.first.inner_text()
    assert "overlap" in page.get_attribute(".look canvas", "aria-label")
    # The scale stops at sizes that are sold, unless any size is asked for.
    page.wait_for_function("new URL(location).searchParams.get('inner') === '1.5mm'")
    assert page.locator(".chip").inner_text() == "Cannot be woven: ratio 1.67, 1.5 mm inside"
    ratio(page).press("ArrowLeft")
    page.wait_for_function("new URL(location).searchParams.get('inner') === '1.25mm'")
    page.get_by_label("Any size").check()
    drag_to(page, 1.6)
    page.wait_for_function("new URL(location).searchParams.get('inner') === '1.44mm'")
    page.get_by_label("Any size").uncheck()
    # What works is one press away, and named.
    works = page.get_by_role("button", name="Make it work")
    named = works.inner_text().rpartition(": ")[2].removesuffix(" inside").replace(" ", "")
    works.click()
    verdict(page, "In the working range")
    works.wait_for(state="hidden")
    assert f"inner={named}" in page.url
    drag_to(page, 4.0)
    verdict(page, "range")
    # By mouse, in the scale's own place.
    box = ratio(page).bounding_box()
    before = page.url
    page.mouse.move(box["x"] + 0.7 * box["width"], box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + box["height"] / 2, steps=4)
    page.mouse.up()
    page.wait_for_function("(before) => location.href !== before", arg=before)
    verdict(page, "range")
    assert marks.count() == 0
    assert "at rest" in page.get_attribute(".look canvas", "aria-label")
    assert page.troubles == []
    page.close()


def test_how_an_answer_was_found_is_folded(browser: Any, served: Served) -> None:
    page = opened(browser, served.address + START)
    fold = page.locator(".answer details", has_text="How this was found")
    assert not fold.locator("li").first.is_visible()
    fold.locator("summary").click()
    found = report_text(check("one-in-one", "0.9mm", "3.2mm").report, why=True)
    whole = " ".join(found.partition("How this was found")[2].split())
    said = [one.split(": ", 1) for one in fold.locator("li").all_inner_texts()]
    assert " ".join(f"{name.lower()} {' '.join(text.split())}" for name, text in said) == whole
    sound(page)
    page.close()


def test_a_size_that_cannot_be_read_is_said_at_its_field(browser: Any, served: Served) -> None:
    page = opened(browser, served.address + START)
    wire = page.get_by_label("Wire", exact=True)
    wire.fill("20ga")
    wire.press("Enter")
    page.wait_for_selector("[aria-invalid=true]")
    note = page.locator("#" + wire.get_attribute("aria-describedby"))
    assert "20awg" in note.inner_text()
    wire.fill("18awg")
    wire.press("Enter")
    page.wait_for_selector("[aria-invalid=true]", state="detached")
    verdict(page, ".")
    assert "wire=18awg" in page.url
    page.close()


def test_by_keyboard_alone(browser: Any, served: Served) -> None:
    page = opened(browser, served.address + START)
    met = []
    for _ in range(60):
        page.keyboard.press("Tab")
        met.append(
            page.evaluate(
                "(() => { const e = document.activeElement;"
                "return [e.tagName, e.type || '', e.getAttribute('role') || ''].join(' ').trim();"
                "})()"
            )
        )
        if met[-1].startswith("INPUT range") and met.count(met[-1]) == 2:
            break
    assert "INPUT search" in met
    assert "INPUT radio" in met
    for _ in range(5):
        page.keyboard.press("ArrowRight")
    page.wait_for_function("new URL(location).searchParams.get('inner') !== '3.2mm'")
    page.focus(".look canvas")
    for key in ("ArrowLeft", "ArrowUp", "PageUp", "Home"):
        page.keyboard.press(key)
    assert page.troubles == []
    page.close()


def test_two_tabs_do_not_mix(browser: Any, served: Served) -> None:
    one = opened(browser, served.address + START)
    other = opened(browser, served.address + START.replace("3.2mm", "2.9mm"))
    drag_to(one, 1.5)
    verdict(one, "Cannot be woven")
    assert "inner=2.9mm" in other.url
    verdict(other, "range")
    one.close()
    other.close()


def test_server_killed_and_restarted_with_the_page_open(browser: Any) -> None:
    first = serve()
    port = int(first.address.rstrip("/").rpartition(":")[2])
    page = opened(browser, first.address + START)
    drag_to(page, 4.5)
    page.wait_for_function("new URL(location).searchParams.get('inner') === '4mm'")
    page.get_by_role("tab", name="Project").click()
    page.locator(".file input").last.set_input_files(RULES / "hopf.toml")
    page.wait_for_function("new URL(location).searchParams.get('weave') === 'test pair'")
    page.go_back()
    page.wait_for_function("new URL(location).searchParams.get('weave') === 'one-in-one'")
    # So much later all of it is kept.
    page.wait_for_timeout(1500)
    first.kill()
    page.wait_for_timeout(1500)
    again = serve(port)
    page.wait_for_function(
        """[...document.querySelectorAll('.answer tr')].some(
          (row) => /^Aspect ratio\\s+4\\.44/.test(row.innerText))""",
        timeout=60_000,
    )
    assert "inner=4mm" in page.url
    # The weave of one's own, and what was done, are there again; the address tells the panel.
    assert page.get_by_role("tab", name="Project").get_attribute("aria-selected") == "true"
    page.keyboard.press("Control+Shift+z")
    page.wait_for_function("new URL(location).searchParams.get('weave') === 'test pair'")
    verdict(page, "Loose")
    page.keyboard.press("Control+z")
    page.wait_for_function("new URL(location).searchParams.get('weave') === 'one-in-one'")
    page.close()
    assert again.close() == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, TABLET, DESKTOP])
def test_nothing_serious_against_it(
    browser: Any, served: Served, size: tuple[int, int], scheme: str
) -> None:
    page = opened(browser, served.address + START, size, color_scheme=scheme)
    sound(page)
    assert page.locator("main").count() == 1
    # The model, the verdict on it and the scale stay in sight while choices are scrolled.
    for place in ("h1", ".answer", ".shown"):
        page.locator(place).evaluate("(one) => one.scrollIntoView()")
        page.wait_for_timeout(50)
        for part in (".look canvas", ".chip span", ".scale-bar"):
            box = page.locator(part).bounding_box()
            assert -1 <= box["y"] <= size[1] - box["height"], (place, part, box)
    page.close()
