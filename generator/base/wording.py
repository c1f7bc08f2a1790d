"""What sentences are put together of: names in quotes, choices, counts, the nearest of some names.

>>> either(["brass", "bronze", "copper"]), counted(1, "ring"), counted(2, "ring")
('brass, bronze or copper', '1 ring', '2 rings')
>>> perhaps("chek", ["check", "weave"])
'perhaps check is meant'
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

# So many letters of what was typed are repeated, and looked at.
SHOWN = 40


def quoted(text: str, longest: int = SHOWN) -> str:
    """Text in quotes, cut short, to be read and copied.

    As ``repr`` writes it, so that no mark in it can do anything to a terminal, but with a backslash
    left single, as it stands in a path on Windows.
    """
    return _in_quotes(text if len(text) <= longest else text[: longest - 3] + "...")


def quoted_path(path: object) -> str:
    r"""A file's name in quotes, all of it.

    >>> print(quoted_path("C:\\rings\\shop.toml"), quoted_path("two\nlines"))
    'C:\rings\shop.toml' 'two\nlines'
    """
    return _in_quotes(str(path))


def _in_quotes(text: str) -> str:
    return repr(text).replace("\\\\", "\\")


def either(choices: Sequence[str]) -> str:
    """Choices as a person lists them: one, two or more."""
    return _listed(choices, " or ")


def capitalised(text: str) -> str:
    """A text with its first letter large and all others as they are, as in names.

    Examples
    --------
    >>> capitalised("steel 316L")
    'Steel 316L'
    """
    return text[:1].upper() + text[1:]


def counted(count: int, noun: str) -> str:
    """A number of things, one or several."""
    return f"{count} {noun}{'' if count == 1 else 's'}"


def spanned(low: str, high: str) -> str:
    """Both ends of a range, with their unit once.

    >>> spanned("3.5 mm", "4.2 mm"), spanned("4 mm", "4 mm")
    ('3.5 to 4.2 mm', '4 mm')
    """
    return high if low == high else f"{low.rpartition(' ')[0]} to {high}"


def listed(names: Sequence[str]) -> str:
    """Names as a person lists them: one, two or more.

    >>> listed(["A", "B", "C"])
    'A, B and C'
    """
    return _listed(names, " and ")


def _listed(names: Sequence[str], last: str) -> str:
    return last.join(filter(None, (", ".join(names[:-1]), names[-1])))


def near(typed: str, names: Collection[str], most: int = 3) -> list[str]:
    """The names that come nearest to what was typed, the nearest first; empty where none does."""
    import difflib

    return difflib.get_close_matches(typed[:SHOWN], names, n=most)


def perhaps(typed: str, names: Collection[str], most: int = 3) -> str:
    """Which names may be meant, as part of a sentence; empty where none is near."""
    return perhaps_meant(near(typed, names, most))


def perhaps_meant(names: Sequence[str]) -> str:
    """That some names may be meant, as part of a sentence; empty where there are none."""
    return f"perhaps {either(names)} is meant" if names else ""
