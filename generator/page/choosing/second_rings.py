"""Rings of a second size, in weaves that have them: by the rule, or the maker's own."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from functools import partial

from nicegui import ui

from ringwright.answers.second import ring_of
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize, parse_length, split_pair
from ringwright.page.session import Session
from ringwright.page.state.chosen import SEPARATOR, Wanted
from ringwright.page.state.units import typed
from ringwright.page.widgets.elements import Choice, Field
from ringwright.weaves import WeaveRule

_BY_RULE, _OWN = "rule", "own"


def build(session: Session) -> None:
    """How second rings are given and, where they are the maker's own, fields for each size."""
    _Second(session)


class _Second:
    def __init__(self, session: Session) -> None:
        self._session = session
        self._by = Choice(
            "Second rings",
            {_BY_RULE: "in the weave's own proportion", _OWN: "your own"},
            _BY_RULE,
            self._chosen,
        )
        self._holder = ui.element("div")
        self._fields: dict[str, tuple[Field, Field]] = {}
        session.on_wanted.listen(self.refresh)
        self.refresh()

    def _rule(self) -> WeaveRule | None:
        """The weave with its own proportion, whatever is typed for its second rings."""
        wanted = self._session.wanted
        with suppress(BadInput):
            return self._session.rule_of(_by_rule(wanted))
        return None

    def _chosen(self, way: str) -> None:
        rule, wanted = self._rule(), self._session.wanted
        if way == _BY_RULE or rule is None:
            self._session.change(second="")
            return
        with suppress(BadInput):
            size = wanted.size()
            given = {one.name: _as_typed(ring_of(one, size), wanted) for one in rule.sizes}
            self._session.change(second=joined(given))

    def _typed(self, name: str, place: int, text: str) -> None:
        rule = self._rule()
        if rule is None:
            return
        given = parted(self._session.wanted, rule)
        pair = list(given.get(name, ("", "")))
        pair[place] = text.strip()
        self._session.change(second=joined({**given, name: (pair[0], pair[1])}))

    def refresh(self) -> None:
        """Show what is wanted, and the fields of the weave that is."""
        rule, wanted = self._rule(), self._session.wanted
        sizes = [] if rule is None else [one.name for one in rule.sizes]
        self._by.field.set_visibility(bool(sizes))
        self._by.put(_OWN if wanted.second else _BY_RULE)
        self._holder.set_visibility(bool(sizes) and bool(wanted.second))
        if rule is None or not sizes or not wanted.second:
            return
        if list(self._fields) != sizes:
            self._draw(sizes)
        for name, pair in parted(wanted, rule).items():
            for field, text in zip(self._fields[name], pair, strict=True):
                field.put(text)
            self._complain(name, *pair)

    def _draw(self, sizes: list[str]) -> None:
        self._holder.clear()
        self._fields.clear()
        with self._holder:
            for name in sizes:
                self._fields[name] = (
                    self._field(name, 0, "wire"),
                    self._field(name, 1, "inner diameter"),
                )

    def _field(self, name: str, place: int, what: str) -> Field:
        label = f"{name.capitalize()} rings: {what}"
        return Field(
            *(label, "", partial(self._typed, name, place)),
            complete=self._session.length_typed if place else self._session.wire_typed,
            autocomplete="off",
        )

    def _complain(self, name: str, wire: str, inner: str) -> None:
        """Say at each field what it is read as, or what is wrong with it."""
        units = self._session.wanted.units
        wire_field, inner_field = self._fields[name]
        try:
            wire_mm = parse_length(wire, "wire")
        except BadInput as trouble:
            wire_field.complain(str(trouble))
            return
        wire_field.complain("", units.wire(wire_mm))
        try:
            size = RingSize.from_text(wire, inner, None)
        except BadInput as trouble:
            inner_field.complain(str(trouble))
            return
        said = f"{units.length(size.inner_mm)}, aspect ratio {size.aspect_ratio:.2f}"
        inner_field.complain("", said)


def parted(wanted: Wanted, rule: WeaveRule) -> dict[str, tuple[str, str]]:
    """Wire and inner diameter of each size, as they were typed; those not typed by the rule."""
    with_no_name = rule.sizes[0].name if len(rule.sizes) == 1 else ""
    given: dict[str, tuple[str, str]] = {}
    with suppress(BadInput):
        size = wanted.size()
        given = {one.name: _as_typed(ring_of(one, size), wanted) for one in rule.sizes}
    for text in wanted.seconds:
        name, equals, ring = text.partition("=")
        name, ring = (name.strip(), ring) if equals else (with_no_name, text)
        if name in {one.name for one in rule.sizes}:
            wire, _, inner = ring.partition("/")
            given[name] = split_pair(ring) or (wire, inner)
    return given


def joined(given: dict[str, tuple[str, str]]) -> str:
    """The rings of all sizes as an address has them."""
    return SEPARATOR.join(f"{name}={wire}/{inner}" for name, (wire, inner) in given.items())


def _by_rule(wanted: Wanted) -> Wanted:
    return replace(wanted, second="")


def _as_typed(ring: RingSize, wanted: Wanted) -> tuple[str, str]:
    return typed(ring.wire_mm, wanted.lengths), typed(ring.inner_mm, wanted.lengths)
