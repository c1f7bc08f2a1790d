"""A command of this program, run as a maker would run it, for the files it writes."""

from __future__ import annotations

import asyncio
import os
import sys
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from ringwright.base.errors import BadInput
from ringwright.base.exit_status import NOT_WOVEN, STEP, STEPS_ASKED, WOVEN
from ringwright.base.progress import Progress
from ringwright.base.system import apart, end_tree, give_way, typed

# A command that takes longer has gone wrong.
_LONGEST_S = 900.0
# So many lines of what a failing command says are kept, and so much of them is shown.
_LINES_KEPT = 20
_SAID = 600
_LONGEST_LINE = 1 << 20
# What the program itself says begins so; libraries may say other things.
_OURS = "ringwright: "
_ENDED = "The command was stopped from outside, perhaps because memory ran out."
_CANNOT = "At this size it does not close, so nothing was written."


@dataclass(frozen=True)
class Command:
    """A command line of this program.

    Attributes
    ----------
    arguments : as typed behind ``ringwright``
    reads : the files that these name, with what is in them
    """

    arguments: tuple[str, ...]
    reads: Mapping[str, str] = field(default_factory=dict)

    def line(self) -> str:
        """The command line as it is typed."""
        return typed(["ringwright", *self.arguments])


async def run(command: Command, folder: Path, on_progress: Progress) -> str:
    """Run a command in a folder to its end; returns what it remarked, such as on pictures.

    Raises
    ------
    BadInput
        When it failed, or there is nothing to write because the weave cannot be woven; with
        what the command said.
    """
    for name, text in command.reads.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    running = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "ringwright.cli", *command.arguments),
        cwd=folder,
        env={
            **os.environ,
            "PYTHONPATH": os.pathsep.join(p for p in sys.path if p),
            STEPS_ASKED: "1",
        },
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        limit=_LONGEST_LINE,
        **apart(),
    )
    try:
        # What is dragged on the page goes before what takes long.
        give_way(running.pid)
        async with asyncio.timeout(_LONGEST_S):
            said, _, status = await asyncio.gather(
                _heard(running.stderr, on_progress), _emptied(running.stdout), running.wait()
            )
    except TimeoutError:
        raise BadInput("That took more than a quarter of an hour and was stopped.") from None
    finally:
        if running.returncode is None:
            end_tree(running.pid)
    ours = [line.removeprefix(_OURS) for line in said if line.startswith(_OURS)]
    if status == NOT_WOVEN:
        raise BadInput((ours or [_CANNOT])[-1])
    if status != WOVEN:
        raise BadInput((ours or said or [_ENDED])[-1])
    return ours[-1] if ours else ""


async def _heard(stream: asyncio.StreamReader | None, on_progress: Progress) -> list[str]:
    """The last lines that a command says, besides its steps."""
    kept: deque[str] = deque(maxlen=_LINES_KEPT)
    assert stream is not None
    async for line in stream:
        text = line.decode(errors="replace").rstrip("\n")
        if text.startswith(STEP):
            name, done, of = text.removeprefix(STEP).split("\t")
            on_progress(name, int(done), int(of))
        elif text.strip():
            kept.append(text[:_SAID])
    return list(kept)


async def _emptied(stream: asyncio.StreamReader | None) -> None:
    assert stream is not None
    while await stream.read(1 << 16):
        pass
