"""What a maker has chosen on the page, as data and as the end of an address."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from urllib.parse import parse_qsl, urlencode

from generator.bench.units import MM, Units
from generator.errors import BadInput
from generator.looks import METALS
from generator.sizes import RingSize, parse_length

BY_ROLE = "role"
# Longer texts than any size or name needs are not looked at.
LONGEST = 60


@dataclass(frozen=True)
class Wanted:
    """One weave of one ring, as typed.

    Attributes
    ----------
    weave : a weave's name, as the library has it
    wire, inner : the ring, each with its unit
    length : of the piece
    paint : ``BY_ROLE``, or the metal that all rings are shown in
    wires, lengths : the units that these are said in, see :mod:`generator.bench.units`
    metal, temper : of the wire
    mandrel : what the rings are wound on, which then decides on ``inner``; empty where ``inner``
        is given
    kerf : of the saw; empty for that of the shop file, or for shears
    shelf : the name of a wire of the shop file, which then decides on wire, metal and temper
    """

    weave: str = "barrel"
    wire: str = "0.9mm"
    inner: str = "3.2mm"
    length: str = "180mm"
    paint: str = BY_ROLE
    wires: str = MM
    lengths: str = MM
    metal: str = "copper"
    temper: str = "soft"
    mandrel: str = ""
    kerf: str = ""
    shelf: str = ""

    def size(self) -> RingSize:
        """The ring.

        Raises
        ------
        BadInput
            When the wire or the diameter cannot be read.
        """
        return RingSize.from_text(self.wire, self.inner, None, None)

    def length_mm(self) -> float:
        """The length of the piece; raises BadInput where it cannot be read."""
        return parse_length(self.length, "length")

    @property
    def units(self) -> Units:
        """What wires and lengths are said in."""
        return Units(self.wires, self.lengths)

    def query(self) -> str:
        """The choice as the end of an address, without the question mark."""
        told = {field.name: getattr(self, field.name) for field in fields(self)}
        return urlencode({name: text for name, text in told.items() if text})


def from_query(text: str) -> Wanted:
    """The choice an address tells; what it does not tell is as at the beginning."""
    return from_mapping(dict(parse_qsl(text, max_num_fields=40)))


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
        if len(text) > LONGEST:
            raise BadInput(f"{name} is longer than {LONGEST} characters; give a shorter one.")
    wanted = replace(Wanted(), **told)
    if wanted.paint != BY_ROLE and wanted.paint not in METALS:
        metals = ", ".join(METALS)
        raise BadInput(f"paint is {BY_ROLE} or a metal ({metals}), not {wanted.paint[:30]!r}.")
    Units(wanted.wires, wanted.lengths)
    return wanted
