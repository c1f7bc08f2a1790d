"""What a maker has chosen on the page, as data and as the end of an address."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from urllib.parse import parse_qsl, urlencode

from ringwright.answers.second import asked_second
from ringwright.api.asked import asked_body, asked_state
from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize, parse_length
from ringwright.colour.metals import parse_pattern
from ringwright.page.state.units import MM, Units
from ringwright.weaves import WeaveRule
from ringwright.weaves.family import Family
from ringwright.weaves.rest_states import FINGER, NECK, PARTS, WRIST, Body, RestState

BY_ROLE = "role"
BESIDE = "beside"
REPEATS, WHOLE = "repeats", "whole"
# How it is laid: on a table as its family lies there, or as one of the family's other states.
LYING, PULLED, HUNG, HUNG_BY_ENDS, WORN = "lying", "pulled", "hung", "hung-by-ends", "worn"
WAYS_TO_LIE = (LYING, PULLED, HUNG, HUNG_BY_ENDS, WORN)
# Of a part that has no other usual measure: common practice, no source.
USUAL_GIRTHS_MM = {WRIST: defaults.WRIST_MM, FINGER: 54.0, NECK: 400.0}
# What changes how the rings are looked at, and nothing that is worked out of them.
_LOOKS = (
    *("length", "width", "paint", "view", "laid", "worn", "girth", "wires", "lengths"),
    *("metal", "temper", "mandrel", "kerf", "shelf"),
)
# Longer texts than any size or name needs are not looked at.
LONGEST, LONGEST_PAINT = 60, 400
# An address that the page makes has fewer parts.
_MOST_PARTS = 40
# Between rings of several sizes.
SEPARATOR = ";"


def longest(name: str) -> int:
    """How many characters one of the texts of a choice may have."""
    return LONGEST_PAINT if name in ("paint", "second") else LONGEST


@dataclass(frozen=True)
class Wanted:
    """One weave of one ring, as typed.

    Attributes
    ----------
    weave : a weave's name, as the library has it
    wire, inner : the ring, each with its unit
    length : of the piece
    width : the least width of a sheet; empty for the usual one
    paint : ``BY_ROLE``, or metals as :mod:`ringwright.page.worked_out.colours` reads them
    view : ``REPEATS`` to look at a few repeats, ``WHOLE`` for the whole piece
    laid : one of ``WAYS_TO_LIE``
    worn, girth : what it is worn on, ``wrist``, ``finger`` or ``neck``, and how far it is round
        that; empty for the usual
    wires, lengths : the units that these are said in, see :mod:`ringwright.page.state.units`
    metal, temper : of the wire
    mandrel : what the rings are wound on, which then decides on ``inner``; empty where ``inner``
        is given
    kerf : of the saw; empty for that of the shop file, or for shears
    shelf : the name of a wire of the shop file, which then decides on wire, metal and temper
    second : the maker's own rings of other sizes, each as ``answers.second`` reads it, with
        ``;`` between; empty for rings in the proportion of the rule
    """

    weave: str = "barrel"
    wire: str = "0.9mm"
    inner: str = "3.2mm"
    length: str = "180mm"
    width: str = ""
    paint: str = BY_ROLE
    view: str = REPEATS
    laid: str = LYING
    worn: str = WRIST
    girth: str = ""
    wires: str = MM
    lengths: str = MM
    metal: str = "copper"
    temper: str = "soft"
    mandrel: str = ""
    kerf: str = ""
    shelf: str = ""
    second: str = ""

    def size(self) -> RingSize:
        """The ring.

        Raises
        ------
        BadInput
            When the wire or the diameter cannot be read.
        """
        return RingSize.from_text(self.wire, self.inner, None, None)

    @property
    def ratio(self) -> float | None:
        """The aspect ratio of the ring; None where the wire or the diameter cannot be read."""
        try:
            return self.size().aspect_ratio
        except BadInput:
            return None

    def length_mm(self) -> float:
        """The length of the piece; raises BadInput where it cannot be read."""
        return parse_length(self.length, "length")

    def width_mm(self) -> float | None:
        """The least width, if there is one; raises BadInput where it cannot be read."""
        return parse_length(self.width, "width") if self.width else None

    def body(self) -> Body:
        """What it is worn on; raises BadInput where its measure cannot be read, or be."""
        return asked_body(**self._girth())

    def _girth(self) -> dict[str, str]:
        return {self.worn: self.girth or defaults.typed(USUAL_GIRTHS_MM[self.worn])}

    def state(self, rule: WeaveRule) -> RestState | None:
        """The state of a weave's family that it is wanted in; None for as its family is pictured.

        Raises
        ------
        BadInput
            As :meth:`body` does, or where a sheet is to be a necklace.
        """
        if self.way_of(rule) == WORN:
            return asked_state(rule, WORN, **self._girth())
        return next((state for state in rule.family.states if state.name == self.laid), None)

    def way_of(self, rule: WeaveRule) -> str:
        """One of ``WAYS_TO_LIE`` that the weave's family has."""
        return self.laid if self.laid in ways_of(rule.family) else LYING

    @property
    def seconds(self) -> tuple[str, ...]:
        """The maker's own rings of other sizes, one by one."""
        return tuple(filter(None, map(str.strip, self.second.split(SEPARATOR))))

    def woven(self, rule: WeaveRule) -> WeaveRule:
        """A weave with the maker's own rings of other sizes.

        Raises
        ------
        BadInput
            When they cannot be read, or the weave has none of that name.
        """
        return asked_second(rule, self.seconds)

    def ring_alone(self) -> Wanted:
        """The same in all that the solver is asked about: the ring, however it is made."""
        return replace(self, **{name: getattr(Wanted, name) for name in _LOOKS})

    @property
    def units(self) -> Units:
        """What wires and lengths are said in."""
        return Units(self.wires, self.lengths)

    def short_query(self) -> str:
        """As :meth:`query`, for who reads it: less what is as at the beginning."""
        plain = Wanted()
        always = ("weave", "wire", "inner")
        return urlencode(
            {
                name: text
                for name, text in self.told().items()
                if name in always or text != getattr(plain, name)
            }
        )

    def query(self) -> str:
        """The choice as the end of an address, without the question mark."""
        return urlencode({name: text for name, text in self.told().items() if text})

    def told(self) -> dict[str, str]:
        """Every text of the choice, by its name."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


def ways_of(family: Family) -> set[str]:
    """Those of ``WAYS_TO_LIE`` in which pieces of a family lie."""
    return {LYING, *(state.name for state in family.states)}


def from_query(text: str) -> Wanted:
    """The choice an address tells; what it does not tell is as at the beginning."""
    return from_mapping(dict(query_parts(text)))


def from_mapping(given: Mapping[str, str]) -> Wanted:
    """The choice from texts by name; other names are left alone.

    Raises
    ------
    BadInput
        When a text is too long, or the colouring or a unit is not known.
    """
    known = {field.name for field in fields(Wanted)}
    told = {name: text.strip() for name, text in given.items() if name in known and text.strip()}
    for name, text in told.items():
        if len(text) > longest(name):
            raise BadInput(f"{name} is longer than {longest(name)} characters; give a shorter one.")
    wanted = replace(Wanted(), **told)
    if wanted.paint != BY_ROLE and "=" not in wanted.paint:
        parse_pattern(wanted.paint, "paint")
    if wanted.view not in (REPEATS, WHOLE):
        raise BadInput(f"view is {REPEATS} or {WHOLE}, not {wanted.view[:30]!r}.")
    if wanted.laid not in WAYS_TO_LIE:
        raise BadInput(f"laid is one of {', '.join(WAYS_TO_LIE)}, not {wanted.laid[:30]!r}.")
    if wanted.worn not in PARTS:
        raise BadInput(f"worn is one of {', '.join(PARTS)}, not {wanted.worn[:30]!r}.")
    Units(wanted.wires, wanted.lengths)
    return wanted


def beside_query(kept: Sequence[Wanted]) -> str:
    """Choices that are kept beside, to be joined to the end of an address."""
    return "".join("&" + urlencode({BESIDE: one.query()}) for one in kept)


def beside_from_query(text: str) -> tuple[Wanted, ...]:
    """The choices that an address tells to keep beside.

    Raises
    ------
    BadInput
        As :func:`from_mapping` does.
    """
    return tuple(from_query(one) for name, one in query_parts(text) if name == BESIDE)


def query_parts(text: str) -> list[tuple[str, str]]:
    """The end of an address in its parts; raises BadInput where there are too many."""
    try:
        return parse_qsl(text, max_num_fields=_MOST_PARTS)
    except ValueError:
        raise BadInput(
            f"The address has more than {_MOST_PARTS} parts; the page begins as it does without "
            "them."
        ) from None
