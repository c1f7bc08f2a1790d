"""The exceptions whose message a maker is meant to read."""


class BadInput(Exception):
    """Input that cannot be used.

    The message is one plain sentence that says what was wrong, what was
    expected and what to do about it. The command line prints it as it stands
    and ends with exit status 2; no other text is added.
    """


class NoRest(Exception):
    """A size at which the weave exists, but for which no resting place was found.

    The message is one plain sentence, as for :class:`BadInput`; the exit status is 1.
    """
