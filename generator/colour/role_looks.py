"""How rings are told apart by their role in a lesson: the same in a printed sample and in pictures.

Colour, shape and name each say it alone, so that none of them is needed to tell rings apart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ringwright.colour.looks import ROLE_COLOURS, Look

# Fine grooves: so wide in wires, and half as deep, with flanks at 45 degrees; about the wire's
# middle, from the side that looks away from the ring's centre. Two of them, so that one is seen
# from wherever the ring is seen.
GROOVE_WIDE = 0.24
GROOVES_RAD = (math.pi / 4.0, -math.pi / 4.0)


@dataclass(frozen=True)
class RoleLook:
    """How rings of one role look.

    Attributes
    ----------
    role : as rules have it
    name : of such rings, as sheets have it
    when : what the role means to who weaves
    look : their colour, and its name
    shape, grooves_rad : what is felt and seen on their wire; where grooves run around it
    """

    role: str
    name: str
    when: str
    look: Look
    shape: str
    grooves_rad: tuple[float, ...]

    @property
    def rgb(self) -> tuple[int, int, int]:
        """The colour as whole numbers to 255."""
        red, green, blue = (round(255 * part) for part in self.look.colour)
        return red, green, blue

    @property
    def hex(self) -> str:
        """The colour as #RRGGBB."""
        return "#" + "".join(f"{part:02X}" for part in self.rgb)

    @property
    def words(self) -> str:
        """A line of a legend."""
        return f"{self.name}: {self.look.metal}, {self.shape}; {self.when}"


ROLE_LOOKS = {
    look.role: look
    for look in (
        RoleLook(
            "open",
            "open rings",
            "opened to be put in",
            ROLE_COLOURS["open"],
            "two fine grooves all around",
            GROOVES_RAD,
        ),
        RoleLook(
            "closed",
            "closed rings",
            "closed before weaving begins",
            ROLE_COLOURS["closed"],
            "smooth",
            (),
        ),
    )
}
