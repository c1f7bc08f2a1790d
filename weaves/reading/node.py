"""A value of a rule file, with its place in the file for complaints."""

from __future__ import annotations

from collections.abc import Callable, Collection

from ringwright.base.toml_file import Node
from ringwright.weaves.reading.keys import A_NAME, A_VECTOR, LARGEST_COORDINATE, NAME
from ringwright.weaves.rule import Vector, WeaveRule

# The rule that a text in a rule file names: one of the library, or a file beside it.
BaseOf = Callable[["RuleNode"], WeaveRule]


class RuleNode(Node):
    """A value of a rule file."""

    TABLES = ("ring", "size", "link", "start", "step", "change", "section")

    def name(self, taken: Collection[str]) -> str:
        """A name of a ring or size that is not among those already taken."""
        if not isinstance(self.value, str) or not NAME.fullmatch(self.value):
            raise self.wrong(A_NAME)
        if self.value in taken:
            raise self.fault(f"is {self.value!r} again: expected a name of its own")
        return self.value

    def vector(self) -> Vector:
        """Three coordinates in units of the core radius."""
        x, y, z = (
            item.number(-LARGEST_COORDINATE, LARGEST_COORDINATE)
            for item in self.items(A_VECTOR, 3, 3)
        )
        return (x, y, z)
