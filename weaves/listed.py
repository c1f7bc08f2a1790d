"""A weave as the Python API lists it: its name, what it is, and the rule itself."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ringwright.weaves.loader import list_rules
from ringwright.weaves.loader import load_rule as loaded
from ringwright.weaves.rule import CommonRange, WeaveRule


@dataclass(frozen=True, eq=False, repr=False)
class Weave:
    """A weave that can be asked about; every function that takes a weave's name takes it too.

    Attributes
    ----------
    rule : everything its file says
    """

    rule: WeaveRule

    @property
    def name(self) -> str:
        """The name it is listed under."""
        return self.rule.name

    @property
    def also_called(self) -> tuple[str, ...]:
        """Its other names in the trade."""
        return self.rule.trade_names

    @property
    def summary(self) -> str:
        """In a few words what it is."""
        return self.rule.summary

    @property
    def family(self) -> str:
        """What it makes: chain, screw, sheet, tube or piece."""
        return self.rule.family.name

    @property
    def common_aspect_ratio(self) -> CommonRange | None:
        """What makers weave it at, with where that is from; None where no source tells."""
        return self.rule.common_aspect_ratio

    def __repr__(self) -> str:
        return f"<Weave {self.name}: {self.family}, {len(self.rule.rings)} rings in a repeat>"


def weaves() -> tuple[Weave, ...]:
    """All weaves that come with the package, sorted by name.

    Returns
    -------
    tuple of Weave

    Examples
    --------
    >>> import ringwright as rw
    >>> [weave for weave in rw.weaves() if weave.name == "one-in-one"]
    [<Weave one-in-one: chain, 2 rings in a repeat>]
    """
    return tuple(Weave(rule) for rule in list_rules())


def load_rule(name_or_path: str | Path) -> Weave:
    """A weave by any of its names, or from a rule file of your own.

    Parameters
    ----------
    name_or_path : a ``Path``, and a text with a path separator or ending in ``.toml``, is a
        file; any other text is a name, in any spelling

    Returns
    -------
    Weave
        What every function that takes a weave's name takes too.

    Raises
    ------
    BadInput
        When no weave has that name, or the file is not a sound rule.

    Examples
    --------
    >>> import ringwright as rw
    >>> rw.load_rule("One in one").summary
    'each ring goes through the next, turned a quarter'
    """
    return Weave(loaded(name_or_path))
