"""Where the page's files are made: in a private folder for each tab.

What a browser sends is never a name of a file. A file is fetched under a name that cannot be
guessed, which only the tab that had it made knows.
"""

from __future__ import annotations

import asyncio
import contextlib
import secrets
import shutil
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from fastapi import FastAPI
from fastapi.responses import FileResponse, PlainTextResponse, Response

from ringwright.base.errors import BadInput
from ringwright.base.files import cannot_write
from ringwright.base.progress import Progress
from ringwright.page.files.private_folder import private_folder
from ringwright.page.files.run_command import Command, run
from ringwright.page.files.works import KeptRun
from ringwright.page.serving.jobs import Slow

PLACE = "/made"
_KINDS = {
    ".stl": "model/stl",
    ".3mf": "model/3mf",
    ".step": "model/step",
    ".glb": "model/gltf-binary",
    ".png": "image/png",
    ".pdf": "application/pdf",
    ".svg": "image/svg+xml",
    ".dxf": "image/vnd.dxf",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".toml": "application/toml",
    ".txt": "text/plain; charset=utf-8",
    ".zip": "application/zip",
}
_GONE = "This file is gone: make it again on the page.\n"


@dataclass(frozen=True)
class Made:
    """A file that was made.

    Attributes
    ----------
    name : below the folder of its command, as ``jigs/ring-gauge.step``
    address : where the page's browser can fetch it
    """

    name: str
    path: Path
    size: int
    address: str

    @property
    def file_name(self) -> str:
        """Its name alone."""
        return self.path.name


@dataclass(frozen=True)
class Run:
    """A command that was run, and the files that came of it."""

    command: Command
    folder: Path
    files: tuple[Made, ...]
    remark: str = ""

    def file(self, ending: str) -> Made | None:
        """The first file whose name ends so."""
        return next((one for one in self.files if one.name.endswith(ending)), None)


class TabFolders:
    """The rooms of all tabs, and the way to their files."""

    def __init__(self, errands: Slow) -> None:
        """Begin without a folder; the first room has it made."""
        self.errands = errands
        self._root: Path | None = None
        self._made: dict[str, Made] = {}

    def serve(self, app: FastAPI) -> None:
        """Have the files served."""

        @app.get(PLACE + "/{key}/{name}")
        def made(key: str, name: str) -> Response:
            return self.answer(key, name)

    def answer(self, key: str, name: str) -> Response:
        """The file of that key, under its own name and no other."""
        file = self._made.get(key)
        if file is None or file.file_name != name or not file.path.is_file():
            return PlainTextResponse(_GONE, 404)
        return FileResponse(
            file.path,
            media_type=_KINDS.get(file.path.suffix, "application/octet-stream"),
            filename=file.file_name,
            headers={"cache-control": "no-store"},
        )

    def offer(self, path: Path, folder: Path) -> Made:
        """Have a file served under a new key."""
        key = secrets.token_urlsafe(24)
        made = Made(
            path.relative_to(folder).as_posix(),
            path,
            path.stat().st_size,
            f"{PLACE}/{key}/{path.name}",
        )
        self._made[key] = made
        return made

    def withdraw(self, files: tuple[Made, ...]) -> None:
        """Serve files no longer."""
        gone = {file.address for file in files}
        self._made = {key: one for key, one in self._made.items() if one.address not in gone}

    def new_folder(self, place: Path | None = None) -> Path:
        """A folder that only this user can look into, below ``place`` where there is one."""
        try:
            if place is not None:
                place.mkdir(mode=0o700, parents=True, exist_ok=True)
                return Path(tempfile.mkdtemp(dir=place))
            if self._root is None:
                self._root = private_folder()
            return Path(tempfile.mkdtemp(dir=self._root))
        except OSError as error:
            raise cannot_write(self._root or Path(tempfile.gettempdir()), error) from error

    async def close(self) -> None:
        """End what is at work, and remove all that was made."""
        await self.errands.close()
        self._made.clear()
        if self._root is not None:
            shutil.rmtree(self._root, ignore_errors=True)


class TabFolder:
    """One tab's files: of each topic those of the last command that was run for it.

    They go with the tab, unless the tab is given a folder in which they are kept.
    """

    def __init__(self, rooms: TabFolders, client: str) -> None:
        """Begin with nothing made; ``on_change`` is called once there are other files."""
        self._rooms, self._client = rooms, client
        self.on_change: Callable[[], object] = lambda: None
        self._runs: dict[str, Run] = {}
        self._place: Path | None = None
        # Topics that are being made, or were when the tab was closed.
        self.unfinished: tuple[str, ...] = ()

    def keep_in(
        self, place: Path, runs: Mapping[str, KeptRun], unfinished: Sequence[str] = ()
    ) -> None:
        """Keep files below a folder, and go on with those that are there."""
        self._place, self.unfinished = place, tuple(unfinished)
        for topic, kept in runs.items():
            folder = place / Path(kept.folder).name
            if folder.is_dir() and not folder.is_symlink():
                with contextlib.suppress(BadInput):
                    command = Command(kept.arguments, kept.reads)
                    self._keep(topic, command, folder, kept.remark)

    def kept(self) -> dict[str, KeptRun]:
        """What there is to keep of the files, by topic."""
        return {
            topic: KeptRun(run.command.arguments, run.command.reads, run.folder.name, run.remark)
            for topic, run in self._runs.items()
        }

    def made(self, topic: str) -> Run | None:
        """What was made last of a topic."""
        return self._runs.get(topic)

    @property
    def must_wait(self) -> bool:
        """Whether a command that is to be run now waits for others."""
        return self._rooms.errands.is_full

    async def make(self, topic: str, command: Command, on_progress: Progress) -> Run:
        """Run a command, unless its files are there already.

        Raises
        ------
        BadInput
            When it failed; with what it said.
        Superseded
            When it was given up, or a newer one of the topic took its place.
        """
        known = self._runs.get(topic)
        if known is not None and known.command == command:
            return known
        folder = self._rooms.new_folder(self._place)
        self._begun(topic)
        try:
            remark = await self._rooms.errands.do(
                self._client, topic, lambda: run(command, folder, on_progress)
            )
            made = self._keep(topic, command, folder, remark)
        except asyncio.CancelledError:
            # The tab was closed; it may be opened again.
            shutil.rmtree(folder, ignore_errors=True)
            raise
        except BaseException:
            shutil.rmtree(folder, ignore_errors=True)
            self._ended(topic)
            raise
        self._ended(topic)
        return made

    def _begun(self, topic: str) -> None:
        self.unfinished = tuple(dict.fromkeys((*self.unfinished, topic)))
        self.on_change()

    def _ended(self, topic: str) -> None:
        self.unfinished = tuple(one for one in self.unfinished if one != topic)
        self.on_change()

    def put(self, topic: str, command: Command, files: Mapping[str, bytes]) -> Run:
        """Keep files that were made without a command of their own; ``command`` says of what."""
        folder = self._rooms.new_folder(self._place)
        try:
            for name, data in files.items():
                (folder / name).write_bytes(data)
        except OSError as error:
            shutil.rmtree(folder, ignore_errors=True)
            raise cannot_write(folder, error) from error
        made = self._keep(topic, command, folder)
        self._ended(topic)
        return made

    def give_up(self, topic: str) -> None:
        """End the command that is at work for a topic."""
        self._rooms.errands.give_up(self._client, topic)

    def close(self) -> None:
        """End what is at work, and remove all that was made and is not kept."""
        self._rooms.errands.forget(self._client)
        if self._place is None:
            for topic in list(self._runs):
                self._forget(topic)
        for made in self._runs.values():
            self._rooms.withdraw(made.files)

    def _keep(self, topic: str, command: Command, folder: Path, remark: str = "") -> Run:
        self._forget(topic)
        names = sorted(path for path in folder.rglob("*") if path.is_file())
        files = tuple(
            self._rooms.offer(path, folder)
            for path in names
            if path.relative_to(folder).as_posix() not in command.reads
        )
        if not files:
            raise BadInput("The command wrote no files.")
        self._runs[topic] = kept = Run(command, folder, files, remark)
        return kept

    def _forget(self, topic: str) -> None:
        run = self._runs.pop(topic, None)
        if run is not None:
            self._rooms.withdraw(run.files)
            shutil.rmtree(run.folder, ignore_errors=True)
