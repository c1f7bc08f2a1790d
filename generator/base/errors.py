"""The exceptions whose message a maker is meant to read."""

from __future__ import annotations

import re

# An option as it is typed, such as ``--clasp-price``. What stands in quotes was typed by the maker,
# or is a command to type, and stays as it is; a quote within or after a word is an apostrophe.
_QUOTED_OR_OPTION = re.compile(r"(?<!\w)(?:'[^']*'|\"[^\"]*\"|--(?P<option>[a-z][a-z0-9-]*))")


class _Sentence(Exception):
    """One plain sentence, in which an option stands as it is typed: ``--clasp-price``.

    ``str()`` gives it for who calls a function, where the same thing is ``clasp_price``. It ends
    with a full stop, whether or not it was written with one.
    """

    @property
    def typed(self) -> str:
        """For who types a command."""
        said = super().__str__()
        return said if said.endswith((".", "!", "?")) else f"{said}."

    @property
    def within(self) -> str:
        """The same to go into another sentence, with no full stop of its own."""
        return self.typed.removesuffix(".")

    def __str__(self) -> str:
        return _QUOTED_OR_OPTION.sub(_as_parameter, self.typed)


def _as_parameter(found: re.Match[str]) -> str:
    option = found["option"]
    return found[0] if option is None else option.replace("-", "_")


class BadInput(_Sentence):
    """Input that cannot be used.

    The message is one plain sentence that says what was wrong, what was expected and what to do
    about it. The command line prints it and ends with exit status 2; no other text is added.
    It names an option as a command does, ``--width``; ``str()`` of it names the parameter,
    ``width``.
    """


class NotWritten(BadInput):
    """A file that could not be written.

    The message is one plain sentence, as for :class:`BadInput`; the exit status is 3.
    """


class NoRest(_Sentence):
    """A size at which the weave exists, but for which no resting place was found.

    The message is one plain sentence, as for :class:`BadInput`; the exit status is 1.
    """
