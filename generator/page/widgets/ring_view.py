"""The turnable view of rings on the page."""

from __future__ import annotations

import base64
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal

import numpy as np
from nicegui.element import Element
from nicegui.elements.scene import Scene
from numpy.typing import NDArray

from ringwright.base.arrays import Floats
from ringwright.base.json_values import JsonObject
from ringwright.colour.looks import look_of
from ringwright.page.state.caption import Caption
from ringwright.piece.mesh import Mesh
from ringwright.piece.piece import Piece

# Shown in place of the view.
_BROKEN = "This browser cannot draw in three dimensions just now; all figures are in the tables."
# The view's script takes three.js from the module that this element registers.
_THREE = Scene
Side = Literal["start", "front", "back", "top", "below", "end"]


@dataclass(frozen=True)
class Mark:
    """A word at a place of the model; ``kind`` is ``overlap``, ``cross`` or ``plain``."""

    at_mm: tuple[float, float, float]
    text: str
    kind: str = "plain"


@dataclass(frozen=True)
class Line:
    """A straight line between two places of the model, and a word at its middle."""

    from_mm: tuple[float, float, float]
    to_mm: tuple[float, float, float]
    text: str


@dataclass(frozen=True, eq=False)
class OpenWire:
    """A ring that stands open: (n, 3) its wire's middle in millimetres, its radius and colour."""

    line_mm: Floats
    radius_mm: float
    colour: str


@dataclass(frozen=True, eq=False)
class Aim:
    """Where to look: the middle, how much of it at least, and from where if not as before.

    So much fills the shorter side of the view, or with ``in_width`` its width.
    """

    middle_mm: Floats
    across_mm: float
    toward: Floats | None = None
    in_width: bool = False


class RingView(
    Element,
    component="ring_view.js",
    esm={name: name for name in ("ground", "pulling", "ribbons", "studio", "turning")},
):
    """A canvas with rings that can be turned, and asked which ring was touched."""

    def __init__(
        self,
        label: str,
        on_pick: Callable[[int], object] | None = None,
        on_pull: Callable[[object, int], object] | None = None,
    ) -> None:
        """An empty view; ``label`` says in words what is seen.

        ``on_pick`` is told which ring was touched, and ``on_pull`` where rings are pulled by hand,
        to be answered with one :meth:`pose` after the other: with the ring, where it was taken hold
        of and where it is drawn to, in millimetres, or with None once it is let go; and with the
        number of the pose that has come by now.
        """
        super().__init__()
        self._props["label"] = label
        self._props["broken_text"] = _BROKEN
        self._last: JsonObject | None = None
        self._poses: dict[str, str] = {}
        self._wires: dict[str, str] = {}
        self._pointed: JsonObject | None = None
        # Which rings are shown, so that no question about earlier ones is answered.
        self._turn = 0
        self._pull: JsonObject = {"may_pull": False, "chosen": None}
        # What is shown before the browser has drawn the page is shown once it has.
        self.on("ready", self._again)
        if on_pick is not None:
            self.on("pick", lambda event: on_pick(int(event.args)))
        if on_pull is not None:
            self.on("pull", lambda event: self._pulled(event.args, on_pull))

    def show(
        self,
        piece: Piece,
        label: str,
        marks: Sequence[Mark] = (),
        *,
        paints: Sequence[str] | None = None,
        opened: Sequence[OpenWire] = (),
        aim: Aim | None = None,
        keep: bool = True,
        what: str = "",
        glide: float = 0.0,
        on_table: bool = False,
        form: Mesh | None = None,
    ) -> None:
        """Show a piece.

        Parameters
        ----------
        label : in words, for who cannot see it
        paints : per ring a role, a metal or a colour, in place of the piece's own
        opened : rings beside those of the piece that stand open
        aim : where to look, in place of what follows
        keep : leave the camera where it is
        what : where this is another than at the last time, the camera goes as far back or as near
            as shows everything
        glide : they are those that are shown already, and go to their places in sight, if none has
            farther to go than so many times the radius of the widest
        on_table : they lie on a table, on which their shadow falls
        form : what they are worn on
        """
        self._turn += 1
        numbers = np.column_stack(
            [
                *(piece.centres_mm, piece.axes, piece.core_radii_mm, piece.wire_radii_mm),
            ]
        ).astype("<f4")
        self._last = {
            "rings": _packed(numbers),
            "colours": _colours(paints or piece.paints),
            "marks": _marked(marks),
            "keep": keep,
            "what": what,
            "open": [
                {"points": one.line_mm.tolist(), "radius": one.radius_mm, "colour": one.colour}
                for one in opened
            ],
            "aim": None if aim is None else _aimed(aim),
            "said": label,
            "turn": self._turn,
            "glide": glide,
            "on_table": on_table,
            "form": None if form is None else _formed(form),
        }
        self._pointed, self._poses, self._wires = None, {}, {}
        self.run_method("show", self._last)

    def keep_poses(
        self,
        ways: Mapping[str, NDArray[np.float32]],
        at: tuple[str, int] | None = None,
        wires: Mapping[str, NDArray[np.float32]] | None = None,
    ) -> None:
        """Have the browser keep states of the rings that are shown, to go through by itself.

        Parameters
        ----------
        ways : by name, (states, n, 6) centre in millimetres and axis of every ring; a ring whose
            axis is zero is not shown
        at : the name of a way, and the number of the state on it that is shown at first
        wires : by the same names, (states, k, 3) points in millimetres along the middle of the
            wire of the ring that stands open; where they all are one point it is not shown
        """
        self._poses = {name: _packed(poses.astype("<f4")) for name, poses in ways.items()}
        self._wires = {name: _packed(lines.astype("<f4")) for name, lines in (wires or {}).items()}
        self.run_method("keep_poses", self._poses, self._wires)
        if at is not None:
            self.run_method("pose", *at)

    def let_pull(self, may_pull: bool, chosen: int | None = None) -> None:
        """Whether rings can be pulled by hand, and which one the arrow keys pull."""
        self._pull = {"may_pull": may_pull, "chosen": chosen}
        self.run_method("let_pull", self._pull)

    def pose(
        self, poses: NDArray[np.float32], *, number: int, is_still: bool, is_down: bool
    ) -> None:
        """Show rings that are pulled a moment later.

        Parameters
        ----------
        poses : (n, 6) centre in millimetres and axis of every ring
        number : counted on from pose to pose
        is_still : the next moment comes only once the hand has moved
        is_down : they have been let go, and fall no farther
        """
        moment = {"turn": self._turn, "number": number, "still": is_still, "down": is_down}
        self.run_method("move", {**moment, "poses": _packed(poses.astype("<f4"))})

    def _pulled(self, asked: JsonObject, on_pull: Callable[[object, int], object]) -> None:
        if asked["turn"] == self._turn and isinstance(asked["seen"], int):
            on_pull(asked["grip"], asked["seen"])

    def point_out(
        self, paints: Sequence[str], marks: Sequence[Mark] = (), lines: Sequence[Line] = ()
    ) -> None:
        """Give the rings that are shown other colours, marks and lines, in place of earlier ones.

        Parameters
        ----------
        paints : as for :meth:`show`
        """
        self._pointed = {
            "colours": _colours(paints),
            "marks": _marked(marks),
            "lines": [{"from": one.from_mm, "to": one.to_mm, "text": one.text} for one in lines],
        }
        self.run_method("point_out", self._pointed)

    def look_from(self, side: Side) -> None:
        """Turn the camera to a side and fit everything in."""
        self.run_method("look_from", side)

    def look_at(self, aim: Aim) -> None:
        """Have a place fill the view."""
        self.run_method("look_at", _aimed(aim))

    def save_picture(self, caption: Caption) -> None:
        """Have the browser keep a picture of what is seen, with words below it."""
        self.run_method("save_picture", asdict(caption))

    def _again(self) -> None:
        if self._last is not None:
            self.run_method("show", {**self._last, "keep": False, "glide": 0.0})
            self.run_method("let_pull", self._pull)
            self.run_method("keep_poses", self._poses, self._wires)
            if self._pointed is not None:
                self.run_method("point_out", self._pointed)


def _formed(mesh: Mesh) -> JsonObject:
    return {
        "points": _packed(mesh.vertices.astype("<f4")),
        "normals": _packed(mesh.normals.astype("<f4")),
        "faces": _packed(mesh.faces.astype("<u4")),
    }


def _colours(paints: Sequence[str]) -> str:
    known = {paint: look_of(paint).colour for paint in set(paints)}
    colours = np.array([known[one] for one in paints])
    return _packed(np.rint(255 * colours).astype("u1"))


def _marked(marks: Sequence[Mark]) -> list[JsonObject]:
    return [{"at": one.at_mm, "text": one.text, "kind": one.kind} for one in marks]


def _aimed(aim: Aim) -> JsonObject:
    toward = None if aim.toward is None else aim.toward.tolist()
    return {
        "middle": aim.middle_mm.tolist(),
        "across": aim.across_mm,
        "toward": toward,
        "wide": aim.in_width,
    }


def _packed(numbers: NDArray[Any]) -> str:
    return base64.b64encode(numbers.tobytes()).decode()
