"""Stills as files: PNG with their words and resolution inside, and a JSON file of all of them."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from generator.artist import Artist, PictureUnavailable
from generator.errors import BadInput
from generator.files import WholeFiles
from generator.report import report_facts
from generator.stills.draw import sent
from generator.stills.stills import Still
from generator.stills.words import APPROXIMATION
from generator.verdict import Report

if TYPE_CHECKING:
    from PIL.Image import Image

ARTIST = "generator.stills.draw"
# A large picture can take a while on a slow machine.
_LIMIT_S = 600.0
_SMALLER = 2


@dataclass(frozen=True)
class WrittenStills:
    """The files, and what the JSON file holds."""

    files: tuple[str, ...]
    facts: dict[str, Any]


def write_stills(
    report: Report,
    taken: Sequence[Still],
    folder: Path,
    name: str,
    on_progress: Callable[[str, int, int], None] = lambda what, done, of: None,
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
    pictures, files = [], []
    with WholeFiles(folder) as batch:
        for done, still in enumerate(taken):
            on_progress("drawing stills", done, len(taken))
            drawn = _drawn(still)
            file = f"{name}-{still.view}-{still.metal.lstrip('#')}.png"
            batch.new(file).write_bytes(_with_words(drawn, still))
            files.append(str(folder / file))
            facts = {**still.facts, "file": files[-1]}
            if still.facts["dpi"] is None:
                small = f"{file.removesuffix('.png')}-small.png"
                batch.new(small).write_bytes(_with_words(_smaller(drawn), still))
                files.append(str(folder / small))
                facts["small_file"] = files[-1]
            pictures.append(facts)
        files.append(str(folder / f"{name}.json"))
        facts = {**report_facts(report), "metal_colours": APPROXIMATION, "stills": pictures}
        text = json.dumps(facts, ensure_ascii=False, indent=1, allow_nan=False)
        batch.new(f"{name}.json").write_text(text + "\n", encoding="utf-8")
    on_progress("drawing stills", len(taken), len(taken))
    return WrittenStills(tuple(files), facts)


def stills_text(written: WrittenStills) -> str:
    """The pictures and their words, for a person at a terminal."""
    lines = []
    for still in written.facts["stills"]:
        lines += [still["title"], f"  {still['file']}"]
        lines += [f"  {still['small_file']}"] if "small_file" in still else []
        lines += [f"  {still['alt']}", ""]
    return "\n".join([*lines, f"The same in {written.files[-1]}"])


def _drawn(still: Still) -> Image:
    from PIL import Image

    with Artist(ARTIST) as artist:
        artist.begin(sent(still.scene))
        try:
            data = artist.picture(_LIMIT_S)
        except PictureUnavailable as reason:
            raise BadInput(f"{reason} Nothing was written.") from reason
    with Image.open(io.BytesIO(data)) as opened:
        picture = opened.convert("RGBA")
    return picture if still.scene.background == "transparent" else picture.convert("RGB")


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
    dpi = still.facts["dpi"]
    options = {} if dpi is None else {"dpi": (dpi, dpi)}
    picture.save(file, "PNG", pnginfo=said, optimize=False, compress_level=9, **options)
    return file.getvalue()
