"""A folder of this process that nobody else can look into, and that does not outlive it."""

from __future__ import annotations

import contextlib
import os
import shutil
import stat
import tempfile
from pathlib import Path

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
    _held.append(os.open(folder / _LOCK, os.O_RDWR | os.O_CREAT, 0o600))
    _is_free(_held[-1])
    return folder


# Locks end when their files are closed, with the process at the latest.
_held: list[int] = []


def _clear_leftovers(place: Path) -> None:
    for folder in place.glob(f"{_PREFIX}*"):
        with contextlib.suppress(OSError):
            if not _is_ours(folder):
                continue
            handle = os.open(folder / _LOCK, os.O_RDWR | getattr(os, "O_NOFOLLOW", 0))
            try:
                if _is_free(handle):
                    shutil.rmtree(folder, ignore_errors=True)
            finally:
                os.close(handle)


def _is_ours(folder: Path) -> bool:
    found = folder.lstat()
    private = stat.S_ISDIR(found.st_mode) and stat.S_IMODE(found.st_mode) == 0o700
    return private and os.name == "posix" and found.st_uid == os.getuid()


def _is_free(handle: int) -> bool:
    """Whether nobody holds the lock, which is then held."""
    if os.name != "posix":
        return False
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
