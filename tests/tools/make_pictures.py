"""Makes the pictures of the README: ``python -m tests.tools.make_pictures [NAME ...]``.

They are what the program's own commands make, and the page in a browser. Beside them stands what
each showed when it was made, in words and figures; a test holds that against what it would show
today. Pixels are not compared: they depend on the machine that draws.
"""

from __future__ import annotations

import csv
import json
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ringwright.base.files import WholeFiles
from ringwright.cli import main
from tests.browser import chromium, opened, serve, verdict
from tests.tools.source_tree import ROOT

if TYPE_CHECKING:
    from PIL.Image import Image

FOLDER = ROOT / "out" / "pictures"
SHOWN = FOLDER / "shown.json"
_BARREL = ["barrel", "--wire", "0.9mm", "--inner", "3.2mm"]
# The page of the sheet on which the barrel itself is woven.
_SHEET_PAGE = 2
_ASKED = "?weave=barrel&wire=0.9mm&inner=3.2mm"
_WINDOW = (1280, 860)
_LIES = "document.querySelector('.look canvas').ariaLabel.includes('lying on a table')"
_MODEL_MS = 2500
_QUALITY = 80
_MEASURES = ("repeat_mm", "width_mm", "thickness_mm")
_LOOKS = ("view", "colours", "background")
_DECIMALS = 3


@dataclass(frozen=True)
class Picture:
    """A picture of the README.

    Attributes
    ----------
    command : the command that makes what it shows, without its ``--out``; empty for the page
    shows : from the folder in which the command wrote ``it...``: words and figures
    drawn : from the same folder: the picture
    wide : pixels across
    """

    command: tuple[str, ...]
    shows: Callable[[Path], Any]
    drawn: Callable[[Path], Image]
    wide: int


def make(names: Sequence[str]) -> None:
    """Draw pictures, and write down what they show."""
    from PIL import Image

    said = recorded()
    with WholeFiles(FOLDER) as batch, tempfile.TemporaryDirectory() as scratch:
        for name in names:
            picture, folder = PICTURES[name], Path(scratch) / name
            run(picture, folder)
            large = picture.drawn(folder)
            high = round(large.height * picture.wide / large.width)
            small = large.resize((picture.wide, high), Image.Resampling.LANCZOS)
            small.save(batch.new(f"{name}.webp"), "WEBP", quality=_QUALITY, method=6)
            said[name] = shown(picture, folder)
        text = json.dumps(said, indent=1, sort_keys=True, ensure_ascii=False) + "\n"
        batch.new(SHOWN.name).write_text(text, encoding="utf-8", newline="\n")


def run(picture: Picture, folder: Path) -> None:
    """Make the files that a picture is taken from."""
    folder.mkdir(parents=True)
    if picture.command and main([*picture.command, "--out", str(folder / "it")]) != 0:
        raise RuntimeError(f"ringwright {' '.join(picture.command)} failed")


def shown(picture: Picture, folder: Path) -> dict[str, Any]:
    """What a picture shows, once its command has been run."""
    return {"command": " ".join(picture.command), "shows": picture.shows(folder)}


def recorded() -> dict[str, Any]:
    """What the pictures that are there show, by name."""
    if not SHOWN.exists():
        return {}
    found: dict[str, Any] = json.loads(SHOWN.read_text(encoding="utf-8"))
    return found


def _image(path: Path) -> Image:
    from PIL import Image

    with Image.open(path) as picture:
        return picture.convert("RGB")


def _facts(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "it.json").read_text(encoding="utf-8"))
    return found


def _still_shows(folder: Path) -> dict[str, Any]:
    """How the rings lie; all else in the picture follows from that and from its command."""
    facts = _facts(folder)
    return {name: round(facts[name], _DECIMALS) for name in _MEASURES} | {
        "looks": [[one[name] for name in _LOOKS] for one in facts["stills"]],
        "laid": [_laid(one) for one in facts["stills"]],
    }


def _laid(still: dict[str, Any]) -> list[Any] | None:
    """How what a still shows lies, and how thick; None for pulled straight.

    Weight alone does not tell how wide a chain such as barrel lies.
    """
    laid = still.get("laid")
    return None if laid is None else [laid["state"], round(laid["thickness_mm"], _DECIMALS - 1)]


def _jig_shows(folder: Path) -> list[str]:
    """Parts and what is bought, as the list in the picture has them."""
    with (folder / "it-materials.csv").open(encoding="utf-8", newline="") as lines:
        listed = [f"{row['count']} {row['item']}" for row in csv.DictReader(lines)]
    return [_facts(folder)["title"], *listed]


def _sheet_shows(folder: Path) -> str:
    from pypdf import PdfReader

    page = PdfReader(folder / "it.pdf").pages[_SHEET_PAGE - 1]
    return " ".join(page.extract_text().split())


def _sheet_drawn(folder: Path) -> Image:
    import pypdfium2

    with pypdfium2.PdfDocument(folder / "it.pdf") as pdf:
        page: Image = pdf[_SHEET_PAGE - 1].render(scale=2).to_pil().convert("RGB")
    return page


def _page_shows(folder: Path) -> list[str]:
    """What stands on the page from the first: headings, tabs, labels and names of figures.

    A size's figures are left to the other tests; of words only those that stay are taken.
    """
    del folder
    with _page() as page:
        said = page.locator(
            "h1, h2, [role=tab], .wish .field > label > span, .answer th"
        ).all_inner_texts()
    return [" ".join(one.split()) for one in said]


def _page_drawn(folder: Path) -> Image:
    with _page() as page:
        # The model comes a little later than the answer.
        page.wait_for_load_state("networkidle")
        page.wait_for_function(_LIES)
        page.wait_for_timeout(_MODEL_MS)
        page.screenshot(path=folder / "page.png")
    return _image(folder / "page.png")


@contextmanager
def _page() -> Iterator[Any]:
    served = serve()
    try:
        with chromium() as browser:
            page = opened(browser, served.address + _ASKED, _WINDOW, color_scheme="light")
            verdict(page, "range")
            # The piece is counted after the verdict is there.
            page.get_by_text("Rings in the weave").wait_for()
            yield page
    finally:
        served.close()


PICTURES = {
    "barrel": Picture(
        ("stills", *_BARREL, "--view", "close", "--metal", "roles"),
        _still_shows,
        lambda folder: _image(folder / "it-close-roles.png"),
        880,
    ),
    "jig": Picture(
        ("jig", "winding-guide", "--wire", "0.9mm", "--mandrel", "3.2mm", "--metal", "copper"),
        _jig_shows,
        lambda folder: _image(folder / "it.png"),
        1000,
    ),
    "sheet": Picture(("assembly", *_BARREL), _sheet_shows, _sheet_drawn, 800),
    "page": Picture((), _page_shows, _page_drawn, 1120),
}


if __name__ == "__main__":
    make(sys.argv[1:] or list(PICTURES))
