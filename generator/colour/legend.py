"""A legend: which metal the colours of a picture, or the marks of a table, stand for."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from ringwright.base.errors import BadInput
from ringwright.base.wording import quoted
from ringwright.colour.looks import paint_named
from ringwright.colour.near import HEX, nearly, rgb_of, why_not
from ringwright.metals.metal import Metal

OPTION = "--legend"
_LONGEST_TEXT = 4000


@dataclass(frozen=True)
class Legend:
    """What a grid's cells stand for.

    Attributes
    ----------
    paints : metals, each by its colour as ``#rrggbb`` or by the mark of a table's cell
    """

    paints: Mapping[str, str]

    def paint_of(self, cell: str, said: str) -> str:
        """The metal of a cell, or the cell itself where it is no colour and not in the legend.

        Parameters
        ----------
        said : what complaints call the grid

        Raises
        ------
        BadInput
            When it is a colour that is not clearly one of the legend's.
        """
        key = cell.strip().lower()
        if (paint := self.paints.get(key)) is not None:
            return paint
        if not HEX.fullmatch(key):
            return cell
        colours = {one: rgb_of(one) for one in self.paints if HEX.fullmatch(one)}
        meant = nearly(rgb_of(key), colours) if colours else None
        if meant is None:
            why = why_not(rgb_of(key), colours) if colours else "is not in the legend"
            raise BadInput(
                f"{said} has the colour {key}, which {why}; add it to {OPTION}, e.g. "
                f'{OPTION} "{key}=copper".'
            )
        return self.paints[meant]


def parse_legend(text: str, own: Collection[Metal] = ()) -> Legend:
    """Read ``#b46a3c=copper,#1f3a93=niobium``, or ``x=copper,o=brass`` for a table.

    Parameters
    ----------
    own : metals of the maker's own

    Raises
    ------
    BadInput
        When it cannot be read, or gives a colour or a mark twice.
    """
    if len(text) > _LONGEST_TEXT:
        raise BadInput(f"{OPTION} is longer than {_LONGEST_TEXT} characters; give a shorter list.")
    paints: dict[str, str] = {}
    for part in text.split(","):
        key, mark, name = (piece.strip() for piece in part.partition("="))
        key = key.lower()
        if not mark or not key or not name:
            raise BadInput(
                f"{OPTION} has {quoted(part.strip()[:40])}, which is not COLOUR=METAL; give e.g. "
                f'{OPTION} "#b46a3c=copper,#d9b054=brass".'
            )
        if key in paints:
            raise BadInput(f"{OPTION} gives {key[:40]} twice; give each colour once.")
        paints[key] = paint_named(name, OPTION, own)
    return Legend(paints)
