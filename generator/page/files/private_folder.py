"""A folder of this process that nobody else can look into, and that does not outlive it."""

from __future__ import annotations

import contextlib
import shutil
import tempfile
from pathlib import Path

from filelock import FileLock, Timeout

from ringwright.base.system import is_mine_alone

_PREFIX = "ringwright-"
_LOCK = "in-use"


def private_folder() -> Path:
    """A new folder; those of servers that were killed are removed first.

    A server holds a lock on its own for as long as it runs, however it ends.

    Raises
    ------
    OSError
        When no folder can be made.
    """
    _clear_leftovers(Path(tempfile.gettempdir()))
    folder = Path(tempfile.mkdtemp(prefix=_PREFIX))
    lock = FileLock(folder / _LOCK)
    lock.acquire(blocking=False)
    _held.append(lock)
    return folder


# Locks end when their files are closed, with the process at the latest.
_held: list[FileLock] = []


def _clear_leftovers(place: Path) -> None:
    for folder in place.glob(f"{_PREFIX}*"):
        lock = FileLock(folder / _LOCK)
        with contextlib.suppress(OSError, Timeout):
            # One without a lock is only being made.
            if not is_mine_alone(folder) or not (folder / _LOCK).is_file():
                continue
            with lock.acquire(blocking=False):
                shutil.rmtree(folder, ignore_errors=True)
            # Where a file that is open cannot be removed, the lock's own is still there.
            shutil.rmtree(folder, ignore_errors=True)
