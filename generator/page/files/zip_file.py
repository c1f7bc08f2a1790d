"""Everything that was made in one zip, with the command lines that make it again."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence

from ringwright.base.version import program_version
from ringwright.making.ring.cautions import JEWELLERY_ONLY, LOCAL_RULES, SMALL_PARTS
from ringwright.page.files.command_lines import TOPICS
from ringwright.page.files.project_file import FILE
from ringwright.page.files.run_command import Command

README = "README.txt"
# The earliest that a zip can say; the same files make the same zip at any time.
_TIME = (1980, 1, 1, 0, 0, 0)
_MODE = 0o100644 << 16


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


def readme(title: str, commands: Mapping[str, Command]) -> str:
    """What is in a bundle, and how it is made again.

    Parameters
    ----------
    title : the weave and its ring
    commands : by topic
    """
    reads = sorted({name for command in commands.values() for name in command.reads})
    lines = [
        title,
        "",
        f"Made with ringwright {program_version()}. These command lines make the same files",
        "again, typed in the folder that this file is in:",
        "",
    ]
    for topic, command in commands.items():
        lines += [f"# {TOPICS[topic]}", command.line(), ""]
    lines.append(f"{FILE} opens all that was chosen on the page of 'ringwright serve'.")
    lines += [f"{name} is what these commands read." for name in reads]
    lines += ["", "Cautions", *_cautions()]
    return "\n".join(lines) + "\n"


def _cautions() -> Sequence[str]:
    return [f"- {one}" for one in (SMALL_PARTS, f"{JEWELLERY_ONLY}.", LOCAL_RULES)]
