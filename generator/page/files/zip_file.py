"""Everything that was made in one zip, with the command lines that make it again."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import PurePosixPath

from ringwright.base.version import program_version
from ringwright.making.ring.cautions import JEWELLERY_ONLY, LOCAL_RULES, SMALL_PARTS
from ringwright.page.files.command_lines import TOPICS
from ringwright.page.files.project_file import FILE
from ringwright.page.files.run_command import Command

README = "README.txt"
# The earliest that a zip can say; the same files make the same zip at any time.
_TIME = (1980, 1, 1, 0, 0, 0)
_MODE = 0o100644 << 16
# What the endings of files mean to a maker.
_MEANING = {
    ".stl": "triangles, for printing or rendering",
    ".3mf": "for the slicer, with its unit",
    ".step": "exact solids for CAD",
    ".glb": "model in colours, for showing",
    ".png": "picture",
    ".pdf": "to print",
    ".svg": "lines, for drawing programs",
    ".dxf": "lines for CAD, at full size",
    ".csv": "table for a spreadsheet",
    ".json": "all figures",
    ".zip": "everything in one file",
}


def zipped(files: Mapping[str, bytes]) -> bytes:
    """A zip of files by name, the same for the same files."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        for name in sorted(files):
            entry = zipfile.ZipInfo(name, _TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = _MODE
            # As on Unix wherever it is made.
            entry.create_system = 3
            archive.writestr(entry, files[name])
    return made.getvalue()


def meaning(name: str) -> str:
    """What a file is for, by its name's ending; empty where that does not tell."""
    return _MEANING.get(PurePosixPath(name).suffix, "")


def readme(title: str, commands: Mapping[str, Command], made: Mapping[str, str]) -> str:
    """What is in a bundle, what each file is for, and how all is made again.

    Parameters
    ----------
    title : the weave and its ring
    commands : by topic
    made : topics by the names of the files that were made
    """
    reads = sorted({name for command in commands.values() for name in command.reads})
    lines = [
        title,
        "",
        *_what_for(made, reads),
        f"Made with ringwright {program_version()}. These command lines make the same files",
        "again, typed in the folder that this file is in:",
        "",
    ]
    for topic, command in commands.items():
        lines += [f"# {TOPICS[topic]}", command.line(), ""]
    lines += ["Cautions", *_cautions()]
    return "\n".join(lines) + "\n"


def _what_for(made: Mapping[str, str], reads: Sequence[str]) -> list[str]:
    """Every file with what it is for, under the words for what it belongs to."""
    lines = ["What each file is for", ""]
    told = {
        FILE: "opens all that was chosen on the page of 'ringwright serve'",
        **dict.fromkeys(reads, "is read by the commands below"),
    }
    column = 2 + max(map(len, (*made, *told)))
    topic = ""
    for name, of in made.items():
        if of != topic:
            lines.append(f"{TOPICS[of]}:")
            topic = of
        lines.append(f"  {name:<{column}}{meaning(name)}".rstrip())
    lines.append("To go on with:")
    return [*lines, *(f"  {name:<{column}}{said}" for name, said in told.items()), ""]


def _cautions() -> Sequence[str]:
    return [f"- {one}" for one in (SMALL_PARTS, f"{JEWELLERY_ONLY}.", LOCAL_RULES)]
