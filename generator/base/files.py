"""Writing several files so that either all of them appear, whole, or none does; opening one."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import shutil
import stat
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType

from ringwright.base.errors import BadInput, NotWritten
from ringwright.base.system import flush_file, flush_folder
from ringwright.base.wording import quoted_path

_FULL = frozenset({errno.ENOSPC, errno.EFBIG, errno.EDQUOT})
_REASONS = {
    errno.EACCES: "permission is denied; allow writing there or choose another place",
    errno.EPERM: "permission is denied; allow writing there or choose another place",
    errno.EROFS: "that disk can only be read; choose another place",
    errno.EISDIR: "a folder of that name is in the way; choose another name",
    errno.ENOTDIR: "a part of that path is a file, not a folder; choose another place",
    errno.EEXIST: "a part of that path is a file, not a folder; choose another place",
    errno.ENAMETOOLONG: "the name is too long for that disk; choose a shorter name",
    errno.ENOENT: "no files can be made there; choose another place",
    errno.ELOOP: "that path is a link that leads back to itself; choose another place",
    errno.EINVAL: "that disk does not take such a name; choose another name",
}


def cannot_write(path: Path, error: OSError) -> NotWritten:
    """The sentence for a file that could not be written: which, why and what to do."""
    if error.errno in _FULL:
        return NotWritten(
            f"{quoted_path(path)} could not be written because the disk or the quota is full; free "
            "some room there or choose another place."
        )
    reason = _REASONS.get(error.errno or 0)
    if reason is None:
        reason = f"{error.strerror or error}; choose another place"
    return NotWritten(f"{quoted_path(path)} could not be written: {reason}.")


@dataclass
class _File:
    """One file of a batch: written at ``hidden``, wanted at ``target``."""

    target: Path
    hidden: Path
    # A second name of the file that was there before, while it is being replaced.
    backup: Path | None = None
    placed: bool = False


@dataclass
class WholeFiles:
    """A batch of files in one folder, of which all appear at once or none.

    Every file is first written under a hidden name in the same folder and
    flushed to the disk. When the ``with`` block ends well, the files take their names,
    each replacing an older file in one step. When anything fails, an interrupt
    included, hidden files are removed, older files are as they were, and folders
    that were made for the batch are gone::

        with WholeFiles(folder) as batch:
            write_stl(piece, batch.new("piece.stl"))
            write_glb(piece, batch.new("piece.glb"))

    Folders that are missing are made. A new file gets the usual permissions; one that
    replaces another keeps the other's.

    Raises
    ------
    NotWritten
        On entry, from :meth:`new` and on leaving, when the folder or a file cannot be
        written: one sentence that names it. An ``OSError`` of the block about a full disk or
        about one of the batch's files becomes such a sentence too; other exceptions
        pass as they are.
    """

    folder: Path
    _files: dict[str, _File] = field(default_factory=dict, init=False)
    _made: list[Path] = field(default_factory=list, init=False)

    def __enter__(self) -> WholeFiles:
        self.folder = Path(self.folder)
        try:
            self._make_folders()
        except OSError as error:
            self._undo()
            raise cannot_write(self.folder, error) from error
        except BaseException:
            self._undo()
            raise
        return self

    def new(self, name: str) -> Path:
        """The hidden path at which to write the file that is to be called ``name``.

        An empty file is there already; write over it. The hidden name ends as ``name`` does.
        """
        if not name or name in (".", "..") or Path(name).name != name or name in self._files:
            raise ValueError(f"not a new file name: {name!r}")
        target = self.folder / name
        try:
            with contextlib.suppress(FileNotFoundError):
                _refuse_special(target)
            hidden = self.folder / f".ringwright-{secrets.token_hex(8)}{target.suffix}"
            # Known to the batch before it exists, so that no interrupt can leave it behind.
            self._files[name] = _File(target, hidden)
            os.close(os.open(hidden, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
        except (OSError, ValueError) as error:
            self._files.pop(name, None)
            if isinstance(error, ValueError):
                error = OSError(errno.EINVAL, str(error))
            raise cannot_write(target, error) from error
        return hidden

    def drop(self, name: str) -> None:
        """Leave a file out again; an older file of that name stays as it is."""
        _remove(self._files.pop(name).hidden)

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if error is None:
            self._commit()
            return
        blamed = self._blamed(error)
        self._undo()
        if blamed is not None and isinstance(error, OSError):
            raise cannot_write(blamed, error) from error

    def _make_folders(self) -> None:
        missing = []
        here = self.folder
        while not here.exists():
            missing.append(here)
            here = here.parent
        if not here.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(here))
        for folder in reversed(missing):
            # Another program may make the same folder meanwhile; then it is not ours to remove.
            with contextlib.suppress(FileExistsError):
                folder.mkdir()
                self._made.append(folder)

    def _blamed(self, error: BaseException) -> Path | None:
        """The file, under its final name, that an error of the block is about."""
        if not isinstance(error, OSError):
            return None
        for file in self._files.values():
            if error.filename is not None and str(error.filename) == str(file.hidden):
                return file.target
        if error.errno in _FULL:
            # The file begun last is the one that was being written.
            return next((f.target for f in reversed(self._files.values())), self.folder)
        return None

    def _commit(self) -> None:
        """Flush all files, then give them their names; on failure put everything back."""
        file = None
        try:
            for file in self._files.values():
                _finish(file)
            for file in self._files.values():
                _place(file)
            flush_folder(self.folder)
        except BaseException as error:
            self._undo()
            if isinstance(error, OSError):
                raise cannot_write(file.target if file else self.folder, error) from error
            raise
        for file in self._files.values():
            if file.backup is not None:
                _remove(file.backup)

    def _undo(self) -> None:
        for file in reversed(self._files.values()):
            if file.placed and not _put_back(file):
                # The disk refuses even this; the backup is all that is left of the older file.
                continue
            if file.backup is not None:
                _remove(file.backup)
            _remove(file.hidden)
        for folder in reversed(self._made):
            # Not empty when something else was put there meanwhile; that stays.
            with contextlib.suppress(OSError):
                folder.rmdir()


def write_new(path: Path, text: str) -> None:
    """Write a file of a name that is still free, whole or not at all.

    Raises
    ------
    BadInput
        When there is something of that name already, which stays as it is.
    NotWritten
        When the file cannot be written.
    """
    taken = BadInput(
        f"{quoted_path(path)} exists already and is left as it is; choose another name, or "
        "move it away."
    )
    if os.path.lexists(path):
        raise taken
    with WholeFiles(path.parent) as batch:
        batch.new(path.name).write_text(text, encoding="utf-8", newline="\n")
        # Between the first look and here another program may have made it.
        if os.path.lexists(path):
            raise taken


def _refuse_special(target: Path) -> None:
    """Only a plain file, or a link to one, may be replaced."""
    mode = target.stat().st_mode
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
    if not stat.S_ISREG(mode):
        raise OSError(errno.EPERM, os.strerror(errno.EPERM), str(target))


def _finish(file: _File) -> None:
    """Bring a written file to the disk, and give it the mode of the one it replaces."""
    # In this order: where the older file may only be read, so may the new one from now on.
    flush_file(file.hidden)
    with contextlib.suppress(FileNotFoundError):
        os.chmod(file.hidden, stat.S_IMODE(file.target.stat().st_mode))


def _place(file: _File) -> None:
    """Let a finished file take its name, keeping what was there until all have theirs."""
    if os.path.lexists(file.target):
        file.backup = file.hidden.with_name(f"{file.hidden.name}.old")
        try:
            os.link(file.target, file.backup, follow_symlinks=False)
        except (OSError, NotImplementedError):
            # Some disks and systems know no second names; a copy does as well.
            shutil.copy2(file.target, file.backup, follow_symlinks=False)
    # Set first: put back after an interrupt between the two lines, nothing is lost.
    file.placed = True
    os.replace(file.hidden, file.target)


def _put_back(file: _File) -> bool:
    """Whether the target is again what it was before the batch."""
    if os.path.lexists(file.hidden):
        # The new file never took its name; what was there is still there.
        return True
    try:
        if file.backup is None:
            file.target.unlink()
        else:
            os.replace(file.backup, file.target)
    except OSError:
        return False
    return True


def _remove(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.unlink()
