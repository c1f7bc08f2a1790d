"""Stills as files: PNG with their words and resolution inside, and a JSON file of all of them."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ringwright.answers.verdict import Report
from ringwright.base.errors import BadInput
from ringwright.base.files import WholeFiles
from ringwright.base.progress import Progress, quiet
from ringwright.outputs.models.artist import Artist, PictureUnavailable
from ringwright.outputs.stills.draw import sent
from ringwright.outputs.stills.still_figures import Pictured, Shot, StillsFigures, stills_facts
from ringwright.outputs.stills.stills import Still
from ringwright.outputs.stills.studio import TRANSPARENT

if TYPE_CHECKING:
    from PIL.Image import Image

ARTIST = "ringwright.outputs.stills.draw"
# A large picture can take a while on a slow machine.
_LIMIT_S = 600.0
_SMALLER = 2
# Pixels that one drawing process is asked for.
_MOST_PIXELS = 8_000_000


@dataclass(frozen=True)
class WrittenStills:
    """The JSON file, what it holds, and of that the figures of the pictures."""

    file: str
    facts: dict[str, Any]
    figures: StillsFigures


def write_stills(
    report: Report,
    taken: Sequence[Still],
    folder: Path,
    name: str,
    on_progress: Progress = quiet,
) -> WrittenStills:
    """Draw the stills and write them; all files appear, or none.

    Parameters
    ----------
    folder, name : the files are ``folder/name-VIEW-METAL.png`` and so on, and ``folder/name.json``
    on_progress : called with (what, done, of)

    Raises
    ------
    BadInput
        When no picture can be drawn, or the files cannot be written.
    """
    pictures: list[Pictured] = []
    with WholeFiles(folder) as batch:
        for some in _batches(taken):
            on_progress("drawing stills", len(pictures), len(taken))
            for still, drawn in zip(some, _drawn(some), strict=True):
                stem = f"{name}-{still.view}-{slug(still.metal)}"
                files = {"file": f"{stem}.png"}
                batch.new(files["file"]).write_bytes(_with_words(drawn, still))
                if still.dpi is None:
                    files["small_file"] = f"{stem}-small.png"
                    half = _with_words(_smaller(drawn), still)
                    batch.new(files["small_file"]).write_bytes(half)
                paths = {kind: str(folder / file) for kind, file in files.items()}
                pictures.append(Pictured(still, **paths))
        figures = StillsFigures.of(Shot(tuple(pictures)))
        facts = stills_facts(report, figures)
        text = json.dumps(facts, ensure_ascii=False, indent=1, allow_nan=False)
        batch.new(f"{name}.json").write_text(text + "\n", encoding="utf-8", newline="\n")
    on_progress("drawing stills", len(taken), len(taken))
    return WrittenStills(str(folder / f"{name}.json"), facts, figures)


def slug(paint: str) -> str:
    """A paint as part of a file's name: small letters, digits and hyphens."""
    return re.sub(r"[^a-z0-9]+", "-", paint.lower().replace("'", "")).strip("-")


def _batches(taken: Sequence[Still]) -> list[list[Still]]:
    """Stills that are drawn by one process: as many as it can hold at a time."""
    batches: list[list[Still]] = []
    left = 0
    for still in taken:
        width, height = still.scene.size
        if not batches or width * height > left:
            batches.append([])
            left = _MOST_PIXELS
        batches[-1].append(still)
        left -= width * height
    return batches


def stills_text(written: WrittenStills) -> str:
    """The pictures and their words, for a person at a terminal."""
    lines = []
    for still in written.figures.stills:
        lines += [still.title, f"  {still.file}"]
        lines += [f"  {still.small_file}"] if isinstance(still.small_file, str) else []
        lines += [f"  {still.alt}", ""]
    return "\n".join([*lines, f"The same in {written.file}"])


def _drawn(some: Sequence[Still]) -> list[Image]:
    """The pictures of some stills, all by one process."""
    from PIL import Image

    with Artist(ARTIST) as artist:
        artist.begin(sent([still.scene for still in some]))
        try:
            data = artist.picture(_LIMIT_S * len(some))
        except PictureUnavailable as reason:
            raise BadInput(f"{reason} Nothing was written.") from reason
    with Image.open(io.BytesIO(data)) as opened:
        whole = opened.convert("RGBA")
    pictures, top = [], 0
    for still in some:
        width, height = still.scene.size
        picture = whole.crop((0, top, width, top + height))
        opaque = still.scene.background != TRANSPARENT
        pictures.append(picture.convert("RGB") if opaque else picture)
        top += height
    return pictures


def _smaller(picture: Image) -> Image:
    """The picture at half its size."""
    if picture.mode != "RGBA":
        return picture.reduce(_SMALLER)
    # Colours of see-through pixels must not count for more than is seen of them.
    return picture.convert("RGBa").reduce(_SMALLER).convert("RGBA")


def _with_words(picture: Image, still: Still) -> bytes:
    """A PNG file with title and description inside, and the resolution where it is for print.

    Keywords are those of the PNG specification (W3C, third edition, 11.3.3.1).
    """
    from PIL.PngImagePlugin import PngInfo

    said = PngInfo()
    said.add_itxt("Title", still.title, lang="en")
    said.add_itxt("Description", still.alt, lang="en")
    file = io.BytesIO()
    dpi = still.dpi
    options = {} if dpi is None else {"dpi": (dpi, dpi)}
    picture.save(file, "PNG", pnginfo=said, optimize=False, compress_level=9, **options)
    return file.getvalue()
