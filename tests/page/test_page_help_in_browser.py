"""Help on the page, in a real browser. Run with ``pytest -m outside``."""

from typing import Any

import pytest

from ringwright.guide.topics import topic, topics
from tests.browser import DESKTOP, PHONE, START, Served, opened, sound

pytestmark = pytest.mark.outside


def _help(browser: Any, address: str, size: tuple[int, int]) -> Any:
    """The page with Help open, gone to from the top of the page."""
    page = opened(browser, address + START, size)
    page.get_by_role("button", name="Help", exact=True).click()
    page.locator(".guide h3").wait_for()
    return page


def _at(page: Any) -> str:
    return str(page.evaluate("document.activeElement.textContent"))


def test_the_button_at_the_top_goes_to_help(browser: Any, served: Served) -> None:
    page = _help(browser, served.address, DESKTOP)
    page.wait_for_function("document.activeElement.matches('.panel')")
    page.wait_for_function(
        "(() => { const at = document.activeElement.getBoundingClientRect().top;"
        "return at > -2 && at < innerHeight / 2; })()"
    )
    assert page.get_by_role("tab", name="Help").get_attribute("aria-selected") == "true"
    page.close()


def test_a_word_is_found_and_its_place_gone_to(browser: Any, served: Served) -> None:
    page = _help(browser, served.address, DESKTOP)
    search = page.get_by_label("Search the guide")
    search.fill("nickel")
    page.locator(".found li").first.wait_for()
    page.locator(".found button", has_text="Nickel").click()
    page.wait_for_function("document.activeElement.matches('.guide h4')")
    assert "Nickel" in _at(page)
    assert page.get_by_label("Topic", exact=True).input_value() == "safety"
    search.fill("xyzzy")
    page.locator(".said:has-text('Nothing in the guide')").wait_for()
    assert page.locator(".found li").count() == 0
    search.fill("")
    page.locator(".said:has-text('Nothing in the guide')").wait_for(state="detached")
    page.close()


def test_a_link_in_a_topic_goes_to_the_other(browser: Any, served: Served) -> None:
    page = _help(browser, served.address, DESKTOP)
    page.locator(".guide a", has_text="verdicts").first.click()
    page.wait_for_function(f"document.activeElement.textContent === {topic('verdicts').title!r}")
    assert page.locator(".guide h3").inner_text() == topic("verdicts").title
    assert "#" not in page.url
    page.close()


@pytest.mark.parametrize("size", [PHONE, DESKTOP])
def test_every_topic_fits_and_is_sound(browser: Any, served: Served, size: tuple[int, int]) -> None:
    page = _help(browser, served.address, size)
    for one in topics():
        page.get_by_label("Topic", exact=True).select_option(one.name)
        page.locator(f"#help-{one.name}-0").wait_for()
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), one.name
        over = page.evaluate(
            "[...document.querySelectorAll('.guide *')].filter((e) => e.getBoundingClientRect()"
            ".right > document.querySelector('.guide').getBoundingClientRect().right + 1)"
            ".map((e) => e.outerHTML.slice(0, 80))"
        )
        assert over == [], one.name
    page.get_by_label("Search the guide").fill("ring")
    page.locator(".found li").first.wait_for()
    sound(page)
    page.close()
