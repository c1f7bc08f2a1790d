"""What a caller gives, turned into what the program works with: weaves, rings, lengths."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Protocol, TypeAlias

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize, parse_length
from ringwright.base.wording import either, quoted, quoted_path
from ringwright.weaves import load_rule
from ringwright.weaves.listed import Weave
from ringwright.weaves.refusals import refuse_without_rows
from ringwright.weaves.rest_states import (
    FINGER,
    LEAST_GIRTH_MM,
    MOST_GIRTH_MM,
    MOST_RATIO,
    NAMES,
    NECK,
    PARTS,
    PULLED,
    WORN,
    WRIST,
    Body,
    RestState,
    worn_by,
)
from ringwright.weaves.rule import WeaveRule


class Quantity(Protocol):
    """A number with a unit, as of the pint library."""

    @property
    def magnitude(self) -> Any:
        """The number."""

    def to(self, unit: str) -> Any:
        """The same in another unit."""


Length: TypeAlias = str | Quantity
WeaveLike: TypeAlias = str | Path | Weave | WeaveRule
Second: TypeAlias = str | RingSize | Mapping[str, str | RingSize] | Iterable[str]

# Of a model, as it would be typed.
USUAL_CHORD_ERROR = defaults.typed(defaults.CHORD_ERROR_MM)


def asked_rule(weave: WeaveLike, second: Second | None = None) -> WeaveRule:
    """A weave's rule, with the maker's own second rings.

    Parameters
    ----------
    weave : a name, the path of a rule file, or what ``load_rule`` gave
    second : rings of the second size, as ``"1mm/4.1mm"``, ``"small=1mm/4.1mm"``, a
        ``RingSize``, a mapping from the size's name to one of these, or several texts

    Raises
    ------
    BadInput
        When there is no such weave, or a ring cannot be read.
    """
    from ringwright.answers.second import asked_second

    if isinstance(weave, Weave):
        weave = weave.rule
    rule = weave if isinstance(weave, WeaveRule) else load_rule(weave)
    return asked_second(rule, _second_texts(second))


def _second_texts(second: Second | None) -> list[str]:
    if second is None:
        return []
    if isinstance(second, str | RingSize):
        return [_ring_text(second)]
    if isinstance(second, Mapping):
        return [f"{name}={_ring_text(ring)}" for name, ring in second.items()]
    return list(second)


def _ring_text(ring: str | RingSize) -> str:
    if isinstance(ring, str):
        return ring
    return f"{ring.wire_mm!r}mm/{ring.inner_mm!r}mm"


def asked_size(
    wire: Length | RingSize | None,
    inner: Length | None = None,
    ratio: str | float | None = None,
    outer: Length | None = None,
) -> RingSize:
    """A ring from its wire and one of inner diameter, outer diameter and aspect ratio.

    Parameters
    ----------
    wire : its diameter, or a ``RingSize``, which needs nothing else

    Raises
    ------
    BadInput
        When a size cannot be read, or too few or too many were given.

    Examples
    --------
    >>> asked_size("0.9mm", inner="3.2mm")
    RingSize(wire_mm=0.9, inner_mm=3.2)
    >>> asked_size("1mm", ratio=4.2).inner_mm
    4.2
    """
    if isinstance(wire, RingSize):
        if any(given is not None for given in (inner, ratio, outer)):
            raise BadInput(
                "a RingSize says wire and inner diameter: leave inner, outer and ratio out"
            )
        return wire.checked()
    if wire is None:
        raise BadInput("the wire is missing: give its diameter, such as 0.9mm, or a RingSize")
    return RingSize.from_text(
        length_text(wire, "wire"),
        None if inner is None else length_text(inner, "inner diameter"),
        ratio if ratio is None or isinstance(ratio, str) else f"{ratio!r}",
        None if outer is None else length_text(outer, "outer diameter"),
    )


def asked_mm(length: Length, what: str) -> float:
    """A length in millimetres.

    Raises
    ------
    BadInput
        When it cannot be read; ``what`` names it there.

    Examples
    --------
    >>> asked_mm("17 cm", "length")
    170.0
    """
    return parse_length(length_text(length, what), what)


def asked_width_mm(rule: WeaveRule, width: Length | None) -> float | None:
    """The least width of a sheet in millimetres, if one was given.

    Raises
    ------
    BadInput
        When it cannot be read, or the weave is no sheet.
    """
    width_mm = None if width is None else asked_mm(width, "width")
    if width_mm is not None:
        refuse_without_rows(rule, "--width")
    return width_mm


def asked_state(
    rule: WeaveRule,
    laid: str,
    wrist: Length | None = None,
    finger: Length | None = None,
    neck: Length | None = None,
    oval: str | float | None = None,
) -> RestState:
    """The state of a finished piece, by its name.

    Parameters
    ----------
    wrist, finger, neck : what a piece is worn on, measured round it bare; at most one
    oval : width of the wrist or finger by its depth

    Raises
    ------
    BadInput
        When there is no such state, a weave of this family is not laid so, or nobody can be so
        thick or thin.

    Examples
    --------
    >>> from ringwright.weaves import load_rule
    >>> asked_state(load_rule("barrel"), "on-table").said
    'lying on a table'
    """
    states = {state.name: state for state in rule.family.states}
    if laid in states and laid == WORN.name:
        body = asked_body(wrist, finger, neck, oval)
        if body.part == NECK and rule.family.has_rows:
            raise BadInput(
                f"{rule.name} is {rule.family.called}, which is not worn as a necklace; give "
                "--wrist or --finger."
            )
        return worn_by(body)
    refuse_body(wrist, finger, neck, oval)
    if laid in states:
        return states[laid]
    if laid in NAMES:
        raise BadInput(
            f"--laid {laid} is not for {rule.name}, which is {rule.family.called}; give "
            f"{either(list(states))}."
        )
    raise BadInput(f"--laid {quoted(laid)} is no way to lay a piece; give {either(list(states))}.")


def refuse_body(
    wrist: Length | None, finger: Length | None, neck: Length | None, oval: str | float | None
) -> None:
    """Refuse what a piece is worn on, where it is not worn."""
    if any(given is not None for given in (wrist, finger, neck, oval)):
        raise BadInput(
            "--wrist, --finger, --neck and --oval say what a piece is worn on: add --laid worn, or "
            "leave them out."
        )


def asked_shown_state(
    rule: WeaveRule,
    laid: str | None,
    wrist: Length | None = None,
    finger: Length | None = None,
    neck: Length | None = None,
    oval: str | float | None = None,
) -> RestState | None:
    """The state in which a piece is to be shown; None for as its family is pictured.

    Parameters and errors are those of :func:`asked_state`.
    """
    if laid is None and all(given is None for given in (wrist, finger, neck, oval)):
        return None
    return asked_state(rule, laid or PULLED.name, wrist, finger, neck, oval)


def asked_body(
    wrist: Length | None = None,
    finger: Length | None = None,
    neck: Length | None = None,
    oval: str | float | None = None,
) -> Body:
    """What a piece is worn on; a usual wrist where nothing is given. See :func:`asked_state`."""
    girths = {WRIST: wrist, FINGER: finger, NECK: neck}
    given = [part for part in PARTS if girths[part] is not None]
    if len(given) > 1:
        raise BadInput(f"--{given[0]} and --{given[1]} were both given: a piece is worn on one.")
    part = given[0] if given else WRIST
    if part == NECK and oval is not None:
        raise BadInput("--oval is for a wrist or a finger, and a neck is taken as round.")
    girth = girths[part]
    girth_mm = defaults.WRIST_MM if girth is None else asked_mm(girth, part)
    if not LEAST_GIRTH_MM <= girth_mm <= MOST_GIRTH_MM:
        raise BadInput(
            f"--{part} {girth_mm:.6g} mm is not between {LEAST_GIRTH_MM:.0f} and "
            f"{MOST_GIRTH_MM:.0f} mm; give how long a tape round the {part} is."
        )
    return Body(part, girth_mm, _oval(oval, part))


def _oval(oval: str | float | None, part: str) -> float:
    if oval is None:
        return defaults.OVAL if part == WRIST else 1.0
    try:
        ratio = float(oval)
    except ValueError:
        ratio = 0.0
    if not 1.0 <= ratio <= MOST_RATIO:
        raise BadInput(
            f"--oval {oval!r} is not between 1 and {MOST_RATIO:g}; give the width of the {part} "
            "divided by its depth, e.g. 1.35."
        )
    return ratio


def asked_out(out: str | Path) -> tuple[Path, str]:
    """Folder and name of files, from both in one.

    Raises
    ------
    BadInput
        When there is no name, or it is that of a folder.
    """
    path, out = Path(out), str(out)
    if not out.strip() or "\0" in out or out.endswith(("/", os.sep)) or path.name in ("", ".."):
        raise BadInput(
            f"--out {quoted_path(out)} has no file name; give a folder and a name without "
            "extension, e.g. out/bracelet."
        )
    if path.is_dir():
        raise BadInput(
            f"--out {quoted_path(out)} is a folder; add a name for the files, e.g. "
            f"{path / 'bracelet'}."
        )
    return path.parent, path.name


def length_text(length: object, what: str) -> str:
    """A length as a maker would type it; a quantity in millimetres, to the last bit.

    Raises
    ------
    BadInput
        When a quantity is no length.
    """
    if not hasattr(length, "magnitude") or not hasattr(length, "to"):
        return str(length)
    try:
        return f"{float(length.to('mm').magnitude)!r}mm"
    except (TypeError, ValueError, AttributeError) as error:
        # Pint's own error for units that do not fit is a TypeError.
        raise BadInput(
            f"{what} {str(length)!r} is not a length: give one in mm, in or another unit of length"
        ) from error


def spelt_out(options: Mapping[str, object]) -> dict[str, object]:
    """Options with a ``RingSize`` for the wire told as wire and inner diameter.

    Raises
    ------
    BadInput
        When the size is none, or another option says the ring once more.
    """
    wire = options.get("wire")
    if not isinstance(wire, RingSize):
        return dict(options)
    if any(options.get(name) is not None for name in ("inner", "outer", "ratio", "mandrel")):
        raise BadInput(
            "a RingSize says wire and inner diameter: leave inner, outer, ratio and mandrel out"
        )
    size = wire.checked()
    return {**options, "wire": f"{size.wire_mm!r}mm", "inner": f"{size.inner_mm!r}mm"}
