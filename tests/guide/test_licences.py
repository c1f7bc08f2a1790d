"""What the README says of licences is what the installed packages say of themselves."""

import re
from collections.abc import Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution

from packaging.requirements import Requirement

from tests.tools.source_tree import settings
from tests.tools.written_for_makers import README

_SECTION = README.read_text(encoding="utf-8").partition("## Licence")[2]
# A copyleft of any kind: who passes the program on has to know of it.
_COPYLEFT = re.compile(r"GPL|General Public|MPL|Mozilla|EPL|Eclipse|CDDL|EUPL|CeCILL", re.I)
_EXTRAS = ("cluster", "meshes")


def _told() -> dict[str, str]:
    """Licence by library, as the README's table has it."""
    told = {}
    for licence, names in re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", _SECTION, re.MULTILINE):
        for name in re.split(r",|; on demand", re.sub(r"\(.*?\)", "", names)):
            told[name.strip()] = licence
    del told["libraries"]
    return told


def _wanted() -> list[Requirement]:
    project = settings()["project"]
    extras = project["optional-dependencies"]
    return [
        Requirement(one)
        for one in [*project["dependencies"], *(one for name in _EXTRAS for one in extras[name])]
    ]


def _licence(package: Distribution) -> str:
    """What a package says of its licence: an expression, marks, or failing these a line of text."""
    about = package.metadata
    marks = [mark for mark in about.get_all("Classifier") or () if mark.startswith("License ::")]
    expression = about.get("License-Expression")
    text = (about.get("License") or "").strip()
    # Some put the whole text of the licence there, in which others may be named.
    return " ".join([expression] if expression else [*marks, text[:100]])


def _brought() -> Iterator[Distribution]:
    """All that an install brings, with what it brings in turn."""
    waiting, met = _wanted(), set()
    while waiting:
        one = waiting.pop()
        key = (re.sub(r"[-_.]+", "-", one.name).lower(), *sorted(one.extras))
        if key in met:
            continue
        met.add(key)
        try:
            package = distribution(one.name)
        except PackageNotFoundError:
            # Not on this system.
            continue
        yield package
        for line in package.requires or ():
            further = Requirement(line)
            asked = ("", *one.extras)
            if not further.marker or any(further.marker.evaluate({"extra": e}) for e in asked):
                waiting.append(further)


def test_every_library_stands_in_the_table_with_its_own_licence():
    told = _told()
    assert sorted(told) == sorted(one.name for one in _wanted())
    for name, licence in told.items():
        said = _licence(distribution(name))
        family = re.escape("Python Software" if "Python" in licence else licence.split()[0])
        assert re.search(rf"(?<!\w){family}(?!-CMU)", said), (name, said)


def test_every_copyleft_that_is_brought_along_is_named():
    found = {one.name for one in _brought() if _COPYLEFT.search(_licence(one))}
    assert "fpdf2" in found
    assert {name for name in found if not re.search(rf"\b{name}\b", _SECTION)} == set()
