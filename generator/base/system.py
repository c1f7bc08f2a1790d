"""What differs from one operating system to another: the only module that asks which it is."""

from __future__ import annotations

import contextlib
import errno
import os
import shlex
import signal
import socket
import stat
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TextIO, TypedDict

WINDOWS = os.name == "nt"


def open_without_waiting(path: str, flags: int) -> int:
    """An opener for files of strangers: a pipe that nobody writes to would wait for ever."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def flush_file(path: Path) -> None:
    """Bring a written file to the disk; it must be one that may still be written.

    Raises
    ------
    OSError
        When the disk does not take it.
    """
    # Windows flushes only what is open for writing.
    with open(path, "r+b") as file:
        os.fsync(file.fileno())


def flush_folder(folder: Path) -> None:
    """Bring a folder's list of names to the disk; some disks, and Windows, do not offer it."""
    if WINDOWS:
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


class _Apart(TypedDict, total=False):
    creationflags: int
    start_new_session: bool


def apart() -> _Apart:
    """Arguments of a new process that Ctrl-C in this terminal is not to reach."""
    if WINDOWS:
        # The flag's number, for systems whose library does not name it.
        return {"creationflags": getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0x200)}
    return {"start_new_session": True}


@contextlib.contextmanager
def interrupts_held() -> Iterator[None]:
    """Hold Ctrl-C back; a process that is started meanwhile never gets it.

    Windows has no such thing: there a process that is just starting may print that it was stopped.
    """
    mask = getattr(signal, "pthread_sigmask", None)
    if mask is None:
        yield
        return
    before = mask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        mask(signal.SIG_SETMASK, before)


def end_tree(pid: int) -> None:
    """End a process and all that it has started, at once."""
    import psutil

    with contextlib.suppress(psutil.Error):
        process = psutil.Process(pid)
        started = process.children(recursive=True)
        for one in (process, *started):
            with contextlib.suppress(psutil.Error):
                one.kill()


def give_way(pid: int | None = None) -> None:
    """Have a process, or this one, go after others where cores are short."""
    import psutil

    lower = getattr(psutil, "BELOW_NORMAL_PRIORITY_CLASS", 5) if WINDOWS else 5
    with contextlib.suppress(psutil.Error, OSError):
        psutil.Process(pid).nice(lower)


def is_mine_alone(folder: Path) -> bool:
    """Whether a folder is this user's, and nobody else may look into it.

    On Windows a user's folder for temporary files is closed to others as a whole.
    """
    found = folder.lstat()
    if WINDOWS or not stat.S_ISDIR(found.st_mode):
        return stat.S_ISDIR(found.st_mode)
    return stat.S_IMODE(found.st_mode) == 0o700 and found.st_uid == os.getuid()


def typed(arguments: Sequence[str]) -> str:
    """A command line as it is typed on this system."""
    return subprocess.list2cmdline(arguments) if WINDOWS else shlex.join(arguments)


def is_closed_pipe(error: OSError) -> bool:
    """Whether what was printed to, such as ``head``, has seen enough and gone."""
    # Windows calls it an invalid argument.
    return isinstance(error, BrokenPipeError) or (WINDOWS and error.errno == errno.EINVAL)


def print_any_letter(stream: TextIO) -> None:
    """Have a stream take every letter: one that it cannot show comes as a question mark.

    What is not a terminal gets UTF-8 on Windows too, where it would get the letters of one region.
    """
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        encoding = "utf-8" if WINDOWS and not stream.isatty() else None
        reconfigure(encoding=encoding, errors="replace")


def bind_alone(listening: socket.socket, place: tuple[str, int]) -> None:
    """Bind a socket to a place that is free, also one that a server has just left.

    Raises
    ------
    OSError
        When another program is there.
    """
    if WINDOWS:
        # What is called reuse there lets a second program listen at the same place.
        listening.setsockopt(socket.SOL_SOCKET, getattr(socket, "SO_EXCLUSIVEADDRUSE", -5), 1)
    else:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listening.bind(place)


def kind() -> str:
    """``windows``, ``mac`` or ``linux``, which stands for every other system too."""
    if WINDOWS:
        return "windows"
    return "mac" if sys.platform == "darwin" else "linux"
