"""README and guide as tests read them: their blocks of code, and the files they say to save."""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass
from pathlib import Path

from tests.tools.source_tree import ROOT

README = ROOT / "README.md"
GUIDE = ROOT / "generator" / "guide"
_BLOCK = re.compile(r"^```(\w*)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
_SAVED = re.compile(r"[Ss]ave this as\s+`([\w.]+)`:\s*$")


@dataclass(frozen=True)
class Block:
    """A fenced block: its language, its text, and the file it is to be saved as, if any."""

    language: str
    text: str
    file: str


def texts() -> dict[str, Path]:
    """README and all topics, by name."""
    return {"README": README} | {path.stem: path for path in sorted(GUIDE.glob("*.md"))}


def blocks(path: Path) -> list[Block]:
    """All fenced blocks of a text, in their order."""
    text = path.read_text(encoding="utf-8")
    found = []
    for match in _BLOCK.finditer(text):
        saved = _SAVED.search(text[: match.start()])
        found.append(Block(match[1], match[2], saved[1] if saved else ""))
    return found


def ringwright_commands(block: Block) -> list[list[str]]:
    """The calls of ringwright in a block of commands, as words; setting up is left out."""
    if block.language != "sh":
        return []
    lines = [part.strip() for part in re.split(r"\n|&&", block.text)]
    words = [shlex.split(line) for line in lines if line]
    return [each[1:] for each in words if Path(each[0]).name == "ringwright"]
