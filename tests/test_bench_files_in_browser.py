"""Files made on the bench in a real browser. Run with ``pytest -m outside``."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser import Served, chromium, faults, opened, serve

pytestmark = pytest.mark.outside

PHONE, DESKTOP = (390, 844), (1280, 900)
START = "?weave=one-in-one&wire=0.9mm&inner=3.2mm&length=30mm"


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as one:
        yield one


@pytest.fixture(scope="module")
def served() -> Iterator[Served]:
    one = serve()
    yield one
    assert one.close() == 0


def panel(page: Any, name: str) -> Any:
    page.get_by_role("tab", name=name, exact=True).click()
    return page.get_by_role("tabpanel", name=name)


def downloaded(page: Any, link: Any, folder: Path) -> Path:
    with page.expect_download() as told:
        link.click()
    path = folder / told.value.suggested_filename
    told.value.save_as(path)
    return path


def sound(page: Any) -> None:
    """Nothing serious against the page, nothing cut off, all that is pressed large enough."""
    assert faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    small = page.evaluate(
        "[...document.querySelectorAll('.more button, .more a, .more input, .more select')].filter("
        "(e) => { const b = e.getBoundingClientRect(); return b.height && b.height < 43; }).length"
    )
    assert small == 0
    assert page.troubles == []


def test_a_jig_is_made_and_looked_at(browser: Any, served: Served, tmp_path: Path) -> None:
    page = opened(browser, served.address + START, PHONE, color_scheme="dark")
    here = panel(page, "Jigs")
    here.get_by_label("Clearance").locator("visible=true").fill("0.25mm")
    here.get_by_label("Step").fill("0.05mm")
    here.get_by_label("Step").press("Enter")
    line = here.locator(".line code:visible")
    # The answer to the first does not take away what is typed into the second meanwhile.
    page.wait_for_function(
        "(e) => e.textContent.includes('--step 0.05mm --clearance 0.25mm')",
        arg=line.element_handle(),
    )
    here.get_by_role("button", name="Make it: Ring gauge").click()
    here.get_by_role("link", name="Download ring-gauge-plug.stl").wait_for()
    page.wait_for_function("document.querySelector('.pictures img').naturalWidth > 100")
    assert "plug, 34 by" in here.locator(".mesh-view canvas").get_attribute("aria-label")
    here.get_by_label("Part to look at").select_option("wire-slots")
    page.wait_for_function(
        "document.querySelector('.mesh-view canvas').ariaLabel.includes('wire slots')"
    )
    here.locator(".mesh-view canvas").press("ArrowLeft")
    sound(page)
    link = here.get_by_role("link", name="Download ring-gauge-plug.stl")
    stl = downloaded(page, link, tmp_path)
    triangles = int.from_bytes(stl.read_bytes()[80:84], "little")
    assert stl.stat().st_size == 84 + 50 * triangles
    page.close()
