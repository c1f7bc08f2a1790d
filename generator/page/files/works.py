"""What tabs were about, kept on this computer's disk: it survives a reload and a new server.

Papers are large and lie with the server anyway, so all of it does; the browser keeps a key alone.
A work's folder has a name that the key cannot be told from, and nobody else may look into it.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
import secrets
import shutil
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ringwright.base.errors import BadInput, NotWritten
from ringwright.base.files import WholeFiles
from ringwright.base.system import is_mine_alone
from ringwright.page.files.project_file import (
    head_text,
    long_texts,
    project_from_text,
    texts_text,
)
from ringwright.page.state.history import History, Moment
from ringwright.page.state.place import Place
from ringwright.page.state.project import Project

_KEY = re.compile(r"[A-Za-z0-9_-]{43}")
_FILE = "work.json"
_FORMAT = 1
# A history has a few megabytes at most; what is larger is none.
_MOST_BYTES = 16_000_000
# What nobody has gone on with for so long is removed, and what is more than so many.
_OLDEST_S, _MOST_WORKS = 60 * 24 * 3600.0, 200


@dataclass(frozen=True)
class KeptRun:
    """A command whose files are kept: as typed, what it read, and the folder of its files."""

    arguments: tuple[str, ...]
    reads: Mapping[str, str]
    folder: str
    remark: str


@dataclass(frozen=True)
class Kept:
    """What is kept of a tab.

    Attributes
    ----------
    on_disk : what the shop file held, of which ``history`` may hold other texts
    runs : by topic
    unfinished : topics that were being made
    """

    history: History
    place: Place
    on_disk: str = ""
    runs: Mapping[str, KeptRun] = field(default_factory=dict)
    unfinished: tuple[str, ...] = ()


class Works:
    """The works of all tabs below one folder."""

    def __init__(self, root: Path | None) -> None:
        """Remove what is too old; without a folder that is this user's alone nothing is kept."""
        self._root = None
        with contextlib.suppress(OSError):
            if root is not None:
                root.mkdir(mode=0o700, parents=True, exist_ok=True)
                if is_mine_alone(root):
                    self._root = root
                    _clear(root, time.time())

    def work(self, key: str) -> Work:
        """The work of a key, or of a new one where this cannot be one."""
        sound = key if _KEY.fullmatch(key) else secrets.token_urlsafe(32)
        name = hashlib.sha256(sound.encode()).hexdigest()[:40]
        return Work(sound, None if self._root is None else self._root / name)


class Work:
    """One tab's work."""

    def __init__(self, key: str, folder: Path | None) -> None:
        """Nothing is read or written yet."""
        self.key, self.folder = key, folder
        self._one_at_a_time = threading.Lock()
        self._saved = -1
        self._written: dict[int, tuple[Project, str]] = {}

    def read(self) -> Kept | None:
        """What was kept; None where there is nothing, or nothing that can be read."""
        if self.folder is None:
            return None
        try:
            path = self.folder / _FILE
            if not is_mine_alone(self.folder) or path.stat().st_size > _MOST_BYTES:
                return None
            return _kept(json.loads(path.read_text(encoding="utf-8")))
        except (OSError, ValueError, LookupError, TypeError, AttributeError, BadInput):
            return None

    def save(self, kept: Kept, count: int) -> None:
        """Keep this; ``count`` grows from one saving to the next, so that none is older.

        A disk that takes no more loses what is newest, and nothing else.
        """
        with self._one_at_a_time, contextlib.suppress(NotWritten, OSError):
            if self.folder is None or count <= self._saved:
                return
            self.folder.mkdir(mode=0o700, exist_ok=True)
            with WholeFiles(self.folder) as batch:
                text = json.dumps(self._told(kept), ensure_ascii=False)
                batch.new(_FILE).write_text(text, encoding="utf-8", newline="\n")
            self._saved = count

    def _told(self, kept: Kept) -> dict[str, Any]:
        texts: dict[str, int] = {}

        def place(text: str) -> int:
            return texts.setdefault(text, len(texts))

        moments = [
            {
                "why": one.why,
                "serial": one.serial,
                "project": self._head(one),
                "texts": list(map(place, long_texts(one.project))),
            }
            for one in kept.history.moments
        ]
        # What the history has forgotten is forgotten here too.
        self._written = {one.serial: self._written[one.serial] for one in kept.history.moments}
        return {
            "format": _FORMAT,
            "moments": moments,
            "at": kept.history.place,
            "count": kept.history.count,
            "panel": kept.place.panel,
            "step": kept.place.step,
            "on_disk": place(kept.on_disk),
            "runs": {
                topic: {
                    "arguments": run.arguments,
                    "reads": dict(run.reads),
                    "folder": run.folder,
                    "remark": run.remark,
                }
                for topic, run in kept.runs.items()
            },
            "unfinished": kept.unfinished,
            "texts": list(texts),
        }

    def _head(self, moment: Moment) -> str:
        """The text of a project; nearly all of a history is as it was when it was kept last."""
        known = self._written.get(moment.serial)
        if known is None or known[0] is not moment.project:
            known = self._written[moment.serial] = moment.project, head_text(moment.project)
        return known[1]


def _kept(told: Mapping[str, Any]) -> Kept | None:
    if told["format"] != _FORMAT:
        return None
    texts: Sequence[str] = told["texts"]
    moments = tuple(_moment(one, texts) for one in told["moments"])
    at, count = int(told["at"]), int(told["count"])
    if not 0 <= at < len(moments) or any(one.serial >= count for one in moments):
        return None
    runs = {
        topic: KeptRun(tuple(run["arguments"]), run["reads"], run["folder"], run["remark"])
        for topic, run in told["runs"].items()
    }
    place = Place(str(told["panel"]), int(told["step"]))
    on_disk = texts[told["on_disk"]]
    return Kept(History(moments, at, count), place, on_disk, runs, tuple(told["unfinished"]))


def _moment(told: Mapping[str, Any], texts: Sequence[str]) -> Moment:
    rule, shop, grid = (texts[at] for at in told["texts"])
    text = told["project"] + texts_text(rule, shop, grid)
    return Moment(project_from_text(text), str(told["why"]), int(told["serial"]))


def _clear(root: Path, now_s: float) -> None:
    """Remove works that are too old, or too many."""
    ages = {}
    for folder in root.iterdir():
        with contextlib.suppress(OSError):
            ages[folder] = now_s - (folder / _FILE).stat().st_mtime
    in_order = sorted(ages, key=lambda one: ages[one])
    for place, folder in enumerate(in_order):
        if place >= _MOST_WORKS or ages[folder] > _OLDEST_S:
            shutil.rmtree(folder, ignore_errors=True)
