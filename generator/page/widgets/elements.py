"""The page's own few elements: plain HTML, so that keyboards and screen readers know them."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from nicegui import ui
from nicegui.element import Element
from nicegui.elements.mixins.text_element import TextElement

# What the browser sends of a change: the value alone.
VALUE = "(event) => emit(event.target.value)"


def button(text: str, on_press: Callable[[], object], *, kind: str = "") -> Element:
    """A button; ``kind`` is ``main`` or ``quiet``."""
    made = ui.element("button").props("type=button").classes(f"push {kind}".strip())
    with made:
        words(text, "span")
    made.on("click", lambda _: on_press())
    return made


def focus(element: Element) -> None:
    """Have the keyboard go on from an element, where the one it was at is taken away."""
    with element:
        ui.run_javascript(f"getHtmlElement({element.id})?.focus()")


def heading(text: str, level: int = 2) -> TextElement:
    """A heading."""
    return words(text, f"h{level}")


def words(text: str, tag: str = "p") -> TextElement:
    """A paragraph, or other text; other text is put into it with ``set_text``."""
    return TextElement(tag=tag, text=text)


def _labelled(control: Element, label: str) -> Element:
    """Put a label before a control, which it names; returns the label."""
    name = f"c{control.id}"
    control.props["id"] = name
    with ui.element("label").props(f"for={name}") as tag:
        words(label, "span")
    tag.move(target_index=0)
    return tag


class Typed(Element, component="typed.js"):
    """A field that keeps what is being typed while other parts of the page change.

    It has one line, or with the prop ``tall`` several.
    """


class Field:
    """A labelled input, with room for what is wrong with it."""

    def __init__(
        self,
        label: str,
        value: str,
        on_change: Callable[[str], object],
        *,
        hint: str = "",
        kind: str = "text",
        complete: Callable[[str], str] | None = None,
        **attributes: object,
    ) -> None:
        """An input whose changes are told when the maker leaves it or presses Enter.

        Parameters
        ----------
        complete : gives what was typed the unit that it lacks, which the field then says
        """
        with ui.element("div").classes("field") as self.field:
            self.input = Typed()
            _labelled(self.input, label)
            self.input.props["type"] = kind
            self.input.props["value"] = value
            for key, one in attributes.items():
                self.input.props[key.replace("_", "-")] = one
            self._note = words(hint).classes("hint")
            self._note.props["id"] = f"{self.input.props['id']}-note"
            self.input.props["aria-describedby"] = self._note.props["id"]
        self._hint, self._complaint = hint, ""
        self._read, self._read_as = "", ""

        def changed(event: Any) -> None:
            text = str(event.args)
            whole = text if complete is None else complete(text)
            if whole != text.strip():
                self._read, self._read_as = whole, f"Read as {whole}: the page is set to this unit."
                self.input.props["value"] = whole
                self.input.update()
                # It may have been so before, which the browser was not told to show again.
                self.input.run_method("take", whole)
                self._note.set_text(self._read_as)
            else:
                self._read_as = ""
            on_change(whole)

        self.input.on("change", changed, js_handler=VALUE)

    def put(self, value: str) -> None:
        """Show another value."""
        if value != self._read:
            self._read_as = ""
        if self.input.props["value"] != value:
            self.input.props["value"] = value
            self.input.update()

    def complain(self, trouble: str, hint: str | None = None) -> None:
        """Say what is wrong; nothing when all is well, or another hint than before."""
        hint = self._hint if hint is None else hint
        if self._read_as and not trouble:
            hint = self._read_as
        if (trouble, hint) == (self._complaint, self._hint):
            return
        self._complaint, self._hint = trouble, hint
        self._note.set_text(trouble or self._hint)
        self._note.classes(add="wrong" if trouble else "", remove="" if trouble else "wrong")
        self.input.props["aria-invalid"] = "true" if trouble else "false"
        self.input.update()


class _Slide(Element, component="slide.js"):
    """An input of the kind range."""


class Slider:
    """A labelled slider that tells every step while it is dragged."""

    def __init__(
        self,
        label: str,
        low: float,
        high: float,
        step: float,
        value: float,
        on_drag: Callable[[float], object],
        shown: Callable[[float], str],
        *,
        throttle_s: float = 0.05,
    ) -> None:
        """``shown`` says a value in words, for the label and for screen readers."""
        self._shown = shown
        with ui.element("div").classes("field") as self.field:
            self.input = _Slide()
            with _labelled(self.input, label):
                self._said = words(shown(value), "output")
            self.bounds(low, high, step)
            self.put(value)

        heard = itertools.count(1)

        def dragged(event: Any) -> None:
            now = float(event.args)
            self.input.props["heard"] = next(heard)
            self.put(now)
            on_drag(now)

        self.input.on("slid", dragged, throttle=throttle_s)

    def bounds(self, low: float, high: float, step: float) -> None:
        """Let it go from ``low`` to ``high``."""
        for key, one in (("low", low), ("high", high), ("step", step)):
            self.input.props[key] = one

    def stop_at(self, stops: Sequence[float]) -> None:
        """Let it stop at these values alone; everywhere where there are none."""
        if self.input.props.get("stops") != list(stops):
            self.input.props["stops"] = list(stops)

    def put(self, value: float, said: str | None = None) -> None:
        """Show another value; ``said`` where it stands only near to what is meant."""
        said = self._shown(value) if said is None else said
        if (self.input.props.get("value"), self.input.props.get("said")) != (value, said):
            self.input.props["value"] = value
            self.input.props["said"] = said
            self._said.set_text(said)


class Choice:
    """A labelled list to choose one from."""

    def __init__(
        self,
        label: str,
        options: Mapping[str, str],
        value: str,
        on_change: Callable[[str], object],
    ) -> None:
        """``options`` are values with the words shown for them."""
        self._options: dict[str, str] = {}
        self._value = ""
        with ui.element("div").classes("field") as self.field:
            self.input = ui.element("select")
            _labelled(self.input, label)

        def chosen(event: Any) -> None:
            self._value = str(event.args)
            on_change(self._value)

        self.input.on("change", chosen, js_handler=VALUE)
        self.offer(options, value)

    def offer(self, options: Mapping[str, str], value: str) -> None:
        """Offer other values."""
        if dict(options) != self._options:
            self._options, self._value = dict(options), ""
            self.input.clear()
        self.put(value)

    def put(self, value: str) -> None:
        """Choose another value."""
        if value == self._value and self.input.default_slot.children:
            return
        self._value = value
        self.input.clear()
        with self.input:
            for one, said in self._options.items():
                option = words(said, "option")
                option.props["value"] = one
                if one == value:
                    option.props["selected"] = True


def table(caption: str, headers: Sequence[str], rows: Sequence[Sequence[str]]) -> Element:
    """A table whose first column names the rows."""
    with ui.element("table") as made:
        words(caption, "caption")
        if headers:
            with ui.element("thead"), ui.element("tr"):
                for header in headers:
                    words(header, "th").props("scope=col")
        with ui.element("tbody"):
            for first, *others in rows:
                with ui.element("tr"):
                    words(first, "th").props("scope=row")
                    for cell in others:
                        words(cell, "td")
    return made
