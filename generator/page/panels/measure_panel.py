"""Measure: touch two rings, or give their numbers, and see what lies between them."""

from __future__ import annotations

from functools import partial

import numpy as np
from nicegui import ui

from ringwright.page.session import Session
from ringwright.page.state.place import place_of
from ringwright.page.widgets.elements import Field, button, heading, table, words
from ringwright.page.widgets.ring_view import Line, Mark
from ringwright.page.worked_out.between_rings import Between, between
from ringwright.page.worked_out.colours import ROLES
from ringwright.piece.piece import Piece

_ABOUT = (
    "Touch two rings of the model, or give their numbers; arrow keys in a field go to the next "
    "ring. The rings are numbered in the order of weaving."
)
# After Okabe and Ito (from memory); each is marked with its number in a shape of its own too.
_PAINTS = ("#d55e00", "#0072b2")
_OTHERS = "#a8a59e"
_KINDS = ("first", "second")
_NAMES = ("First ring", "Second ring")
# Loaded rings touch to within this.
_TOUCHING_MM = 1e-6
NAME = "Measure"
_HERE = place_of(NAME)


def build(session: Session) -> None:
    """A field for either ring, and the measures, which the model shows too."""
    heading(NAME)
    words(_ABOUT).classes("hint")
    _Measure(session)


class _Measure:
    """Two rings of those that are looked at."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._rings: list[int | None] = [None, None]
        self._next = 0
        # Whether marks are on the model.
        self._has_drawn = False
        with ui.element("div").classes("dress-row"):
            self._fields = [
                Field(name, "", partial(self._typed, place), kind="number", min=1, step=1)
                for place, name in enumerate(_NAMES)
            ]
        with ui.element("div").classes("row"):
            button("Clear", self._clear, kind="quiet")
        self._said = words("").classes("said measured").props("role=status")
        self._table = ui.element("div").classes("measure-table")
        session.on_seen.listen(self._show)
        session.on_wanted.listen(self._tell)
        session.on_motion.listen(self._tell)
        session.on_picked.listen(self._pick)
        session.on_place.listen(self._follow)
        self._show()

    @property
    def _is_open(self) -> bool:
        return self._session.place.panel == _HERE.panel

    def _follow(self) -> None:
        """Another panel is open, or this one again."""
        if self._is_open:
            self._show()
        elif self._has_drawn:
            self._has_drawn = False
            self._session.take_back(None)

    def _show(self) -> None:
        # What is shown anew has no marks.
        self._has_drawn = False
        piece = self._session.seen
        if piece is None or not self._is_open:
            return
        self._rings = [
            ring if ring is not None and ring < len(piece) else None for ring in self._rings
        ]
        for field in self._fields:
            field.input.props["max"] = len(piece)
            field.input.update()
        self._tell()

    def _pick(self, ring: int) -> None:
        if not self._is_open:
            return
        if self._rings[1 - self._next] == ring:
            return
        self._rings[self._next] = ring
        self._next = 1 - self._next
        self._tell()

    def _typed(self, place: int, text: str) -> None:
        piece = self._session.seen
        if piece is None:
            return
        ring = int(text) - 1 if text.isascii() and text.isdigit() and len(text) < 7 else -1
        if text and not 0 <= ring < len(piece):
            self._fields[place].complain(f"There are rings 1 to {len(piece)}.")
            return
        self._rings[place] = ring if text else None
        self._next = 1 - place
        self._tell()

    def _clear(self) -> None:
        self._rings, self._next = [None, None], 0
        self._tell()

    def _tell(self) -> None:
        """Say and draw what lies between the two."""
        piece = self._session.seen
        if piece is None or not self._is_open:
            return
        for place, field in enumerate(self._fields):
            ring = self._rings[place]
            field.put("" if ring is None else str(ring + 1))
            field.complain("")
        first, second = self._rings
        self._table.clear()
        found = None
        if first is None or second is None:
            self._said.set_text(_waiting(piece, self._rings))
        elif first == second:
            self._said.set_text("These are one and the same ring; choose another for one of them.")
        else:
            found = between(piece, first, second)
            self._said.set_text(self._sentence(first, second, found))
            with self._table:
                self._figures(found)
        self._draw(piece, found)

    def _sentence(self, first: int, second: int, found: Between) -> str:
        units = self._session.wanted.units
        run = "run through one another" if found.is_linked else "do not run through one another"
        if found.gap_mm < -_TOUCHING_MM:
            way = f"overlap by {units.exact(-found.gap_mm)}"
        elif found.gap_mm <= _TOUCHING_MM:
            way = "touch"
        else:
            way = f"are {units.exact(found.gap_mm)} apart at the nearest"
        return f"Rings {first + 1} and {second + 1} {run} and {way}."

    def _figures(self, found: Between) -> None:
        units = self._session.wanted.units
        table(
            "Between the two rings",
            ("What", "Measure"),
            (
                ("Between the centres", units.exact(found.centres_mm)),
                ("Smallest gap between the wires", units.exact(round(found.gap_mm, 6) + 0.0)),
                ("Linked", "yes" if found.is_linked else "no"),
                ("Angle between the planes", f"{found.angle:.1f}\u00b0"),
            ),
        )

    def _draw(self, piece: Piece, found: Between | None) -> None:
        chosen = {ring: place for place, ring in enumerate(self._rings) if ring is not None}
        if not chosen or self._session.motion:
            if self._has_drawn:
                self._has_drawn = False
                self._session.stage.point_out(piece.paints)
            return
        self._has_drawn = True
        paints = [_OTHERS] * len(piece)
        marks = []
        for ring, place in chosen.items():
            paints[ring] = _PAINTS[place]
            marks.append(Mark(_edge(piece, ring), str(ring + 1), _KINDS[place]))
        lines = []
        if found is not None:
            label = self._session.wanted.units.exact(found.centres_mm)
            lines = [Line(found.first_centre, found.second_centre, label)]
            if found.gap_mm > _TOUCHING_MM:
                lines.append(Line(found.first_nearest, found.second_nearest, ""))
        self._session.stage.point_out(paints, marks, lines)


def _waiting(piece: Piece, rings: list[int | None]) -> str:
    there = [ring for ring in rings if ring is not None]
    if not there:
        return "Choose a first ring."
    ring = there[0]
    return f"Ring {ring + 1}, {ROLES[piece.roles[ring]]}. Choose another one."


def _edge(piece: Piece, ring: int) -> tuple[float, float, float]:
    """The highest point of a ring's wire."""
    x, y, z = piece.axes[ring]
    flat = max((x * x + y * y) ** 0.5, 1e-9)
    up = (-x * z / flat, -y * z / flat, flat) if flat > 1e-6 else (1.0, 0.0, 0.0)
    at = piece.centres_mm[ring] + piece.core_radii_mm[ring] * np.array(up)
    return (float(at[0]), float(at[1]), float(at[2]))
