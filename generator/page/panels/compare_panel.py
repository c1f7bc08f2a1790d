"""Choices kept beside each other: looked at, and in figures side by side."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from nicegui import ui

from ringwright.answers.check_figures import CheckFigures
from ringwright.base.arrays import Floats
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.figures import head_of
from ringwright.making.plan.plan_figures import PlanFigures
from ringwright.page.main_view import counted_rows
from ringwright.page.serving.jobs import Superseded
from ringwright.page.session import MOST_BESIDE, Session
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.units import Units, as_label
from ringwright.page.widgets.elements import button, focus, heading, words
from ringwright.page.widgets.ring_view import Aim, RingView
from ringwright.page.worked_out.colours import coloured
from ringwright.page.worked_out.counted_piece import counting, counts
from ringwright.page.worked_out.solve import Answer, answer
from ringwright.piece.piece import Piece

_LETTERS = "ABC"
_NOW = "Now"
_UNKNOWN, _AT_WORK = "\u2013", "being worked out"
# All are seen from one side and from as far away, so that one scale holds.
_TOWARD = np.array([-0.35, -0.8, 0.55])
# So much of the length of the longest is as wide as the view.
_WIDE = 1.3
# What is known before the rest is.
_WIRE, _INNER = (as_label(head_of(CheckFigures, name)) for name in ("wire_mm", "inner_mm"))


@dataclass(frozen=True, eq=False)
class Found:
    """What is known of a choice that is kept.

    Attributes
    ----------
    answer : None while it is worked out, and where there is none
    figures : of the piece, as the plan counts it; None where it is not counted
    trouble : why there is none, in words
    """

    answer: Answer | None = None
    figures: PlanFigures | None = None
    trouble: str = ""


def build(session: Session) -> None:
    """All of the panel."""
    heading("Compare")
    words(
        f"Keep up to {MOST_BESIDE} choices, of one weave or of several, and look at them side by "
        "side, at one scale. They stay in the address of the page."
    ).classes("panel-lead")
    _Compared(session)


class _Compared:
    """The cards, and the table below them."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._found: dict[Wanted, Found] = {}
        self._cards: dict[Wanted, _Card] = {}
        with ui.element("div").classes("row wrap"):
            self._keep = button("Keep the present choice", self._keep_present, kind="main")
        self._note = words("").classes("hint shop-said").props("role=status")
        self._shelf = ui.element("div").classes("kept")
        self._table = ui.element("div").classes("wide").props("tabindex=0 role=region")
        self._table.props["aria-label"] = "Figures side by side"
        session.on_candidates.listen(self._kept)
        session.on_wanted.listen(self._present)
        session.on_counted.listen(self._present)
        session.on_answer.listen(self._present)
        self._counted_for = session.settings.of_the_piece
        session.on_settings.listen(self._count_anew)
        self._tabled: object = None
        self._kept()

    def _present_place(self) -> int | None:
        """Which of the kept ones the present choice is, if any."""
        now = _bare(self._session.wanted)
        bare = [_bare(one) for one in self._session.candidates]
        return bare.index(now) if now in bare else None

    def _keep_present(self) -> None:
        self._session.keep_beside(self._session.wanted)

    def _kept(self) -> None:
        """Cards for what is kept now, and work begun on what is not known."""
        kept = self._session.candidates
        for gone in [one for one in self._cards if one not in kept]:
            self._cards.pop(gone).delete()
            focus(self._table if self._present_place() is not None else self._keep)
            self._found.pop(gone, None)
            self._session.desk.slow.give_up(self._session.beside, gone.query())
        for place, one in enumerate(kept):
            if one not in self._cards:
                with self._shelf:
                    self._cards[one] = _Card(self._session, one)
                self._begin(one)
            self._cards[one].name(_LETTERS[place])
        self._at_one_scale()
        self._present()

    def _begin(self, one: Wanted) -> None:
        """Take what the page knows of a choice already, or have it worked out."""
        session = self._session
        is_present = _bare(one) == _bare(session.wanted)
        if is_present and session.answer is not None and session.counted is not None:
            self._tell(one, Found(session.answer, session.counted))
        else:
            self._found[one] = Found()
            session.begin(self._work_out(one))

    def _count_anew(self) -> None:
        """Count what is kept with another clasp, other ends or other metals."""
        now = self._session.settings.of_the_piece
        if now == self._counted_for:
            return
        self._counted_for = now
        for one, found in self._found.items():
            self._found[one] = Found(found.answer)
            self._session.begin(self._work_out(one))
        self._present()

    async def _work_out(self, one: Wanted) -> None:
        session, desk, who = self._session, self._session.desk, self._session.beside
        with contextlib.suppress(Superseded):
            found = Found()
            try:
                rule = session.rule_of(one)
                known = self._found.get(one)
                told = None if known is None else known.answer
                if told is None:
                    told = await desk.slow.ask(
                        *(who, one.query(), _unsaid, answer), *(rule, one.size(), desk.limit(rule))
                    )
                    desk.keep_limit(rule, told.limit)
                found = Found(told)
                if told.report.can_be_woven:
                    what = counting(one, session.shop, told.report.rule, session.settings)
                    figures = await desk.quick.ask(who, one.query(), counts, told.report, what)
                    found = Found(told, figures)
            except (BadInput, NoRest) as trouble:
                found = replace(found, trouble=str(trouble))
            self._tell(one, found)

    def _tell(self, one: Wanted, found: Found) -> None:
        # It may have been taken away meanwhile.
        if one in self._cards:
            self._found[one] = found
            self._cards[one].show(found)
            self._at_one_scale()
            self._present()

    def _at_one_scale(self) -> None:
        """Have the largest of the pieces fill its view, and all others be as large beside it."""
        across_mm = max((card.across_mm for card in self._cards.values()), default=0.0)
        if across_mm:
            for card in self._cards.values():
                card.look(across_mm)

    def _present(self) -> None:
        """What follows the present choice: the button, and the table with its column."""
        session = self._session
        kept, now = session.candidates, session.wanted
        place, full = self._present_place(), len(kept) >= MOST_BESIDE
        if self._keep.props.get("disabled", False) != (place is not None or full):
            self._keep.props["disabled"] = place is not None or full
            self._keep.update()
        note = ""
        if place is not None:
            note = f"The present choice is kept, as {_LETTERS[place]}."
        elif full:
            note = f"{MOST_BESIDE} are kept; remove one to keep another."
        self._note.set_text(note)
        columns = {}
        if kept and place is None:
            present = Found(session.answer, session.counted, session.trouble)
            columns[f"{_NOW}: {now.weave.replace('-', ' ')}"] = now, present
        for letter, one in zip(_LETTERS, kept, strict=False):
            title = f"{letter}: {one.weave.replace('-', ' ')}"
            columns[title] = one, self._found.get(one, Found())
        # A size that is dragged tells this often, and mostly there is nothing new.
        tabled = [
            (title, one, found.answer, found.figures) for title, (one, found) in columns.items()
        ]
        if (tabled, now.units) != self._tabled:
            self._tabled = tabled, now.units
            self._draw(columns, now.units)
            for one, card in self._cards.items():
                card.say(self._found.get(one, Found()), now.units)

    def _draw(self, columns: Mapping[str, tuple[Wanted, Found]], units: Units) -> None:
        self._table.clear()
        self._table.set_visibility(bool(columns))
        told = {title: figures_of(*one, units) for title, one in columns.items()}
        names = dict.fromkeys(name for figures_ in told.values() for name in figures_)
        with self._table, ui.element("table").classes("compared"):
            several = len(told) > 1
            words("Side by side; what differs is in bold" if several else "Figures", "caption")
            with ui.element("thead"), ui.element("tr"):
                words("Figure", "th").props("scope=col")
                for title in told:
                    words(title, "th").props("scope=col")
            with ui.element("tbody"):
                for name in names:
                    with ui.element("tr"):
                        words(name, "th").props("scope=row")
                        said = [figures_.get(name, _UNKNOWN) for figures_ in told.values()]
                        differs = differ(said)
                        for text in said:
                            _cell(text, differs=differs)


def differ(said: Sequence[str]) -> bool:
    """Whether a figure is another in one column than in another, of those where it is known."""
    return len(set(said) - {_UNKNOWN, _AT_WORK}) > 1


def _cell(text: str, *, differs: bool) -> None:
    with ui.element("td"):
        words(text, "strong" if differs else "span")


def _unsaid(what: str, done: int, of: int) -> None:
    """How far the work on what is kept beside has come is not told."""


def figures_of(wanted: Wanted, found: Found, units: Units) -> dict[str, str]:
    """The figures of a choice by name, as far as they are known."""
    told = {"Verdict": found.trouble or _AT_WORK}
    with contextlib.suppress(BadInput):
        size = wanted.size()
        told[_WIRE], told[_INNER] = units.wire(size.wire_mm), units.length(size.inner_mm)
    if found.answer is None:
        return told
    figures, piece = found.answer.figures, found.figures
    told["Verdict"] = figures.verdict
    told |= dict(units.rows(figures))
    return told if piece is None else told | dict(counted_rows.rows(piece, units))


def _bare(wanted: Wanted) -> Wanted:
    """A choice less what changes only how it is looked at and said."""
    plain = Wanted()
    return replace(
        wanted, wires=plain.wires, lengths=plain.lengths, view=plain.view, paint=plain.paint
    )


class _Card:
    """A choice that is kept: a small view of it, and what can be done with it."""

    def __init__(self, session: Session, one: Wanted) -> None:
        self._session, self._one = session, one
        self._weave = one.weave.replace("-", " ")
        self._piece: Piece | None = None
        with ui.element("article") as self._all:
            self._title = heading("", 3)
            self._view = RingView(f"{self._weave} is being worked out.").classes("small")
            self._said = words("Being worked out …").classes("hint").props("role=status")
            with ui.element("div").classes("row wrap"):
                self._back = button("Go back", self._go_back, kind="quiet")
                self._remove = button("Remove", self._drop, kind="quiet")

    def _drop(self) -> None:
        self._session.drop(self._session.candidates.index(self._one))

    def name(self, letter: str) -> None:
        """Call it by a letter."""
        title = f"{letter}: {self._weave}"
        self._title.set_text(title)
        for one, what in ((self._back, "Go back to"), (self._remove, "Remove")):
            one.props["aria-label"] = f"{what} {title}"
            one.update()

    def say(self, found: Found, units: Units) -> None:
        """Say in words what was found of it."""
        if found.answer is None:
            self._said.set_text(found.trouble or "Being worked out \u2026")
            return
        figures = found.answer.figures
        ring = _ring(found.answer, units)
        verdict = f"Ratio {figures.aspect_ratio:.2f}, {figures.verdict}"
        self._said.set_text(f"{verdict}; {ring}. {found.trouble}".strip())

    def show(self, found: Found) -> None:
        """Show its rings."""
        if found.answer is None:
            return
        shown = found.answer.shown
        piece = shown.piece
        with contextlib.suppress(BadInput):
            piece = coloured(piece, self._session.rule_of(self._one), self._one.paint)
        lie = "overlap" if shown.overlaps else "at rest"
        ring = _ring(found.answer, self._session.wanted.units)
        self._view.show(piece, f"{self._weave}, {ring}: {len(piece)} rings, {lie}")
        self._piece = piece

    @property
    def across_mm(self) -> float:
        """How far its rings reach at most; 0 while there are none."""
        return 0.0 if self._piece is None else float(np.ptp(_box(self._piece), axis=0).max())

    def look(self, across_mm: float) -> None:
        """See it from as far away as what is so large."""
        if self._piece is not None:
            middle_mm = _box(self._piece).mean(axis=0)
            self._view.look_at(Aim(middle_mm, _WIDE * across_mm, _TOWARD, in_width=True))

    def _go_back(self) -> None:
        now = self._session.wanted
        self._session.want(replace(self._one, wires=now.wires, lengths=now.lengths, view=now.view))

    def delete(self) -> None:
        """Take it off the page."""
        self._all.delete()


def _box(piece: Piece) -> Floats:
    """The corners between which rings lie: (2, 3) mm."""
    reach = (piece.core_radii_mm + piece.wire_radii_mm)[:, None]
    return np.stack(
        [(piece.centres_mm - reach).min(axis=0), (piece.centres_mm + reach).max(axis=0)]
    )


def _ring(found: Answer, units: Units) -> str:
    size = found.shown.size
    return f"wire {units.wire(size.wire_mm)}, inside {units.length(size.inner_mm)}"
