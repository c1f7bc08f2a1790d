"""Something to have made: a button, how far it is, the files, and the command line for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from nicegui import ui
from nicegui.element import Element
from nicegui.elements.mixins.text_element import TextElement

from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress
from ringwright.page.files.run_command import Command
from ringwright.page.files.tab_folders import Made, Run
from ringwright.page.files.zip_file import meaning
from ringwright.page.serving.jobs import Superseded
from ringwright.page.session import Session
from ringwright.page.widgets.elements import button, heading, words

_COPY = """(event) => {
  const code = event.currentTarget.parentElement.querySelector('code');
  const told = () => emit();
  if (navigator.clipboard) navigator.clipboard.writeText(code.textContent).then(told);
  else { getSelection().selectAllChildren(code); }
}"""
_EARLIER = "These files were made for an earlier choice."


class MakeFilesRow:
    """A row of the page that has files made.

    While it is at work it says how far it is and can be ended; the page goes on.

    Parameters
    ----------
    topic : of which one is made at a time
    title, about : what it is, in a heading and in a sentence
    press : the words on the button
    command : what is run; may raise BadInput
    look : shows what was made, besides its files
    """

    def __init__(
        self,
        session: Session,
        topic: str,
        title: str,
        about: str,
        press: str,
        command: Callable[[], Command],
        look: Callable[[Run], object] = lambda run: None,
    ) -> None:
        """Lay out the row."""
        self.session, self.topic, self._command = session, topic, command
        self._look = look
        self._run: Run | None = None
        with ui.element("section").classes("task") as self.row:
            with ui.element("div").classes("what"):
                heading(title, 3)
                words(about).classes("hint")
            with ui.element("div").classes("row"):
                self._press = button(press, self.begin, kind="main")
                self._press.props["aria-label"] = f"{press}: {title}"
                self._cancel = button("Cancel", self.give_up)
                self._cancel.props["aria-label"] = f"Cancel: {title}"
            self._bar = ui.element("progress").props(f"aria-label={_quoted(title + ', done')}")
            self._said = words("").classes("said").props("role=status")
            self._files = ui.element("div").classes("outcome")
            self._line = _CommandLine(title)
        self._at_work(False)
        session.on_wanted.listen(self.refresh)
        session.on_settings.listen(self.refresh)
        session.on_shop.listen(self.refresh)
        self._show(session.room.made(topic))
        self.refresh()
        if topic in session.room.unfinished:
            # The page was loaded anew while they were being made.
            self.begin()

    def refresh(self) -> None:
        """Show the command line for what is chosen now, and whether the files are of it."""
        try:
            now = self._command()
        except BadInput as trouble:
            self._line.put("")
            self._said.set_text(str(trouble))
            return
        self._line.put(self.said_line(now))
        if not self._cancel.visible:
            old = self._run is not None and self._run.command != now
            self._said.set_text(_EARLIER if old else "")

    def begin(self) -> None:
        """Have the files made."""
        try:
            command = self._command()
        except BadInput as trouble:
            self._say(str(trouble), wrong=True)
            return
        self._at_work(True)
        self._say("Waiting for its turn" if self.session.room.must_wait else "Beginning")
        self.session.begin(self._make(command))

    async def made(self, command: Command, on_progress: Progress) -> Run:
        """What comes of a command; raises as :meth:`TabFolder.make` does."""
        return await self.session.room.make(self.topic, command, on_progress)

    def give_up(self) -> None:
        """End what is at work."""
        self.session.room.give_up(self.topic)

    def said_line(self, command: Command) -> str:
        """The command line as it is shown."""
        return command.line()

    async def _make(self, command: Command) -> None:
        try:
            run = await self.made(command, self._step)
        except BadInput as trouble:
            self._show(None)
            self._say(str(trouble), wrong=True)
        except Superseded:
            self._say("Cancelled; nothing was written.")
        else:
            self._show(run)
            many = f"{len(run.files)} files." if len(run.files) > 1 else "One file."
            self._say(f"{many} {run.remark}".strip())
        self._at_work(False)

    def _step(self, what: str, done: int, of: int) -> None:
        self._bar.props["max"], self._bar.props["value"] = max(of, 1), done
        self._bar.update()
        self._say(f"{what.capitalize()}: {done} of {of}")

    def _at_work(self, at_work: bool) -> None:
        self._press.set_visibility(not at_work)
        self._cancel.set_visibility(at_work)
        self._bar.set_visibility(at_work)
        self._bar.props.pop("value", None)
        self._bar.update()

    def _say(self, text: str, *, wrong: bool = False) -> None:
        self._said.set_text(text)
        self._said.classes(add="wrong" if wrong else "", remove="" if wrong else "wrong")

    def _show(self, run: Run | None) -> None:
        self._run = run
        self._files.clear()
        if run is not None:
            with self._files:
                self._look(run)
                file_table("Files", run.files)


def file_table(caption: str, files: Sequence[Made]) -> Element:
    """Files with what they are for, how large they are, and a link to fetch each."""
    with ui.element("table").classes("files") as made:
        words(caption, "caption")
        with ui.element("thead"), ui.element("tr"):
            for header in ("File", "For", "Size", "Download"):
                words(header, "th").props("scope=col")
        with ui.element("tbody"):
            for file in files:
                with ui.element("tr"):
                    words(file.file_name, "th").props("scope=row")
                    words(meaning(file.file_name), "td").classes("for")
                    words(said_size(file.size), "td")
                    with ui.element("td"):
                        download(file)
    return made


def download(file: Made, text: str = "Download") -> Element:
    """A link that fetches a file."""
    with ui.element("a").classes("push") as link:
        words(text, "span")
    link.props["href"], link.props["download"] = file.address, file.file_name
    link.props["aria-label"] = f"{text} {file.file_name}"
    return link


def said_size(size: int) -> str:
    """A number of bytes as one would say it."""
    for unit, bytes_ in (("MB", 1_000_000), ("kB", 1_000)):
        if size >= bytes_:
            return f"{size / bytes_:.{1 if size < 10 * bytes_ else 0}f} {unit}"
    return f"{size} bytes"


class _CommandLine:
    """The command line that makes the same files, with a button that copies it."""

    def __init__(self, title: str) -> None:
        with ui.element("div").classes("line") as self._row:
            self._code = words("", "code").props("tabindex=0 role=group")
            self._code.props["aria-label"] = f"Command line of: {title}"
            copy = button("Copy", lambda: None, kind="quiet")
            copy.props["aria-label"] = f"Copy the command line of: {title}"
            (self._word,) = (one for one in copy if isinstance(one, TextElement))
            copy.on("click", self._copied, js_handler=_COPY)

    def put(self, line: str) -> None:
        """Show another one."""
        self._row.set_visibility(bool(line))
        self._code.set_text(line)
        self._word.set_text("Copy")

    def _copied(self, _: object) -> None:
        self._word.set_text("Copied")


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "") + "'"
