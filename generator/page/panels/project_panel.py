"""The project: saved and opened, a weave of one's own, and everything in one file."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress
from ringwright.page.files.command_lines import TOPICS, command_for
from ringwright.page.files.project_file import (
    FILE,
    MOST_BYTES,
    project_from_text,
    project_text,
)
from ringwright.page.files.run_command import Command
from ringwright.page.files.tab_folders import Made, Run
from ringwright.page.files.zip_file import README, readme, zipped
from ringwright.page.panels.sharing import Sharing
from ringwright.page.session import Session
from ringwright.page.widgets.elements import button, heading, words
from ringwright.page.widgets.make_files_row import MakeFilesRow
from ringwright.page.widgets.open_file_button import file_pick
from ringwright.weaves.reading.keys import MOST_BYTES as MOST_RULE_BYTES

_TOPIC = "bundle"
_NOTHING = "Nothing is chosen for the bundle: tick something above."
# A larger bundle would take more memory than a page should.
_MOST_BUNDLE_BYTES = 300_000_000
_TOO_MUCH = "All this together is too much for one bundle: leave something out, such as the model."


def build(session: Session) -> None:
    """Sharing, saving and opening, and the bundle."""
    Sharing(session)
    heading("Project").classes("next")
    words(
        "Everything chosen on this page, in one small text file: weave, ring, what is kept to "
        "compare, shop, printer and jigs."
    ).classes("hint")
    _Keeping(session)
    with ui.element("fieldset").classes("group"):
        words("What goes into the bundle", "legend")
        with ui.element("div").classes("ticks"):
            for topic, title in TOPICS.items():
                _tick(session, topic, title)
    _Bundle(
        *(session, _TOPIC, "Bundle"),
        "One zip file with everything ticked, the project, and a README that says what each file "
        "is for, with the command lines that make it all again. Files that are made already are "
        "not made again.",
        "Make it",
        partial(_bundle_command, session),
    )


class _Keeping:
    """Save, open, and a weave of one's own; and a line that says how it went."""

    def __init__(self, session: Session) -> None:
        self._session = session
        with ui.element("div").classes("row wrap"):
            button("Save project", self._save, kind="main")
            file_pick("Open project", MOST_BYTES, self._open, self._complain)
            file_pick("Open a weave of my own", MOST_RULE_BYTES, self._open_rule, self._complain)
        self._said = words("").classes("said").props("role=status")

    def _save(self) -> None:
        with self._session.layout:
            ui.download.content(project_text(self._session.now), FILE, "application/toml")
        self._say("The project is saved where your browser keeps downloads.")

    def _open(self, text: str, name: str) -> None:
        try:
            project = project_from_text(text, name)
        except BadInput as trouble:
            self._complain(f"Not opened: {trouble}")
            return
        self._session.open(project, f"{name} opened")
        self._say(f"The project is open: {project.wanted.weave}.")

    def _open_rule(self, text: str, _: str) -> None:
        try:
            rule = self._session.put_rule(text)
        except BadInput as trouble:
            self._complain(f"Not opened: {trouble}")
            return
        self._say(f"The weave is open: {rule.name}.")

    def _complain(self, trouble: str) -> None:
        self._say(trouble, wrong=True)

    def _say(self, text: str, *, wrong: bool = False) -> None:
        self._said.set_text(text)
        self._said.classes(add="wrong" if wrong else "", remove="" if wrong else "wrong")


def _tick(session: Session, topic: str, title: str) -> None:
    """Whether something goes into the bundle."""
    with ui.element("label").classes("tick"):
        box = ui.element("input").props("type=checkbox")
        words(title, "span")

    def put(checked: bool) -> None:
        kept = {one for one in session.settings.bundle if one != topic} | (
            {topic} if checked else set()
        )
        bundle = tuple(one for one in TOPICS if one in kept)
        session.set(replace(session.settings, bundle=bundle))

    def refresh() -> None:
        checked = topic in session.settings.bundle
        if box.props.get("checked") != checked:
            box.props["checked"] = checked
            box.update()

    box.on(
        "change",
        lambda event: put(bool(event.args)),
        js_handler="(event) => emit(event.target.checked)",
    )
    session.on_settings.listen(refresh)
    refresh()


def _commands(session: Session) -> dict[str, Command]:
    chosen = session.chosen()
    return {
        topic: command_for(topic, chosen) for topic in TOPICS if topic in session.settings.bundle
    }


def _bundle_command(session: Session) -> Command:
    """All commands as one, to tell whether a bundle is of what is chosen now."""
    commands = _commands(session)
    if not commands:
        raise BadInput(_NOTHING)
    lines = tuple(command.line() for command in commands.values())
    return Command(lines, {FILE: project_text(session.now)})


class _Bundle(MakeFilesRow):
    """A row that has several commands run, and their files put into one."""

    def said_line(self, command: Command) -> str:
        """All of the command lines."""
        return "\n".join(command.arguments)

    async def made(self, command: Command, on_progress: Progress) -> Run:
        """Run all commands and zip what they wrote."""
        session = self.session
        commands, wanted = _commands(session), session.wanted
        name = f"{session.chosen().slug}-bundle.zip"
        title = f"{wanted.weave}, wire {wanted.wire}, inner diameter {wanted.inner}"
        files = dict(command.reads)
        for one in commands.values():
            files |= one.reads
        made: list[Made] = []
        topics: dict[str, str] = {}
        for place, (topic, one) in enumerate(commands.items(), start=1):
            self.now = topic
            run = await session.room.make(topic, one, _said_with(on_progress, place, commands))
            made += run.files
            topics |= dict.fromkeys((file.name for file in run.files), topic)
        if sum(file.size for file in made) > _MOST_BUNDLE_BYTES:
            raise BadInput(_TOO_MUCH)
        files[README] = readme(title, commands, topics)
        texts = {path: text.encode() for path, text in files.items()}
        data = await asyncio.to_thread(_packed, texts, made)
        return session.room.put(self.topic, command, {name: data})

    def give_up(self) -> None:
        """End the command that is at work."""
        self.session.room.give_up(self.now)


def _packed(texts: dict[str, bytes], made: Sequence[Made]) -> bytes:
    return zipped(texts | {file.name: file.path.read_bytes() for file in made})


def _said_with(on_progress: Progress, place: int, commands: dict[str, Command]) -> Progress:
    """Progress that also says which of the files it is about."""
    topic = list(commands)[place - 1]

    def told(what: str, done: int, of: int) -> None:
        on_progress(f"{place} of {len(commands)}, {TOPICS[topic].lower()}: {what}", done, of)

    return told
