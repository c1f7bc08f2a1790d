"""The model's part of the page in a real browser. Run with ``pytest -m outside``."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from ringwright.outputs.assembly_sheet.words import lines
from ringwright.weaves import load_rule
from tests.browser import PHONE, START, Served, drag_to, faults, opened, sound, verdict

pytestmark = pytest.mark.outside

VIEW = "getElement(document.querySelector('.look .ring-view'))"
# What the view of the model draws.
DRAWN = f"""() => {{
  const view = {VIEW}, {{calls, triangles}} = view.renderer.info.render;
  return {{rings: view.count, turning: view.is_turning, slow: view.slow, calls, triangles}};
}}"""
MARKED = """(wanted) => {
  const marks = [...document.querySelectorAll('.ring-mark')].filter((one) => one.offsetParent);
  return String([...new Set(marks.map((one) => one.innerText))].sort()) === String(wanted);
}"""
# Whether the two ends of the ring that is put in are farther apart than so many millimetres.
OPEN_BY = f"""(least) => {{
  const ends = {VIEW}.shown.children.filter(
    (one) => one.userData.open && one.geometry.type === 'CircleGeometry');
  return ends.length === 2 && ends[0].position.distanceTo(ends[1].position) > least;
}}"""
EFFORT = r"(Easy|Takes patience|Hard) to put in: opened by [\d.]+ mm between its ends"
# A picture is kept, of tori or ribbons; how the last one and one before it differ: the share of the
# dots covered by either that both cover, and the mean difference of colour (0 to 255) on these.
PICTURE = f"""(turning) => {{
  const view = {VIEW}, gl = view.renderer.getContext();
  Object.assign(view, {{slow: true, is_turning: turning}});
  view.ground.mesh.visible = false;
  view.refine();
  if (turning) view.see_ribbons();
  view.renderer.render(view.scene, view.camera);
  const wide = gl.drawingBufferWidth, high = gl.drawingBufferHeight;
  const dots = new Uint8Array(4 * wide * high);
  gl.readPixels(0, 0, wide, high, gl.RGBA, gl.UNSIGNED_BYTE, dots);
  window.pictures = [...(window.pictures || []), dots];
  const covered = dots.filter((value, i) => i % 4 === 3 && value).length;
  view.is_turning = false;
  return {{flat: view.ribbons.mesh.visible, covered}};
}}"""
DIFFERENT = """(back) => {
  const one = window.pictures.at(-1), two = window.pictures.at(-1 - back);
  let either = 0, both = 0, off = 0;
  for (let i = 0; i < one.length; i += 4) {
    if (!one[i + 3] && !two[i + 3]) continue;
    either += 1;
    if (!one[i + 3] || !two[i + 3]) continue;
    both += 1;
    for (const c of [0, 1, 2]) off += Math.abs(one[i + c] - two[i + c]) / 3;
  }
  return [both / either, off / both];
}"""


@pytest.fixture(scope="module")
def page(browser: Any, served: Served) -> Iterator[Any]:
    """A phone's page on which all panels are opened in turn."""
    one = opened(browser, served.address + START, PHONE, color_scheme="dark")
    yield one
    assert one.troubles == []
    one.close()


def open_panel(page: Any, name: str, press: str = "") -> None:
    page.get_by_role("tab", name=name, exact=True).click()
    if press:
        page.get_by_role("button", name=press, exact=True).click()


def test_the_whole_piece_and_its_colours(browser: Any, served: Served) -> None:
    query = "?weave=european-4-in-1&length=330mm&width=125mm&paint=open%3Dgold,closed"
    page = opened(browser, served.address + query + "%3Dsteel")
    page.get_by_label("The whole piece").check()
    told = page.get_by_text(re.compile("rings, .* repeats, .* with the end rings"))
    told.wait_for()
    count = int(told.inner_text().split()[0])
    assert count > 5000
    assert "the whole piece" in page.get_attribute(".look canvas", "aria-label")
    legend = page.locator(".legend tbody tr").all_inner_texts()
    assert [re.split(r"\s+", one.strip())[0] for one in legend] == ["gold", "steel"]
    assert sum(int(one.split()[-1]) for one in legend) == count
    # Few enough triangles to turn smoothly where software draws, and finer once it stands still.
    box = page.locator(".look canvas").bounding_box()
    page.mouse.move(box["x"] + 50, box["y"] + 50)
    page.mouse.down()
    page.mouse.move(box["x"] + 90, box["y"] + 60)
    page.wait_for_function(f"() => !{VIEW}.due")
    turning = page.evaluate(DRAWN)
    assert turning["turning"]
    # Rings, and the shadow of those that lie.
    assert turning["calls"] <= 2
    assert turning["triangles"] < 2e4
    page.mouse.up()
    page.wait_for_function(f"() => !({DRAWN})().turning && !{VIEW}.due")
    assert page.evaluate(DRAWN)["triangles"] > turning["triangles"]
    # Near by, only what is seen is drawn, and rounder.
    page.locator(".look canvas").press("PageUp")
    for _ in range(12):
        page.keyboard.press("PageUp")
    # Pictures drawn on the way there show more, so what the last one shows is waited for.
    page.wait_for_function(
        f"""(most) => {VIEW}.ribbons.segments > 8
          && {VIEW}.ribbons.mesh.geometry.instanceCount * 64 < most""",
        arg=count / 2,
    )
    page.get_by_label("A few repeats").check()
    page.wait_for_function(f"() => ({DRAWN})().rings < 500")
    page.get_by_label("Colour of the rings").select_option("All copper")
    page.wait_for_function("new URL(location).searchParams.get('paint') === 'copper'")
    page.get_by_label("Length", exact=True).fill("9m")
    page.keyboard.press("Enter")
    page.get_by_text("ask for a shorter").first.wait_for()
    assert page.troubles == []
    page.close()


# Where on the screen a ring of the right-hand part of the model is.
RING = f"""() => {{
  const view = {VIEW}, {{left, top, width, height}} = view.canvas.getBoundingClientRect();
  for (let x = left + 0.9 * width; x > left + width / 2; x -= 3)
    for (let y = top + 3; y < top + height; y += 3) if (view.ring_at(x, y)) return [x, y];
}}"""
FARTHEST = f"Math.max(...{VIEW}.at.filter((_, k) => k % 6 === 2))"
# Whether a shadow falls, darkest where rings touch the table and none at its edge.
SHADE = f"""() => {{
  const {{mesh}} = {VIEW}.ground, {{data}} = mesh.material.map.image;
  return mesh.visible && Math.max(...data.filter((_, i) => i % 4 === 3)) > 60 && data[3] < 8;
}}"""
LEAST_FLAT = f"Math.min(...{VIEW}.at.filter((_, k) => k % 6 === 5).map(Math.abs))"
# Moments that came and pictures that were drawn so far.
SHOWN = f"[{VIEW}.frames || 0, {VIEW}.renderer.info.render.frame]"
STILL = "document.querySelector('.motion').innerText === ''"


SAYS = "(how) => document.querySelector('.look canvas').ariaLabel.includes(how)"


@pytest.mark.slow
def test_repeats_fall_into_place_after_every_size(browser: Any, served: Served) -> None:
    page = opened(browser, served.address + START)
    page.wait_for_function(SAYS, arg="lying on a table")
    # Rings pulled straight lie flat and stand up in turn; on a table all lean.
    page.wait_for_function(f"{LEAST_FLAT} > 0.5")
    drag_to(page, 4.0)
    page.wait_for_function(SAYS, arg="inner diameter 3.5 mm")
    page.wait_for_function(SAYS, arg="lying on a table")
    page.get_by_label("How it lies").select_option("Pulled straight")
    page.wait_for_function(SAYS, arg="pulled straight")
    page.wait_for_function("new URL(location).searchParams.get('laid') === 'pulled'")
    page.wait_for_function(f"{LEAST_FLAT} < 0.1")
    assert not page.evaluate(f"{VIEW}.ground.mesh.visible")
    page.get_by_label("How it lies").select_option("Hung")
    page.wait_for_function(SAYS, arg="hung from its first ring")
    # It hangs down, and no shadow falls on a table.
    tall = f"{VIEW}.box.max.z - {VIEW}.box.min.z > {VIEW}.box.max.x - {VIEW}.box.min.x"
    assert page.evaluate(tall)
    assert not page.evaluate(f"{VIEW}.ground.mesh.visible")
    # Round a wrist as much as goes round, on a form; and what cannot be worn says why.
    page.get_by_label("How it lies").select_option("Worn")
    page.wait_for_function(SAYS, arg="worn round a wrist of 165 mm")
    page.get_by_text(re.compile("rings, .* between its ends for a clasp")).wait_for()
    assert page.evaluate(f"{VIEW}.form.geometry.index.count") > 1000
    page.get_by_label("Round it").fill("9mm")
    page.keyboard.press("Enter")
    page.get_by_text("is not between 40 and 600 mm").first.wait_for()
    # The whole piece lies too.
    page.get_by_label("The whole piece").check()
    page.get_by_label("How it lies").select_option("On a table")
    page.wait_for_function(SAYS, arg="at rest and lying on a table")
    assert "whole piece" in page.get_attribute(".look canvas", "aria-label")
    page.wait_for_function(f"{LEAST_FLAT} > 0.5")
    assert page.evaluate(SHADE)
    assert page.troubles == []
    page.close()


@pytest.mark.slow
def test_a_ring_is_pulled_with_the_mouse_and_by_keyboard(browser: Any, served: Served) -> None:
    page = opened(browser, served.address + START)
    figures = page.locator(".answer table").first.inner_text()
    page.get_by_role("button", name="Pull by hand").click()
    page.wait_for_function(f"{VIEW}.may_pull && ({RING})()")
    # Beside the rings the view turns as before.
    box = page.locator(".look canvas").bounding_box()
    seen_from = page.evaluate(f"{VIEW}.camera.position.toArray()")
    page.mouse.move(box["x"] + 8, box["y"] + 8)
    page.mouse.down()
    page.mouse.move(box["x"] + 40, box["y"] + 8)
    page.mouse.up()
    assert page.evaluate(f"{VIEW}.camera.position.toArray()") != seen_from
    page.get_by_role("button", name="See all").click()
    page.wait_for_function(f"() => !{VIEW}.is_turning && !{VIEW}.due")
    seen_from = page.evaluate(f"{VIEW}.camera.position.toArray()")
    high = page.evaluate(FARTHEST)
    x, y = page.evaluate(RING)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 20, y - 60, steps=4)
    page.wait_for_function(f"(high) => {FARTHEST} > high + 2", arg=high)
    assert "not settled" in page.inner_text(".motion")
    assert page.evaluate(f"{VIEW}.camera.position.toArray()") == seen_from
    # Figures are never those of rings on the move.
    assert page.locator(".answer table").first.inner_text() == figures
    # It is shown as it falls, moment by moment.
    before = page.evaluate(SHOWN)
    page.mouse.up()
    page.wait_for_function("document.querySelector('.motion').innerText.includes('Falling')")
    page.wait_for_function(STILL)
    moments, pictures = (now - then for now, then in zip(page.evaluate(SHOWN), before, strict=True))
    assert moments > 3
    assert pictures > 3
    assert "lying on a table" in page.get_attribute(".look canvas", "aria-label")
    page.wait_for_function(f"(high) => {FARTHEST} < high + 1", arg=high)
    # With a finger: the page does not scroll, the ring comes along, and a second finger is nothing.
    page.wait_for_function(f"() => !{VIEW}.is_turning && !{VIEW}.due && ({RING})()")
    scrolled, (x, y) = page.evaluate("scrollY"), page.evaluate(RING)
    finger = page.context.new_cdp_session(page)

    def touch(kind: str, *at: tuple[float, float]) -> None:
        points = [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(at)]
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", (x, y))
    for k in range(1, 7):
        touch("touchMove", (x - 3 * k, y - 10 * k))
    page.wait_for_function(f"(high) => {FARTHEST} > high + 2", arg=high)
    touch("touchStart", (x - 18, y - 60), (box["x"] + 8, box["y"] + 8))
    touch("touchMove", (x - 18, y - 60), (box["x"] + 60, box["y"] + 8))
    assert page.evaluate(f"{VIEW}.camera.position.toArray()") == seen_from
    assert "not settled" in page.inner_text(".motion")
    touch("touchEnd")
    page.wait_for_function(STILL)
    assert page.evaluate("scrollY") == scrolled
    page.wait_for_function(f"(high) => {FARTHEST} < high + 1", arg=high)
    # The first ring, with the arrow keys.
    field = page.get_by_label("Ring to pull")
    field.fill("99")
    field.press("Enter")
    page.get_by_text("give a whole number from 1 to").wait_for()
    field.fill("1")
    field.press("Enter")
    page.wait_for_function("document.querySelectorAll('.look .ring-mark').length === 1")
    canvas = page.locator(".look canvas")
    for _ in range(4):
        canvas.press("ArrowUp")
    page.wait_for_function(f"(high) => {FARTHEST} > high + 1", arg=high)
    assert "not settled" in page.inner_text(".motion")
    canvas.press("Enter")
    page.wait_for_function(STILL)
    # Other rings end what is on the move.
    for _ in range(2):
        canvas.press("ArrowUp")
    page.wait_for_function(f"!({STILL})")
    drag_to(page, 4.2)
    page.wait_for_function(STILL)
    verdict(page, "range")
    assert faults(page) == []
    assert page.troubles == []
    page.close()


def test_pull_push_and_bend(page: Any) -> None:
    open_panel(page, "Move", "Work out how it moves")
    slider = page.get_by_label(re.compile("From pushed together"))
    slider.wait_for()
    told = page.locator(".scrub-said")
    assert "6.4 mm: pulled straight" in told.inner_text()
    slider.focus()
    page.keyboard.press("Home")
    assert re.search(r"pushed together by (.*) %, of \1 % at most", told.inner_text())
    assert slider.get_attribute("aria-valuetext") == told.inner_text()
    page.get_by_role("button", name="Bend up").click()
    page.wait_for_function("/tightest/.test(document.querySelector('.scrub-said').innerText)")
    assert "Bent up" in told.inner_text()
    assert page.inner_text(".chip") == "Moved by the sliders"
    page.wait_for_function(f"{VIEW}.posed === 'up'")
    # Back to the piece, and again to what the sliders move, as they stand.
    page.get_by_role("button", name="Show the piece").locator("visible=true").click()
    page.wait_for_function(f"{VIEW}.posed === ''")
    page.get_by_role("button", name="To the front").click()
    page.wait_for_function(f"{VIEW}.posed === 'sideways'")
    # One way at a time: what was pushed together is straight again.
    assert slider.input_value() == slider.get_attribute("max")
    sound(page)


def test_step_by_step(page: Any) -> None:
    open_panel(page, "Weave it", "Work out the steps")
    text = page.locator(".step-text")
    text.wait_for()
    for line in lines(load_rule("one-in-one")):
        page.wait_for_function(
            "(said) => document.querySelector('.step-text').innerText === said", arg=line.text
        )
        # The rings that the sentence names, and no others, have their numbers in the picture.
        page.wait_for_function(MARKED, arg=sorted(set(re.findall(r"\d+", line.text))))
        if page.get_by_role("button", name="Next step").is_enabled():
            page.get_by_role("button", name="Next step").click()
    assert text.get_attribute("aria-live") == "polite"
    assert page.get_by_role("button", name="Next step").is_disabled()
    assert re.match(EFFORT, page.locator(".step-way").inner_text())
    # The ring goes in along the way that was found, and is closed at its end.
    slider = page.get_by_role("slider", name="Put ring")
    slider.fill(str(int(slider.get_attribute("max")) // 2))
    page.wait_for_function(OPEN_BY, arg=0.9)
    slider.fill(slider.get_attribute("max"))
    page.wait_for_function(
        "[...document.querySelectorAll('.scrub-said')].some((one) => /is in/.test(one.innerText))"
    )
    assert not page.evaluate(OPEN_BY, 0.45)
    # All of it in the one view, which shows the piece again when it is asked to.
    assert page.locator("canvas").count() == 1
    assert "Step" in page.inner_text(".chip")
    page.get_by_role("button", name="Show the piece").locator("visible=true").click()
    page.wait_for_function("!document.querySelector('.chip').innerText.includes('Step')")
    page.wait_for_function("document.querySelectorAll('.look .ring-mark').length === 0")
    page.get_by_role("button", name="Back", exact=True).click()
    page.wait_for_function("document.querySelector('.chip').innerText.includes('Step')")
    sound(page)


def test_ribbons_look_as_tori_do_and_outlive_a_lost_processor(browser: Any, served: Served) -> None:
    page = opened(browser, served.address + START)
    # From the start, from the edge of many rings, and along the chain.
    for look in ("", "look_from('front')", "look_from('end')", "look_from('top')"):
        page.evaluate(f"{VIEW}.{look}" if look else "0")
        page.wait_for_function(f"() => !{VIEW}.is_turning && !{VIEW}.due")
        tori, ribbons = (page.evaluate(PICTURE, turning) for turning in (False, True))
        assert (tori["flat"], ribbons["flat"]) == (False, True)
        assert tori["covered"] > 2000
        shared, off = page.evaluate(DIFFERENT, 1)
        assert shared > 0.96, look
        assert off < 24, look
    # Far away, rings of a few dots cut out of a square each.
    page.evaluate(f"{VIEW}.look_from('start')")
    for _ in range(20):
        page.locator(".look canvas").press("PageDown")
    page.wait_for_function(f"() => !{VIEW}.is_turning && !{VIEW}.due")
    page.evaluate(PICTURE, False)
    page.evaluate(PICTURE, True)
    assert page.evaluate(f"{VIEW}.ribbons.mesh.material === {VIEW}.ribbons.small_ring")
    shared, off = page.evaluate(DIFFERENT, 1)
    assert shared > 0.85
    assert off < 40
    page.evaluate(f"window.lost = {VIEW}.renderer.getContext().getExtension('WEBGL_lose_context')")
    page.evaluate("window.lost.loseContext()")
    page.locator(".ring-view-broken").first.wait_for()
    page.evaluate("window.lost.restoreContext()")
    page.locator(".ring-view-broken").first.wait_for(state="detached")
    for turning in (False, True):
        page.evaluate(PICTURE, turning)
        shared, off = page.evaluate(DIFFERENT, 2)
        assert shared > 0.999
        assert off < 0.1
    # Three pictures that take too long are answered with fewer triangles; quick ones are not.
    page.evaluate(f"{VIEW}.slow = false")
    for times, slow in (((9, 300, 9), False), ((60, 9, 60), True)):
        for one in times:
            page.evaluate(f"{VIEW}.took({one})")
        assert page.evaluate(f"{VIEW}.slow") is slow
    assert page.troubles == []
    page.close()


def test_between_two_rings(page: Any) -> None:
    open_panel(page, "Measure")
    first, second = (page.get_by_label(name, exact=True) for name in ("First ring", "Second ring"))
    first.fill("1")
    first.press("Enter")
    page.get_by_text("Choose another one").wait_for()
    second.fill("2")
    second.press("Enter")
    page.get_by_text(re.compile("run through one another and touch")).wait_for()
    # At rest each ring pulls at the next one's inside: their centres are an inner diameter apart.
    assert "3.200 mm" in page.locator(".measure-table").inner_text()
    page.locator(".ring-mark-length").wait_for()
    second.press("ArrowUp")
    page.get_by_text(re.compile("do not run through one another")).wait_for()
    page.get_by_role("button", name="Clear").click()
    page.wait_for_function("document.querySelectorAll('.ring-mark-length').length === 0")
    canvas = page.locator(".look canvas")
    box = canvas.bounding_box()
    # A grid of touches, of which one at least meets a ring.
    for x in range(30, int(box["width"]) - 20, 9):
        canvas.click(position={"x": x, "y": box["height"] / 2})
        page.wait_for_timeout(60)
        if first.input_value():
            break
    assert first.input_value()
    page.wait_for_function("document.querySelectorAll('.look .ring-mark-first').length === 1")
    # Another panel leaves no marks on the model.
    open_panel(page, "Help")
    page.wait_for_function("document.querySelectorAll('.look .ring-mark').length === 0")
    sound(page)
