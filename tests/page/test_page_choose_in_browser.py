"""Units, mandrel, shop and comparing in a real browser. Run with ``pytest -m outside``."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from ringwright.making.shop.shop import load_shop
from ringwright.making.shop.starting_shop import STARTING_SHOP
from tests.browser import DESKTOP, PHONE, START, Served, opened, serve, sound, verdict

pytestmark = pytest.mark.outside


@dataclass
class Bench:
    """A browser, a page served with a shop file, and that file."""

    browser: Any
    served: Served
    shop: Path

    def open(self, query: str = START, *size: int, **options: Any) -> Any:
        """A tab with an answer."""
        return opened(self.browser, self.served.address + query, size or DESKTOP, **options)


@pytest.fixture(scope="module")
def bench(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    shop = tmp_path_factory.mktemp("shop") / "shop.toml"
    shop.write_text(STARTING_SHOP)
    served = serve(0, "--shop", str(shop))
    yield Bench(browser, served, shop)
    assert served.close() == 0


def test_units_and_the_mandrel_are_kept_in_the_address(bench: Bench) -> None:
    page = bench.open()
    page.get_by_label("Wires in").select_option("awg")
    page.get_by_label("Lengths in").select_option("inch")
    page.get_by_label("Ring given by").select_option("mandrel")
    mandrel = page.get_by_label("Mandrel", exact=True)
    mandrel.fill("1/8in")
    mandrel.press("Enter")
    page.get_by_label("Wire, dragged").press("ArrowRight")
    page.wait_for_function("new URL(location).searchParams.get('wire') === '18awg'")
    made = page.locator(".made")
    made.filter(has_text="Wound on 1/8 in").wait_for()
    verdict(page, "range")
    said = made.inner_text()
    told = page.inner_text(".answer")
    assert " in" in said
    assert " mm" not in told
    assert page.get_attribute("input[aria-valuetext*='18 AWG']", "type") == "range"
    # Of single rings, a repeat of two is as long as two insides.
    assert page.locator(".scale figcaption").inner_text().startswith("Aspect ratio 3.0")
    assert page.troubles == []
    page.close()


def test_the_chosen_weave_is_in_sight_in_its_list(bench: Bench) -> None:
    seen = """() => {
      const list = document.querySelector('.weaves').getBoundingClientRect();
      const row = document.querySelector('.weave:has(input:checked)').getBoundingClientRect();
      return row.top >= list.top - 1 && row.bottom <= list.bottom + 1
        && row.left >= list.left - 1 && row.right <= list.right + 1 && window.scrollY === 0;
    }"""
    for size in (PHONE, DESKTOP):
        page = bench.open("?weave=one-in-one&wire=1mm&inner=4mm", *size)
        page.wait_for_function(seen)
        # Also one that was out of sight.
        page.get_by_label("barrel", exact=False).first.check()
        page.wait_for_function("new URL(location).searchParams.get('weave') === 'barrel'")
        page.wait_for_function(seen)
        assert page.troubles == []
        page.close()


def test_a_first_visit_shows_in_three_touches_what_this_is_for(bench: Bench) -> None:
    page = bench.open("", *PHONE)
    press = page.locator(".first-visit .main")
    press.click()
    verdict(page, "Cannot be woven")
    press.click()
    verdict(page, "In the working range")
    press.click()
    page.wait_for_function("new URL(location).searchParams.get('view') === 'whole'")
    assert "panel=papers" in page.url
    page.get_by_role("button", name="Close the first steps").click()
    # Only the first visit is shown it.
    page.goto(page.url.partition("?")[0])
    page.wait_for_function("new URL(location).searchParams.get('view') === 'whole'")
    assert not page.locator(".first-visit").is_visible()
    assert page.troubles == []
    page.close()


def test_the_shop_is_changed_undone_and_saved(bench: Bench) -> None:
    page = bench.open(START, *PHONE)
    page.get_by_role("tab", name="Shop").click()
    page.get_by_text("Add a mandrel").press("Enter")
    page.get_by_label("Size of the mandrel").fill("4,2mm")
    page.get_by_role("button", name="Add the mandrel").click()
    page.get_by_text("has a comma").wait_for()
    page.get_by_label("Size of the mandrel").fill("4.2mm")
    page.get_by_label("Size of the mandrel").press("Enter")
    shelf = page.locator(".shelf").nth(1)
    shelf.get_by_role("rowheader", name="4.2mm").wait_for()
    page.get_by_role("button", name="Remove knitting needle").click()
    shelf.get_by_text("knitting").wait_for(state="detached")
    # The keyboard goes on at what undoes it.
    page.wait_for_selector("[aria-label=Undo][title^='knitting needle removed']:focus")
    page.keyboard.press("Enter")
    shelf.get_by_text("knitting").wait_for()
    page.locator("[aria-label=Redo][title^='knitting needle removed']").click()
    shelf.get_by_text("knitting").wait_for(state="detached")
    text = page.get_by_label("The shop as text")
    with page.expect_download() as kept:
        page.get_by_role("button", name="Download").click()
    assert kept.value.path().read_text() == text.input_value()
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Saved to shop.toml").wait_for()
    assert bench.shop.read_text() == text.input_value()
    assert 4.2 in [one.mandrel_mm for one in load_shop(bench.shop).mandrels]
    # Somebody else changes the file; a text that is wrong is told and changes no ring.
    bench.shop.write_text(STARTING_SHOP)
    page.locator("[aria-label=Undo][title^='knitting needle removed']").click()
    page.get_by_role("button", name="Save").click()
    page.get_by_text("somebody else").wait_for()
    assert bench.shop.read_text() == STARTING_SHOP
    # A page that is loaded anew goes on with what was not saved.
    unsaved = text.input_value()
    page.reload()
    page.get_by_role("tab", name="Shop").click()
    page.get_by_text("Not saved yet").wait_for()
    assert text.input_value() == unsaved != STARTING_SHOP
    text.fill("[[wier]]")
    text.blur()
    page.wait_for_selector("textarea[aria-invalid=true]")
    assert page.get_by_role("button", name="Use copper 0.9").count() == 1
    sound(page)
    page.set_input_files(".file input", bench.shop)
    page.wait_for_selector("textarea[aria-invalid=false]")
    page.get_by_role("button", name="Use silver 20 AWG").click()
    page.wait_for_function("new URL(location).searchParams.get('shelf') === 'silver 20 AWG'")
    assert page.get_by_label("Metal", exact=True).input_value() == "sterling silver"
    assert page.troubles == []
    page.close()


def test_a_trial_ring_makes_the_next_ring_surer_and_can_be_taken_away(bench: Bench) -> None:
    bench.shop.write_text(STARTING_SHOP)
    page = bench.open(f"{START}&shelf=copper+0.9&mandrel=3mm")
    made = page.locator(".made")
    made.filter(has_text="EN 13602").wait_for()
    page.get_by_role("tab", name="Shop").click()
    page.get_by_text("Add a trial ring").press("Enter")
    page.get_by_label("Wire of the trial").select_option("copper 0.9")
    page.get_by_label("Mandrel of the trial").fill("3mm")
    page.get_by_label("Inside of the trial").fill("2.9mm")
    page.get_by_role("button", name="Add the trial").click()
    page.get_by_text("cannot come from a mandrel").wait_for()
    page.get_by_label("Inside of the trial").fill("3.09mm")
    page.get_by_role("button", name="Add the trial").click()
    made.filter(has_text="1 trial ring of your own").wait_for()
    shelf = page.locator(".shelf").filter(has_text="Trial rings")
    shelf.get_by_role("rowheader", name="copper 0.9, trial 1").wait_for()
    shelf.get_by_role("button", name="Remove copper 0.9, trial 1").click()
    made.filter(has_text="EN 13602").wait_for()
    sound(page)
    assert page.troubles == []
    page.close()


def test_choices_are_kept_beside_each_other(bench: Bench) -> None:
    page = bench.open(f"{START}&lengths=inch", *PHONE, color_scheme="dark")
    page.get_by_role("tab", name="Compare").click()
    keep = page.get_by_role("button", name="Keep the present choice")
    keep.click()
    page.get_by_text("kept, as A").wait_for()
    inner = page.get_by_label("Inner diameter", exact=True)
    inner.fill("1.5mm")
    inner.press("Enter")
    verdict(page, "Cannot be woven")
    keep.click()
    page.get_by_text("kept, as B").wait_for()
    table = page.locator(".compared")
    table.get_by_role("columnheader", name="B: one in one").wait_for()
    figures = table.get_by_role("row", name="Verdict").get_by_role("cell")
    for known in ("cannot be woven", "in the working range"):
        table.get_by_text(known).wait_for()
    assert figures.all_inner_texts() == ["in the working range", "cannot be woven"]
    assert table.get_by_role("row", name="Mass of the piece").count() == 1
    assert page.locator(".kept canvas").count() == 2
    sound(page)
    # By keyboard: another weave is chosen, and the first is gone back to.
    page.locator("input[type=radio][value=box-chain]").check(force=True)
    table.get_by_role("columnheader", name="Now: box chain").wait_for()
    page.get_by_role("button", name="Go back to A").press("Enter")
    page.wait_for_function("document.querySelector('input[value=one-in-one]').checked")
    verdict(page, "range")
    assert page.get_by_label("Inner diameter", exact=True).input_value() == "3.2mm"
    page.get_by_role("button", name="Remove B").press("Enter")
    table.get_by_role("columnheader", name="B:").wait_for(state="detached")
    # The address holds what is kept.
    page.wait_for_function("new URL(location).searchParams.getAll('beside').length === 1")
    page.reload()
    page.get_by_role("tab", name="Compare").click()
    table.get_by_text("in the working range").wait_for()
    assert table.get_by_role("row", name="Width").get_by_role("cell").inner_text().endswith(" in")
    assert page.troubles == []
    page.close()


def test_a_weave_is_found_by_any_of_its_names(bench: Bench) -> None:
    page = bench.open()
    find = page.get_by_label("Find a weave")
    seen = page.locator(".weave:visible b")
    find.fill("Queen's chain")
    seen.get_by_text("box chain", exact=True).wait_for()
    page.wait_for_function(
        "[...document.querySelectorAll('.weave')].filter(one => one.offsetParent).length === 1"
    )
    find.fill("dragonscale")
    page.get_by_role("status").filter(has_text="helm-chain comes near").wait_for()
    assert seen.all_inner_texts() == ["helm chain"]
    find.fill("no such weave")
    page.get_by_text("No weave here goes by this name.").wait_for()
    assert seen.count() == 0
    find.fill("")
    seen.get_by_text("barrel", exact=True).wait_for()
    # Only those that the ring works in, which each of them says.
    listed = page.get_by_label("Which weaves are listed")
    listed.select_option("goes")
    page.locator(".weave:visible", has_text="too tight").first.wait_for(state="hidden")
    # What a piece takes is said there too, once that is asked.
    told = [one for one in page.locator(".weave:visible .goes").all_inner_texts() if one]
    assert len(told) > 3
    assert {one.split()[-1] for one in told} == {"works"}
    listed.select_option("sheet")
    seen.get_by_text("european 4 in 1", exact=True).wait_for()
    page.locator(".weave:visible", has_text="barrel").wait_for(state="hidden")
    assert page.troubles == []
    page.close()


def test_second_rings_are_typed_and_kept_in_the_address(bench: Bench) -> None:
    page = bench.open("?weave=helm-chain&wire=1.22mm&inner=6.7mm", *DESKTOP)
    page.get_by_label("Second rings").select_option("own")
    inner = page.get_by_label("Small rings: inner diameter")
    inner.fill("3.5mm")
    inner.press("Enter")
    verdict(page, "Cannot")
    inner.fill("4.1mm")
    inner.press("Enter")
    wire = page.get_by_label("Small rings: wire")
    wire.fill("1 elephant")
    wire.press("Enter")
    page.get_by_text("has the unit 'elephant'").first.wait_for()
    wire.fill("1mm")
    wire.press("Enter")
    page.wait_for_function("new URL(location).searchParams.get('second') === 'small=1mm/4.1mm'")
    verdict(page, "tight")
    row = page.locator(".answer tr").filter(has_text="Closes with")
    assert "small rings (1 mm wire) 3.99 to 4.64 mm inside" in row.get_by_role("cell").inner_text()
    # Another weave begins with rings of its own.
    page.get_by_label("barrel", exact=False).first.check()
    page.wait_for_function("!new URL(location).searchParams.has('second')")
    page.get_by_label("Second rings").wait_for(state="hidden")
    assert page.troubles == []
    page.close()
