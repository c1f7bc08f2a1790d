"""Finished sizes of a sweep, kept on the disk so that a stopped sweep can go on."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import threading
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import BinaryIO

from ringwright.base.errors import BadInput
from ringwright.base.files import cannot_write
from ringwright.base.json_values import JsonObject
from ringwright.base.wording import quoted_path
from ringwright.outputs.sweep.sweep import Row, Sweep


@dataclass
class Journal:
    """A file with a line per finished size, below a line that names the question exactly.

    As a context manager it opens the file, makes missing folders, and takes up what an
    earlier run of the same question left, up to the first line that is not whole. On
    leaving, a journal without any size goes again, and folders made for it too.

    Parameters
    ----------
    path : the file
    sweep : the question
    version : the program's version; another version is another question
    fresh : whether to throw away what is there

    Raises
    ------
    BadInput
        On entry, when the file belongs to another question or cannot be used; from
        :meth:`keep`, when it cannot be written.
    """

    path: Path
    sweep: Sweep
    version: str
    fresh: bool = False
    rows: dict[int, Row] = field(default_factory=dict, init=False)
    _file: BinaryIO | None = field(default=None, init=False)
    _made: list[Path] = field(default_factory=list, init=False)

    def __enter__(self) -> Journal:
        found = b""
        try:
            self._make_folders()
            # Made if it is not there, and never emptied by opening it.
            self._file = open(self.path, "a+b")
            self._file.seek(0)
            found = self._file.read()
            whole = 0 if self.fresh else self._take_up(found)
            self._file.seek(whole)
            self._file.truncate()
            if not whole:
                self._append(self._header())
        except BaseException as error:
            self._leave(keep=bool(found))
            if isinstance(error, OSError):
                raise cannot_write(self.path, error) from error
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self._leave(keep=bool(self.rows))

    def keep(self, index: int, row: Row) -> None:
        """Put one finished size on the disk."""
        # Ctrl-C in between would leave a line that is not counted, and so thrown away.
        with _uninterrupted():
            try:
                self._append({"size": index, "row": asdict(row)})
            except OSError as error:
                raise cannot_write(self.path, error) from error
            self.rows[index] = row

    def remove(self) -> None:
        """Have the file removed on leaving: what it kept has been written elsewhere."""
        self.rows.clear()

    def _header(self) -> JsonObject:
        return {
            "ringwright_sweep": self.version,
            "weave": self.sweep.rule.name,
            "sizes": len(self.sweep.sizes),
            "question": self.sweep.fingerprint(),
        }

    def _append(self, facts: JsonObject) -> None:
        if self._file is None:
            raise ValueError("the journal is not open")
        self._file.write(json.dumps(facts).encode() + b"\n")
        self._file.flush()
        os.fsync(self._file.fileno())

    def _take_up(self, content: bytes) -> int:
        """Read the rows of an earlier run; how many bytes of it are of use."""
        header = json.dumps(self._header()).encode() + b"\n"
        if header.startswith(content):
            # New, or killed before even its first line was whole.
            return 0
        if not content.startswith(header):
            raise _another_question(self.path, content.split(b"\n", 1)[0])
        whole = len(header)
        for line in content[whole:].splitlines(keepends=True):
            kept = _read(line)
            if kept is None or not 0 <= kept[0] < len(self.sweep.sizes):
                break
            self.rows[kept[0]] = kept[1]
            whole += len(line)
        return whole

    def _make_folders(self) -> None:
        folder = self.path.parent
        missing = [place for place in (folder, *folder.parents) if not place.exists()]
        for place in reversed(missing):
            with contextlib.suppress(FileExistsError):
                place.mkdir()
                self._made.append(place)

    def _leave(self, keep: bool) -> None:
        if self._file is not None:
            # A full disk would be reported a second time.
            with contextlib.suppress(OSError):
                self._file.close()
            self._file = None
            if not keep:
                with contextlib.suppress(OSError):
                    self.path.unlink()
        for folder in reversed(self._made):
            # A folder with the journal or the finished files in it stays.
            with contextlib.suppress(OSError):
                folder.rmdir()


@contextlib.contextmanager
def _uninterrupted() -> Iterator[None]:
    """Ctrl-C is answered only once this is done."""
    if threading.current_thread() is not threading.main_thread():
        # Python hands signals to the main thread alone.
        yield
        return
    came: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _: came.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if came:
        signal.raise_signal(signal.SIGINT)


def _read(line: bytes) -> tuple[int, Row] | None:
    """The size and row of a line, or None if it is not a whole one."""
    try:
        kept = json.loads(line) if line.endswith(b"\n") else {}
        return int(kept["size"]), Row(**kept["row"])
    except (ValueError, TypeError, KeyError):
        return None


def _another_question(path: Path, first_line: bytes) -> BadInput:
    whose = "something else"
    with contextlib.suppress(ValueError, TypeError, KeyError):
        found = json.loads(first_line)
        whose = (
            f"another sweep ({found['weave']}, {found['sizes']} sizes, ringwright "
            f"{found['ringwright_sweep']})"
        )
    return BadInput(
        f"{quoted_path(path)} belongs to {whose}; finish that one, give another --out, or throw it "
        "away with --fresh."
    )
