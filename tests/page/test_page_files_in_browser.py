"""Files made on the bench in a real browser. Run with ``pytest -m outside``."""

import shlex
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.browser import DESKTOP, PHONE, START, Served, drag_to, opened, sound, verdict

pytestmark = pytest.mark.outside

WEAVES = Path(__file__).parents[2] / "weaves"


def panel(page: Any, name: str) -> Any:
    page.get_by_role("tab", name=name, exact=True).click()
    return page.get_by_role("tabpanel", name=name)


def downloaded(page: Any, link: Any, folder: Path) -> Path:
    with page.expect_download() as told:
        link.click()
    path = folder / told.value.suggested_filename
    told.value.save_as(path)
    return path


def at_size(page: Any, size: tuple[int, int], scheme: str) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.emulate_media(color_scheme=scheme)


def made(here: Any, title: str) -> None:
    here.get_by_role("button", name=f"Make it: {title}").click()
    here.locator("section.task", has_text=title).locator("table.files").wait_for()


def test_the_main_job_from_first_load_to_bundle(
    browser: Any, served: Served, tmp_path: Path
) -> None:
    page = opened(browser, served.address)
    page.locator("label.weave:has([value=one-in-one]) img").click()
    wire = page.get_by_label("Wire", exact=True)
    wire.fill("1mm")
    wire.press("Enter")
    page.wait_for_function("location.search.includes('wire=1mm')")
    drag_to(page, 4.0)
    page.wait_for_function("location.search.includes('inner=4mm')")
    verdict(page, "range")

    papers = panel(page, "Papers")
    length = papers.get_by_label("Length of the piece")
    length.fill("30mm")
    length.press("Enter")
    made(papers, "Measured drawing")
    sound(page)

    jigs = panel(page, "Jigs")
    jigs.get_by_label("Clearance").fill("0.25mm")
    jigs.get_by_label("Step").fill("0.05mm")
    jigs.get_by_label("Step").press("Enter")
    # The answer to the first does not take away what is typed into the second meanwhile.
    jigs.get_by_text("--step 0.05mm --clearance 0.25mm").wait_for()
    made(jigs, "Ring gauge")
    page.wait_for_function("document.querySelector('.pictures img').naturalWidth > 100")
    jigs.get_by_label("Part to look at").select_option("wire-slots")
    canvas = jigs.get_by_role("img", name="The part wire slots")
    canvas.press("ArrowLeft")
    at_size(page, PHONE, "dark")
    sound(page)
    link = jigs.get_by_role("link", name="Download ring-gauge-plug.stl")
    stl = downloaded(page, link, tmp_path).read_bytes()

    project = panel(page, "Project")
    project.get_by_label("Plan for the bench").uncheck()
    project.get_by_label("Ring gauge").check()
    sound(page)
    at_size(page, DESKTOP, "light")
    made(project, "Bundle")
    link = project.get_by_role("link", name="Download one-in-one-bundle.zip")
    with zipfile.ZipFile(downloaded(page, link, tmp_path)) as bundle:
        assert bundle.testzip() is None
        bundle.extractall(tmp_path / "bundle")
        names = set(bundle.namelist())
    assert page.troubles == []
    page.close()

    assert {"README.txt", "project.toml", "model/one-in-one.step"} <= names
    assert (tmp_path / "bundle/jigs/ring-gauge-plug.stl").read_bytes() == stl
    readme = (tmp_path / "bundle/README.txt").read_text()
    lines = [shlex.split(line) for line in readme.splitlines() if line.startswith("ringwright ")]
    assert [line[1] for line in lines] == ["preview", "drawing", "jig"]
    again = tmp_path / "again"
    again.mkdir()
    command = [sys.executable, "-m", "ringwright.cli", *lines[1][1:]]
    subprocess.run(command, cwd=again, check=True, stdout=subprocess.DEVNULL)
    files = [path.relative_to(again) for path in again.rglob("*") if path.is_file()]
    assert len(files) == 3
    for path in files:
        assert (again / path).read_bytes() == (tmp_path / "bundle" / path).read_bytes()

    # The project file leads back to the same choice.
    other = opened(browser, served.address)
    project = panel(other, "Project")
    project.get_by_label("Open project").set_input_files(tmp_path / "bundle/project.toml")
    other.wait_for_function("location.search.includes('wire=1mm')")
    assert "length=30mm" in other.url
    verdict(other, "range")
    assert project.get_by_label("Ring gauge").is_checked()
    assert not project.get_by_label("Plan for the bench").is_checked()
    # What is sent to somebody else: a picture with its words, and a page that turns.
    for press, name, start in (
        ("Save a picture", "one-in-one.png", b"\x89PNG"),
        ("Save a page that turns", "one-in-one.html", b"<!DOCTYPE html>"),
    ):
        with other.expect_download() as kept:
            project.get_by_role("button", name=press).click()
        assert kept.value.suggested_filename == name
        assert kept.value.path().read_bytes().startswith(start)
    other.close()


def test_a_weave_of_ones_own_and_files_that_are_none(
    browser: Any, served: Served, tmp_path: Path
) -> None:
    page = opened(browser, served.address + START + "&length=30mm")
    project = panel(page, "Project")
    said = project.locator(".said").nth(1)
    pick = project.get_by_label("Open a weave of my own")
    pick.set_input_files(Path(__file__).parents[1] / "rules" / "hopf.toml")
    page.wait_for_function("location.search.includes('weave=test+pair')")
    verdict(page, "Loose")
    assert "The weave is open: test pair." in said.inner_text()
    assert page.locator("label.weave:has-text('your own') input").is_checked()
    large = tmp_path / "large.toml"
    large.write_text("#" * 300_000)
    for name, content, sentence in (
        ("large.toml", None, "larger than"),
        ("barrel.toml", (WEAVES / "barrel.toml").read_text(), "choose a name of its own"),
        ("odd.toml", "name = 1", "Not opened: weave file"),
    ):
        file = tmp_path / name
        if content is not None:
            file.write_text(content)
        pick.set_input_files(file)
        project.get_by_text(sentence).wait_for()
    assert "weave=test+pair" in page.url
    papers = panel(page, "Papers")
    made(papers, "Measured drawing")
    assert "ringwright drawing weave.toml" in papers.inner_text()
    papers.get_by_role("button", name="Make it: Assembly sheet").click()
    papers.get_by_role("button", name="Cancel: Assembly sheet").click()
    papers.get_by_text("Cancelled; nothing was written.").wait_for()
    assert page.troubles == []
    page.close()


def test_a_plan_in_the_metals_of_a_picture_with_ends_and_paces(
    browser: Any, served: Served, tmp_path: Path
) -> None:
    picture = Image.new("RGB", (2, 1), (216, 112, 54))
    picture.putpixel((1, 0), (143, 140, 135))
    picture.save(tmp_path / "two.png")
    page = opened(browser, served.address + "?weave=european-4-in-1&wire=0.9mm&inner=4mm")
    papers = panel(page, "Papers")
    papers.get_by_label("Length of the piece").fill("24mm")
    papers.get_by_label("Width of a sheet").fill("12mm")
    papers.get_by_label("Clasp", exact=True).fill("12mm")
    papers.get_by_text("More for the plan").click()
    papers.get_by_label("Ends, with a clasp").select_option("bar")
    papers.get_by_label("Metals in the plan").select_option("grid")
    papers.locator("input[type=file]").set_input_files(tmp_path / "two.png")
    rows = papers.get_by_label("Rings row by row")
    page.wait_for_function(
        "(at) => at.value.includes('#d87036,#8f8c87')", arg=rows.element_handle()
    )
    legend = papers.get_by_label("What its colours or marks are")
    legend.fill("#d87036=copper,#8f8c87=titanium grade 1")
    legend.press("Enter")
    sound(page)
    line = papers.get_by_text("ringwright plan european-4-in-1")
    page.wait_for_function("(at) => at.textContent.includes('grid')", arg=line.element_handle())
    # The figures beside the model are of both metals too, and of the ends.
    figures = page.locator(".piece-figures")
    figures.get_by_text("titanium grade 1", exact=True).first.wait_for()
    told = shlex.split(line.inner_text())
    assert told[told.index("--grid") :][:2] == ["--grid", "grid.csv"]
    assert told[told.index("--legend") :][:2] == ["--legend", legend.input_value()]
    assert told[told.index("--ends") :][:2] == ["--ends", "bar"]
    shop = panel(page, "Shop")
    shop.get_by_text("Paces", exact=True).click()
    weave = shop.get_by_label("Weave", exact=True)
    weave.fill("20s")
    weave.press("Enter")
    text = shop.get_by_label("The shop as text")
    page.wait_for_function(
        """(at) => at.value.includes('weave = "20s"')""", arg=text.element_handle()
    )
    assert page.troubles == []
