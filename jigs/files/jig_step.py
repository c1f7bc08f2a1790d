"""An assembled jig as a STEP file: every part a solid of its own, named and coloured."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from ringwright.jigs.parts.jig import Bought, Jig

# The kernel writes the time of day, counts placements since the program began, and lists
# colours in the order of memory addresses. Here equal jigs give equal files.
_FILE_NAME = re.compile(r"FILE_NAME\(.*?\);", re.DOTALL)
_BROKEN_LINE = re.compile(r"(?<!;)\n *")
_ENTITY = re.compile(r"#([0-9]+) = (.*);")
_REFERENCE = re.compile(r"#([0-9]+)")
_PLACEMENT = re.compile(r"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\()'[0-9]+'")
_NAME = "FILE_NAME('{}','1970-01-01T00:00:00',(''),(''),'ringwright','ringwright','');"


def write_jig_step(jig: Jig, path: Path) -> None:
    """Write every placed thing that has a body.

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    import cadquery as cq
    from cadquery.occ_impl.exporters.assembly import exportAssembly

    whole = cq.Assembly(name=jig.name)
    for place in jig.placed:
        item = jig.item(place.item)
        shape = item.body if isinstance(item, Bought) else item.solid
        if shape is not None:
            colour = cq.Color(*item.colour, 1.0)
            # A copy: the kernel may forget the name of a shape that is placed twice.
            whole.add(shape.copy(), name=place.name, loc=place.at, color=colour)
    # Curves in the plane of every face can be worked out again, and are half of a file.
    if not exportAssembly(whole, str(path), write_pcurves=False):
        raise OSError(f"{path} was not written")
    text = _repeatable(Path(path).read_text(encoding="ascii"), jig.name)
    Path(path).write_text(text, encoding="ascii", newline="\n")


def _repeatable(text: str, name: str) -> str:
    """The same file with its entities in an order that depends on nothing but what they say."""
    text = _FILE_NAME.sub(_NAME.format(name), _BROKEN_LINE.sub("", text), count=1)
    head, data = text.split("DATA;\n", 1)
    entities = {
        int(found[1]): _PLACEMENT.sub(r"\1''", found[2]) for found in _ENTITY.finditer(data)
    }
    needs = {
        number: [int(each) for each in _REFERENCE.findall(body)]
        for number, body in entities.items()
    }
    digests: dict[int, str] = {}
    for number in _needed_first(entities, needs):
        said = _REFERENCE.sub(lambda found: digests[int(found[1])], entities[number])
        digests[number] = hashlib.sha256(said.encode()).hexdigest()
    order = _in_order(needs, digests)
    new = {number: index for index, number in enumerate(order, start=1)}
    lines = [
        f"#{new[number]} = "
        + _REFERENCE.sub(lambda found: f"#{new[int(found[1])]}", entities[number])
        for number in order
    ]
    return f"{head}DATA;\n" + ";\n".join(lines) + ";\nENDSEC;\nEND-ISO-10303-21;\n"


def _in_order(needs: dict[int, list[int]], digests: dict[int, str]) -> list[int]:
    """All entities, each after what it needs.

    What nothing else needs comes by what it says. Of two that say the same, such as the colours
    of one part that is placed twice, the first is that which colours what came first.
    """
    used = {each for needed in needs.values() for each in needed}
    roots = sorted(needs.keys() - used, key=digests.__getitem__)
    said = Counter(digests[root] for root in roots)
    order = _needed_first([root for root in roots if said[digests[root]] == 1], needs)
    place = {number: index for index, number in enumerate(order)}
    alike = {
        root: sorted(place.get(each, len(needs)) for each in _needed_first([root], needs))
        for root in roots
        if said[digests[root]] > 1
    }
    roots = sorted(alike, key=lambda root: (digests[root], alike[root]))
    return list(dict.fromkeys([*order, *_needed_first(roots, needs)]))


def _needed_first(numbers: Iterable[int], needs: dict[int, list[int]]) -> list[int]:
    """The entities and all they need, each after what it needs."""
    order: dict[int, None] = {}
    stack = list(numbers)[::-1]
    while stack:
        number = stack[-1]
        missing = [each for each in needs[number] if each not in order]
        if number in order or not missing:
            stack.pop()
            order.setdefault(number)
        else:
            stack += missing[::-1]
    return list(order)
