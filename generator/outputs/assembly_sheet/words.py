"""The words of an assembly sheet, and the links read back from them.

Rings go by the numbers that the pictures show: in the order in which they come.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from ringwright.base.sizes import format_mm
from ringwright.colour.role_looks import ROLE_LOOKS
from ringwright.movement.order import Put, first_row, linked, moved, woven
from ringwright.piece.ends import gathered_by_one
from ringwright.piece.half_made import lies_on_table
from ringwright.weaves.rest_states import RestState
from ringwright.weaves.rule import Overlap, RingRef, StartRing, Step, WeaveRule

_RINGS = r"(?:rings? )(\d+(?:, \d+)*(?: and \d+)?)"
_TAKE = re.compile(
    r"Take open ring (\d+), ([^.]+?)(?:, and close it\.|\.(?: [^.]+\.)*? Close ring \1\.)"
)
_ANY_TAKE = re.compile(r"Take (?:\w+ )?ring")
_PART = re.compile(
    rf"(?:then )?(?:pick up closed {_RINGS}(?: \((up|down) through (?:it|them)\))?"
    rf"|(?:pass it )?(?:back )?(?:(up|down) )?through (?:both |all of )?{_RINGS})"
)
_REMARK = re.compile(
    rf"{_RINGS} (?:(?:lies|lie) (over|under)|(?:goes|go) (through|around) the overlap of) {_RINGS}",
    re.IGNORECASE,
)
_FOLDED = re.compile(
    rf"fold {_RINGS} back, one to each side, so that {_RINGS} (?:lies|lie) between them"
)
_BETWEEN = re.compile(rf"{_RINGS} lies between {_RINGS} and goes through neither", re.IGNORECASE)
# Which way a wire goes that comes from a side.
_UP_OR_DOWN = {"below": "up ", "above": "down ", "": ""}
_FROM = {"up": "below", "down": "above", None: ""}

# Words that are explained where a sheet first uses them, and how one sees that they were.
_UP_AND_DOWN = "Up is away from the table, down is towards it."
_LENS = "the lens-shaped opening that both share"
_NEARER = "where the two cross, it is {} your eye"
_EXPLAINED = {
    "sides": _UP_AND_DOWN,
    "over": _NEARER.split("{}")[0],
    "through": "through the overlap",
    "around": "around the overlap",
}
_TERMS = tuple(_EXPLAINED)
_SIDED = re.compile(r"\b(?:up|down) through (?:both |all of )?(?:rings?|it|them)\b")
_LIES = re.compile(r"Ring \d+ lies (over|under) rings? ")

# So many rings of a finished part get their numbers.
_NUMBERED = 12
# What the clasp's loop is called in its picture.
CLASP_LETTER = "C"

# Rings so near the beginning of a chain, in core radii, are its first ones.
_END = 0.3


@dataclass(frozen=True)
class Line:
    """What one step of the sheet says.

    Attributes
    ----------
    text : whole sentences
    ring : the ring put in; None for the start
    through : the rings that it goes through
    picked_up : those of them that come along closed
    part : the repeat, row or round, from 0; -1 for the start
    captive : closed rings that are laid in between, and that no ring goes through
    """

    text: str
    ring: int | None
    through: tuple[int, ...]
    picked_up: tuple[int, ...]
    part: int
    captive: tuple[int, ...] = ()


@dataclass(frozen=True)
class Remark:
    """A sentence on how some rings lie to others, read.

    Attributes
    ----------
    kind : "over" and "under", of the others; "through" and "around", of the overlap of the others;
        "between" the two others, and through neither
    """

    rings: tuple[int, ...]
    kind: str
    others: tuple[int, ...]


@dataclass(frozen=True)
class Told:
    """A ring that is put in, as read from the words alone.

    Attributes
    ----------
    through : the rings that it goes through
    sides : for each of them the side that it comes from, "above", "below" or "" where not said
    remarks : what is said, before the next ring is taken, on how rings lie; of the first ring of
        a text also what is said before it
    """

    ring: int
    through: tuple[int, ...]
    sides: tuple[str, ...]
    remarks: tuple[Remark, ...] = ()


def numbered(rule: WeaveRule) -> dict[RingRef, int]:
    """Every ring that the sheet shows, with its number: from 1, in the order in which they come."""
    refs = [start.ring for start in _start(rule)]
    for put in woven(rule):
        refs += [*put.picked_up, *put.captive, put.step.ring]
    return {ref: number for number, ref in enumerate(refs, start=1)}


def start_step(rule: WeaveRule, ring: RingRef, there: Collection[RingRef]) -> Step:
    """A ring of the start as a step: through what of the start is there and it is linked with."""
    like = next((step for step in rule.steps if step.ring.name == ring.name), None)
    step = Step(ring, tuple(ref for ref in there if linked(rule, ring, ref)))
    if like is None:
        return step
    told = like.with_refs(lambda ref: moved(rule, ref, ring.image))
    sides = dict(zip(told.through, told.sides, strict=False))
    said = tuple(sides.get(ref, "") for ref in step.through)
    return replace(step, sides=said if sum(map(bool, said)) > 1 else ())


def start_line(
    rule: WeaveRule, lay: LayNotes | None = None, known: Collection[str] = _TERMS
) -> Line | None:
    """What lies on the bench before the first repeat; None when that is nothing.

    Parameters
    ----------
    lay : how the rings of the start have to lie
    known : as in :func:`step_line`
    """
    if not rule.start:
        return None
    numbers, notes = numbered(rule), lay or LayNotes()
    loose: list[int] = []
    takes: list[str] = []
    there: list[RingRef] = []
    for start in _start(rule):
        step = start_step(rule, start.ring, there)
        if step.through:
            takes += _take(numbers[start.ring], _way(rule, step, numbers, notes))
        else:
            loose.append(numbers[start.ring])
        there.append(start.ring)
    text = f"Start with closed {_rings(sorted(loose))}."
    if lies_on_table(rule):
        # Laid out first, they can be let go before the open one comes.
        them = "it" if len(loose) == 1 else f"them{_in_a_row(rule, numbers, loose)}"
        where = f"Lay {them} on a table before you as the picture shows."
        told = [where, *notes.then, *takes, *notes.leans]
    else:
        hung = sorted(numbers[ref] for ref in first_row(rule, there))
        whole = "it" if len(there) == 1 else "them"
        which = whole if len(hung) == len(there) else f"{whole} by {_rings(hung)}"
        told = [*takes, f"Hang {which} from a hook or a paper clip."]
    text = " ".join([text, *_explained(told, known)])
    return Line(text, None, (), (), -1)


def _in_a_row(rule: WeaveRule, numbers: Mapping[RingRef, int], loose: Collection[int]) -> str:
    """Where rings of the start lie one after the other along the chain, that they do."""
    at = [_place(rule, ref)[0] for ref, number in numbers.items() if number in loose]
    in_order = all(before < after - _END for before, after in pairwise(at))
    return " in a row from left to right" if in_order else ""


@dataclass(frozen=True)
class LayNotes:
    """Sentences on how rings have to lie: before a ring is put in, and once it is.

    ``rings`` are the numbers of the rings that they name, ``back`` of those that the ring goes
    through against its way through the ring before, ``leans`` how it leans once it is there.
    """

    first: tuple[str, ...] = ()
    then: tuple[str, ...] = ()
    rings: tuple[int, ...] = ()
    back: tuple[int, ...] = ()
    leans: tuple[str, ...] = ()


def step_line(
    rule: WeaveRule,
    put: Put,
    numbers: Mapping[RingRef, int],
    lay: LayNotes | None = None,
    known: Collection[str] = _TERMS,
) -> Line:
    """One step in words.

    Parameters
    ----------
    put : the step
    numbers : as :func:`numbered` gives them
    lay : what to say on how the rings have to lie
    known : those of ``_TERMS`` that a step before has explained; the others are, where used
    """
    picked = tuple(numbers[ref] for ref in put.picked_up)
    through = tuple(numbers[ref] for ref in put.step.through)
    lay = lay or LayNotes()
    parts = _way(rule, put.step, numbers, lay, put.picked_up)
    step = replace(put.step, overlaps=overlaps_told(rule).get(put.step.ring, ()))
    beside, slid = _beside_words(step, numbers), _slide_words(rule, step, numbers)
    captive = tuple(numbers[ref] for ref in put.captive)
    # What is done while the ring stands open is told before it is closed.
    doing = [*beside, *slid] if slid else []
    if captive:
        doing.append(
            f"Before you close it, lay closed {_rings(captive)} in between: no ring goes "
            "through it, the rings around it keep it in."
        )
    then = [
        *lay.leans,
        *([] if slid else beside),
        *_overlap_words(rule, step, numbers, known),
        *lay.then,
    ]
    told = [*lay.first, *_take(numbers[step.ring], parts, doing), *then]
    text = " ".join(_explained(told, known))
    return Line(text, numbers[put.step.ring], through, picked, put.part, captive)


def _way(
    rule: WeaveRule,
    step: Step,
    numbers: Mapping[RingRef, int],
    lay: LayNotes,
    picked_up: Collection[RingRef] = (),
) -> list[str]:
    """A ring's way through others, part by part."""
    parts: list[str] = []
    before: RingRef | None = None
    sides = dict(zip(step.through, step.sides, strict=False))
    turns = {ref for ref in step.through if numbers[ref] in lay.back}
    for group in _groups(rule, step, picked_up, turns):
        these = sorted(numbers[ref] for ref in group)
        way = _UP_OR_DOWN[sides.get(group[0], "")]
        if group[0] in picked_up:
            how = f" ({way}through {'it' if len(these) == 1 else 'them'})" if way else ""
            parts.append(f"pick up closed {_rings(these)}{how}")
            continue
        # Towards the beginning of a chain, and the other way through.
        back = not way and before is not None and group[0].image[0] < before.image[0]
        back = back and numbers[group[0]] in lay.back
        verb = "" if parts and not parts[-1].startswith("pick") else "pass it "
        parts.append(f"{verb}{'back ' * back}{way}{_through(these)}")
        before = group[0]
    return parts


def lay_words(rule: WeaveRule, step: Step, numbers: Mapping[RingRef, int]) -> list[str]:
    """What a step says on how rings lie, of rings that the sheet shows."""
    step = replace(step, overlaps=overlaps_told(rule).get(step.ring, ()))
    slid = _slide_words(rule, step, numbers)
    return [*_beside_words(step, numbers), *slid, *_overlap_words(rule, step, numbers)]


def overlaps_told(rule: WeaveRule) -> dict[RingRef, tuple[Overlap, ...]]:
    """For rings put in, the overlaps that are told with them: once all that they name is there."""
    puts = list(woven(rule))
    every = [start.ring for start in rule.start]
    came = dict.fromkeys(every, -1)
    for at, put in enumerate(puts):
        came |= dict.fromkeys((*put.captive, *put.new), at)
    told: dict[RingRef, list[Overlap]] = {}
    for overlap in (each for put in puts for each in put.step.overlaps):
        if not came.keys() >= {*overlap.of}:
            continue
        pair = max(came[ref] for ref in overlap.of)
        others = [ref for ref in (*overlap.through, *overlap.around) if ref in came]
        for at in sorted({pair, *(max(pair, came[ref]) for ref in others)} - {-1}):
            now = [ref for ref in others if max(pair, came[ref]) == at]
            through, around = (
                tuple(ref for ref in refs if ref in now)
                for refs in (overlap.through, overlap.around)
            )
            told.setdefault(puts[at].step.ring, []).append(Overlap(overlap.of, through, around))
    return {ring: tuple(overlaps) for ring, overlaps in told.items()}


def _beside_words(step: Step, numbers: Mapping[RingRef, int]) -> list[str]:
    """Over and under which others the ring of a step lies, of those that the sheet shows."""
    said = []
    for kind, every in (("over", step.over), ("under", step.under)):
        if others := sorted(numbers[ref] for ref in every if ref in numbers):
            them = "it" if len(others) == 1 else "them"
            plain = beside_words(numbers[step.ring], kind, others)
            said.append(f"{plain.removesuffix('.')}, not through {them}.")
    return said


def _slide_words(rule: WeaveRule, step: Step, numbers: Mapping[RingRef, int]) -> list[str]:
    """How the ring of a step and the other of its pair are laid, so that they overlap."""
    said = []
    for pair in dict.fromkeys(each.of for each in step.overlaps if step.ring in each.of):
        way = "across" if _near_and_far(rule, pair) else "along"
        sides = ""
        if lies_on_table(rule) and (nearer := _near_and_far(rule, pair)):
            near, far = (numbers[ref] for ref in nearer)
            sides = f" ring {near} toward you and ring {far} away from you,"
        said.append(
            f"Slide {_rings(sorted(numbers[ref] for ref in pair))} apart {way} the "
            f"{rule.family.whole},{sides} so that they overlap only in the middle."
        )
    return said


def _near_and_far(rule: WeaveRule, pair: Sequence[RingRef]) -> tuple[RingRef, ...]:
    """Of two rings beside each other across the piece the one nearer to the maker, the other."""
    (x0, y0), (x1, y1) = (_place(rule, ref) for ref in pair)
    if abs(x1 - x0) >= abs(y1 - y0):
        return ()
    return tuple(pair) if y0 < y1 else tuple(reversed(pair))


def _overlap_words(
    rule: WeaveRule,
    step: Step,
    numbers: Mapping[RingRef, int],
    known: Collection[str] = _TERMS,
) -> list[str]:
    """What goes through and around the overlaps that are told with a step."""
    said = []
    new = {"through", "around"} - {*known}
    for overlap in step.overlaps:
        pair = _rings(sorted(numbers[ref] for ref in overlap.of))
        for kind, every in (("through", overlap.through), ("around", overlap.around)):
            if not (these := sorted(numbers[ref] for ref in every)):
                continue
            go = "goes" if len(these) == 1 else "go"
            remark = f"{_rings(these).capitalize()} {go} {kind} the overlap of {pair}"
            if kind in new:
                lens = _LENS if "through" in new else "that opening"
                hoop = f"{'it is' if len(these) == 1 else 'each is'} a hoop around {lens}"
                around = f"{hoop}, {_hoop_way(rule, overlap, numbers)}"
                remark += f": {f'through {_LENS}' if kind == 'through' else around}"
                new.remove(kind)
            said.append(f"{remark}.")
    return said


def _hoop_way(rule: WeaveRule, overlap: Overlap, numbers: Mapping[RingRef, int]) -> str:
    """How a ring goes that goes around an overlap."""
    one, two = sorted(overlap.of, key=numbers.__getitem__)
    here, there = "one side of it", "the other"
    if lies_on_table(rule) and (nearer := _near_and_far(rule, overlap.of)):
        (one, two), here, there = nearer, "your side of it", "the far side"
    return f"through ring {numbers[one]} on {here} and through ring {numbers[two]} on {there}"


def _explained(told: Sequence[str], known: Collection[str]) -> list[str]:
    """Sentences, with what up and down, over and under mean beside the first that says so."""
    said: list[str] = []
    new = {"sides", "over"} - {*known}
    for each in told:
        lies = _LIES.match(each)
        if lies and "over" in new:
            nearer = "nearer to" if lies[1] == "over" else "farther from"
            said.append(f"{each.removesuffix('.')}: {_NEARER.format(nearer)}.")
            new.remove("over")
        else:
            said.append(each)
        if _SIDED.search(each) and "sides" in new:
            said.append(_UP_AND_DOWN)
            new.remove("sides")
    return said


def lines(rule: WeaveRule, lay: Mapping[RingRef, LayNotes] | None = None) -> tuple[Line, ...]:
    """The whole sheet's steps, the start before them.

    Parameters
    ----------
    lay : for a ring that is put in, how the rings have to lie
    """
    said, numbers = lay or {}, numbered(rule)
    opened = [each.ring for each in _start(rule)][-1:]
    known: set[str] = set()
    start = start_line(rule, said.get(opened[0]) if opened else None, known)
    found = [] if start is None else [start]
    for put in woven(rule):
        known |= {term for line in found[-1:] for term in _TERMS if _EXPLAINED[term] in line.text}
        found.append(step_line(rule, put, numbers, said.get(put.step.ring), known))
    return tuple(found)


def fold_words(twins: tuple[int, int], between: Sequence[int]) -> str:
    """How two rings of a pair are laid to both sides of others."""
    one, two = sorted(twins)
    return (
        f"First fold rings {one} and {two} back, one to each side, so that "
        f"{_rings(sorted(between))} {'lies' if len(between) == 1 else 'lie'} between them."
    )


def beside_words(ring: int, kind: str, others: Sequence[int]) -> str:
    """That a ring lies over, or under, others where they cross."""
    return f"Ring {ring} lies {kind} {_rings(others)}."


def leaning_words(ring: int, near: str) -> str:
    """Which half of a ring is on top.

    Parameters
    ----------
    near : whether the half toward the maker is "over" or "under" the rings gone through
    """
    far = "under" if near == "over" else "over"
    return (
        f"The half of ring {ring} toward you lies {near} the rings that it goes through, the half "
        f"away from you {far} them."
    )


def between_words(ring: int, pair: tuple[int, int]) -> str:
    """That a ring lies between two rings of a pair, which it is not linked with."""
    one, two = sorted(pair)
    return f"Ring {ring} lies between rings {one} and {two} and goes through neither."


def not_through_words(ring: int, others: Sequence[int]) -> str:
    """That a ring does not go through others that one could take by mistake."""
    return f"Ring {ring} does not go through {_rings(sorted(others))}."


def read_back(text: str) -> tuple[Told, ...]:
    """The rings put in by a text, the way of each, and how rings lie, from the words alone.

    Raises
    ------
    ValueError
        When a sentence about a ring that is taken is not built as ours are.
    """
    found = []
    takes = list(_TAKE.finditer(text))
    ends = [*(take.start() for take in takes[1:]), len(text)]
    for take, end in zip(takes, ends, strict=False):
        ways = _split(take[2])
        through = tuple(ring for rings, _ in ways for ring in rings)
        sides = tuple(side for rings, side in ways for _ in rings)
        # What is done before it is closed counts as well, and before the first is taken.
        first = text[: take.start()] if take is takes[0] else ""
        remarks = read_remarks(f"{first}{text[take.end(2) : end]}")
        found.append(Told(int(take[1]), through, sides, remarks))
    if len(found) != len(_ANY_TAKE.findall(text)):
        raise ValueError(f"not a step of an assembly sheet: {text!r}")
    return tuple(found)


def read_remarks(text: str) -> tuple[Remark, ...]:
    """What a text says on how rings lie."""
    beside = [
        Remark(_numbers(rings), over or through, _numbers(others))
        for rings, over, through, others in _REMARK.findall(text)
    ]
    between = [(rings, pair) for pair, rings in _FOLDED.findall(text)] + _BETWEEN.findall(text)
    return (
        *beside,
        *(Remark(_numbers(rings), "between", _numbers(pair)) for rings, pair in between),
    )


def _numbers(said: str) -> tuple[int, ...]:
    return tuple(int(number) for number in re.findall(r"\d+", said))


def _split(way: str) -> list[tuple[tuple[int, ...], str]]:
    """The parts of a ring's way: the rings of each, and the side from which they are passed."""
    parts = []
    at = 0
    while at < len(way):
        part = _PART.match(way, at)
        if part is None:
            raise ValueError(f"not a way through rings: {way!r}")
        parts.append((_numbers(part[1] or part[4]), _FROM[part[2] or part[3]]))
        at = part.end()
        if at < len(way):
            if not way.startswith(", ", at):
                raise ValueError(f"not a way through rings: {way!r}")
            at += 2
    return parts


def _take(ring: int, parts: Sequence[str], doing: Sequence[str] = ()) -> list[str]:
    way = f"Take open ring {ring}, {', then '.join(parts)}"
    return [f"{way}.", *doing, f"Close ring {ring}."] if doing else [f"{way}, and close it."]


def _through(these: Sequence[int]) -> str:
    every = {1: "", 2: "both "}.get(len(these), "all of ")
    return f"through {every}{_rings(these)}"


def _rings(these: Sequence[int]) -> str:
    if len(these) == 1:
        return f"ring {these[0]}"
    *most, last = (str(each) for each in these)
    return f"rings {', '.join(most)} and {last}"


def _start(rule: WeaveRule) -> list[StartRing]:
    """The rings of the start, closed ones first: the open ones go through them."""
    return sorted(rule.start, key=lambda each: each.role == "open")


def _groups(
    rule: WeaveRule, step: Step, picked_up: Collection[RingRef], back: Collection[RingRef]
) -> list[list[RingRef]]:
    """The rings of a step's way in its order, those together that one says in one breath.

    Parameters
    ----------
    picked_up : those that come along closed
    back : those at which the way turns round
    """
    groups: list[list[RingRef]] = []
    sides = dict(zip(step.through, step.sides, strict=False))

    picked: list[RingRef] = []

    def follows(group: Sequence[RingRef], ref: RingRef) -> bool:
        if group is picked:
            return False
        if sides.get(ref) or sides.get(group[-1]):
            return sides[ref] == sides[group[-1]]
        return ref not in back and _together(rule, group[-1], ref)

    for ref in step.through:
        if ref in picked_up:
            if not picked or (sides and sides[ref] != sides[picked[-1]]):
                picked = []
                groups.append(picked)
            picked.append(ref)
        elif groups and follows(groups[-1], ref):
            groups[-1].append(ref)
        else:
            groups.append([ref])
    return groups


def _together(rule: WeaveRule, one: RingRef, other: RingRef) -> bool:
    """Whether two rings are at one place of the weave: in one repeat, or anywhere in a sheet."""
    return not rule.family.has_axis or one.image[0] == other.image[0]


# ---- the words around the steps ----

OPENING = (
    "Open every ring that is put in by turning its two ends sideways past each other with two "
    "pliers, as the pictures show; never pull them apart. Close it the same way, a little past "
    "and back, until the ends meet without a gap."
)
CAUTIONS = (
    "Cut ends and burrs are sharp, and ends of wire fly off when rings are cut: wear eye "
    "protection.",
    "Keep loose rings from small children, who may choke on them. Jewellery is not for bearing "
    "weight.",
    "If the metal's maker or the law where you live says otherwise, follow them.",
)
KEY = {
    "new": "number in a broken ring, vermilion: the ring to put in, drawn open with its gap",
    "carried": "number in a square, blue: a closed ring that it picks up",
    "through": "number in a white disc: a ring that is there already and that it goes through; "
    "where nothing is put in, just the ring's number",
    "near": "number in a pale disc: a ring that it does not go through, but that must lie as shown",
}
# Where colours tell the rings' roles, only its shape tells what a number means.
ROLE_KEY = {
    "new": "number in a broken ring: the ring to put in, drawn open with its gap",
    "carried": "number in a square: a closed ring that it picks up",
    "through": KEY["through"],
    "near": KEY["near"],
}


def pictures_words(rule: WeaveRule) -> str:
    """How the piece lies or hangs in the pictures, and from where they are seen."""
    same = (
        "All pictures are seen from the same side, unless a step says otherwise, and at the same "
        "scale; once the piece is too"
    )
    if any(line.picked_up for line in lines(rule)):
        same = (
            "A closed ring has a lower number than the ring that picks it up, so there are gaps "
            f"in the numbers of the rings put in. {same}"
        )
    if not lies_on_table(rule):
        return f"The piece hangs as it would from your hand. {same} long, they move down along it."
    if rule.family.has_rows:
        return (
            "The piece lies spread on a table before you, seen aslant from above; rows go from "
            f"left to right, and each further row lies farther from you. {same} large, they move "
            "along with it."
        )
    return (
        "The piece lies on a table before you, seen aslant from above, and grows to the right. "
        f"{same} long, they move along it."
    )


def part_title(rule: WeaveRule, part: int) -> str:
    """The heading of a part of the sheet; -1 is the start."""
    return "Start" if part < 0 else rule.family.parts[min(part, 1)]


def repeating(rule: WeaveRule) -> str:
    """What goes on for as long as one likes, in words; empty for a piece."""
    if not rule.family.repeats:
        return ""
    if rule.family.has_rows:
        return (
            "The first row goes on with steps like its last ones until the sheet is long enough. "
            "Every further row is joined to the row before, on the side away from you, and goes on "
            "in the same way."
        )
    before, now, after = _hung_on(rule)
    verb = "takes" if len(now) == 1 else "take"
    then = _rings(after) if after else "the next of their kind"
    first, again = part_steps(rule, 0), part_steps(rule, 1)
    # Without rings of a start the first ones are put in otherwise.
    same = f" as {_steps(first)}" if rule.start and len(first) == len(again) else " again"
    one = rule.family.repeat
    return (
        f"{_steps(again).capitalize()} {'is' if len(again) == 1 else 'are'} the same{same}, one "
        f"{one} further on: {_rings(now)} {verb} the place that {_rings(before)} had. Go on in "
        f"this way, with {then} in the {one} after that, until the piece is long enough."
    )


def part_steps(rule: WeaveRule, part: int) -> list[int]:
    """The numbers of the steps of a repeat, row or round."""
    return [step for step, put in enumerate(woven(rule), start=1) if put.part == part]


def _steps(these: Sequence[int]) -> str:
    """Steps that follow one another."""
    one, last = these[0], these[-1]
    if one == last:
        return f"step {one}"
    return f"steps {one} {'to' if last > one + 1 else 'and'} {last}"


def finishing(rule: WeaveRule, shown: bool = False) -> str:
    """How the piece gets its clasp, or hangs.

    Parameters
    ----------
    shown : whether there is a picture of the clasp's step
    """
    cares = "Last, run a fingertip over every ring: close any gap that catches, or change the ring."
    if _clasp_rings(rule) == 1:
        return (
            "Hang the piece by one more open ring through one of its outer rings and through what "
            f"it is to hang from, such as an ear wire, a chain or the next piece. {cares}"
        )
    first, last = end_rings(rule)
    if rule.family.has_rows:
        return (
            "When the sheet has its size, take an open ring through the middle of the right edge "
            f"(here {_rings(last)}) and the clasp, another through the middle of the left edge "
            f"(here {_rings(first)}) and the clasp's other half, and close both; a wide sheet "
            f"takes a bar with several loops. {cares}"
        )
    again = part_steps(rule, 1)
    one = rule.family.repeat
    whole = (
        f"Finish with a whole {one}: {_steps(again)} {'is' if len(again) == 1 else 'are'} one. "
        if again
        else ""
    )
    if not held_by_one(rule):
        off = "" if lies_on_table(rule) else " once it is off the hook"
        shown_as = f", as in the picture ({_rings(bar_rings(rule))})" if shown else ""
        return (
            f"{whole}Measure the piece with its clasp laid on. At its end {_rings(sorted(last))} "
            "lie too far apart for one ring to hold. Take one more open ring for each of them, put "
            f"it through that ring alone{shown_as} and a loop of a bar or slide clasp of "
            f"{len(last)} loops, and close it. Do so at the other end, {_rings(first)}{off}, too. "
            f"{cares}"
        )
    ring = f", ring {len(numbered(rule)) + 1} in the picture," if shown else ""
    loop = f" ({CLASP_LETTER})" if shown else ""
    off = "" if lies_on_table(rule) else ", taken off the hook,"
    return (
        f"{whole}Measure the piece with its clasp laid on. Then take one more "
        f"open ring{ring} through the last of the chain (here {_rings(last)}) and the "
        f"clasp{loop}, and another through {_rings(first)}{off} and the clasp's other half, and "
        f"close both. {cares}"
    )


def _clasp_rings(rule: WeaveRule) -> int:
    """How many open rings join the piece to its clasp, or to what it hangs from."""
    if not rule.family.repeats and not rule.ends[1]:
        return 1
    if held_by_one(rule):
        return 2
    first, last = end_rings(rule)
    return len(first) + len(last)


def held_by_one(rule: WeaveRule) -> bool:
    """Whether one ring at each end holds all that ends there; of a sheet one in the middle does."""
    if rule.family.has_rows or not rule.family.repeats:
        return True
    of = {number: ref for ref, number in numbered(rule).items()}
    return all(
        gathered_by_one(rule, tuple(of.values()), [of[number] for number in ends])
        for ends in end_rings(rule)
    )


def bar_rings(rule: WeaveRule) -> list[int]:
    """The numbers of the rings that take a bar at the end of a chain."""
    count = len(numbered(rule))
    return [count + 1 + place for place in range(len(end_rings(rule)[1]))]


def bar_line(rule: WeaveRule) -> Line:
    """The step of a bar at the end of a chain that one ring does not hold."""
    last, rings = sorted(end_rings(rule)[1]), bar_rings(rule)
    each = ", ".join(
        f"ring {ring} through ring {end}" for ring, end in zip(rings, last, strict=True)
    )
    text = (
        f"One open ring for each of the last: {each}. Each goes through no other, takes one loop "
        "of the bar, and is closed."
    )
    return Line(text, rings[-1], (*last, *rings[:-1]), (), -1)


def bar_alt(line: Line) -> str:
    """The picture of the bar's step in words."""
    return f"The end of the piece: every ring of it carries one more ring, {line.ring} the last."


def clasp_line(last: Sequence[int], ring: int) -> Line:
    """The step of the clasp at the end of a chain, or at the right edge of a sheet.

    Parameters
    ----------
    last : the rings at its end
    ring : the number of the one that is put in
    """
    text = (
        f"Pass open ring {ring} {_through(sorted(last))}, then through the clasp's loop "
        f"({CLASP_LETTER} in the picture), and close it. It goes through no other."
    )
    return Line(text, ring, tuple(sorted(last)), (), -1)


def whole_title(rule: WeaveRule, part: int) -> str:
    """The heading of the picture of a finished part."""
    return f"{part_title(rule, part)}, done" if part == 0 else "So far"


def whole_line(rule: WeaveRule, part: int) -> Line:
    """What the picture of a finished part shows: the first repeat, or one repeat in the piece."""
    numbers = numbered(rule)
    if not rule.family.repeats:
        return Line("The finished piece, all rings closed.", None, (), (), part)
    rings = _part_rings(rule, part)
    name = rule.family.repeat
    if part == 0:
        first = sorted(numbers.values())[: max(rings)]
        text = f"The first {name}, all rings closed."
        return Line(text, None, _few(rule, first), (), part)
    to = "to" if len(rings) > 2 else "and"
    run = f"Rings {rings[0]} {to} {rings[-1]} are" if len(rings) > 1 else f"Ring {rings[0]} is"
    text = (
        f"The piece by now, all rings closed and from farther away. {run} one {name}; every "
        f"further {name} is woven like it."
    )
    return Line(text, None, _few(rule, rings), (), part)


def _few(rule: WeaveRule, rings: Sequence[int]) -> tuple[int, ...]:
    """Of so many rings that their numbers would hide them only those put in closed, or fewer."""
    if len(rings) <= _NUMBERED:
        return tuple(rings)
    opened = {put.step.ring for put in woven(rule)}
    closed = [number for ref, number in numbered(rule).items() if ref not in opened]
    few = [number for number in closed if number in rings]
    return tuple(few) if 0 < len(few) <= _NUMBERED else (rings[0], rings[-1])


def _part_rings(rule: WeaveRule, part: int) -> list[int]:
    """The numbers of the rings that come in a part."""
    numbers = numbered(rule)
    puts = [put for put in woven(rule) if put.part == part]
    return sorted(numbers[ref] for put in puts for ref in (*put.new, *put.captive))


def whole_alt(rule: WeaveRule, line: Line) -> str:
    """The picture of a finished part in words."""
    shown = f" {_rings(line.through)} numbered," if line.through else ""
    return f"The piece with every ring closed,{shown} {_how(rule)}."


# Of a weave whose words may leave more than one lay open.
LAY_TITLE = "How the rings lie"
LAY_PICTURE = (
    "A stretch of the finished weave. The words alone may leave open how some rings lie: "
    "make sure that yours lie as in this picture."
)


def lay_alt(rule: WeaveRule, line: Line) -> str:
    """The picture of the finished weave in words."""
    shown = f" {_rings(line.through)} numbered," if line.through else ""
    return f"Some repeats of the finished weave,{shown} {_how(rule)}."


def laid_title(state: RestState) -> str:
    """The heading of the picture of the finished piece in a state."""
    return f"As it {state.does}"


def laid_text(state: RestState) -> str:
    """What the picture of the finished piece in a state shows."""
    shown = "As much of it as goes round" if state.body else "Some repeats of the finished piece"
    return f"{shown}, {state.said}, all rings closed."


def clasp_alt(line: Line) -> str:
    """The picture of the clasp's step in words."""
    return (
        f"The end of the piece: ring {line.ring} stands open, goes through {_rings(line.through)} "
        f"and carries the clasp's loop, marked {CLASP_LETTER}."
    )


def end_rings(rule: WeaveRule) -> tuple[list[int], list[int]]:
    """The numbers of the rings at the beginning, and of those at the end, that take the clasp."""
    numbers = numbered(rule)
    if rule.family.has_rows:
        return _middle_of_edge(rule, -1.0), _middle_of_edge(rule, 1.0)
    if rule.ends[1]:
        one, other = ([numbers[RingRef(name)] for name in names] for names in rule.ends)
        return sorted(one), sorted(other)
    if not rule.start:
        rounds = [ref.image[0] for ref in numbers]
        return (
            [number for ref, number in numbers.items() if ref.image[0] == min(rounds)],
            [number for ref, number in numbers.items() if ref.image[0] == max(rounds)],
        )
    along = {start.ring: _place(rule, start.ring)[0] for start in rule.start}
    beginning = [numbers[ref] for ref, x in along.items() if x < min(along.values()) + _END]
    # The last repeat ends as the start does, in closed rings where it has any.
    newest = max(start.ring.image[0] for start in rule.start)
    ends = [start for start in rule.start if start.ring.image[0] == newest]
    closed = {start.ring.name for start in ends if start.role == "closed"}
    names = closed or {start.ring.name for start in ends}
    last = max(ref.image[0] for ref in numbers if ref.name in names)
    return beginning, [
        n for ref, n in numbers.items() if ref.name in names and ref.image[0] == last
    ]


def _middle_of_edge(rule: WeaveRule, way: float) -> list[int]:
    """The ring, or the rings that lie together, in the middle of a sheet's left or right edge."""
    at = {number: _place(rule, ref) for ref, number in numbered(rule).items()}
    farthest = max(way * x for x, _ in at.values())
    edge = [number for number, (x, _) in at.items() if way * x > farthest - _END]
    edge.sort(key=lambda number: (round(at[number][1] / _END), number))
    across = at[edge[len(edge) // 2]][1]
    return sorted(number for number in edge if abs(at[number][1] - across) < _END)


def _place(rule: WeaveRule, ref: RingRef) -> tuple[float, float]:
    """Where a ring lies along and across the piece, roughly, in core radii."""
    centre = next(ring.centre for ring in rule.rings if ring.name == ref.name)
    repeats = list(zip(ref.image, rule.repeat_vectors, strict=False))
    along, across = (
        centre[axis] + sum(times * vector[axis] for times, vector in repeats) for axis in range(2)
    )
    return along, across


def _hung_on(rule: WeaveRule) -> list[list[int]]:
    """The rings that the first repeat hangs on, and those that the next ones hang on instead.

    There are three lists of equally many; the last is empty where the sheet does not show it all.
    """
    numbers = numbered(rule)
    first = {ref for put in woven(rule) if put.part == 0 for ref in put.step.through}
    refs = [
        ref
        for ref in numbers
        if ref in first and ref.image[0] < 0 and moved(rule, ref, (1, 0)) in numbers
    ]
    later = [[moved(rule, ref, (repeat, 0)) for ref in refs] for repeat in range(3)]
    return [[numbers[ref] for ref in each] if numbers.keys() >= {*each} else [] for each in later]


def alt_text(rule: WeaveRule, line: Line, roles: Mapping[int, str] | None = None) -> str:
    """A step's picture in words, for those who cannot see it.

    Parameters
    ----------
    roles : of the rings, where they look by role
    """
    if roles is not None:
        return _by_role(rule, line, roles)
    if line.ring is None:
        start = sorted(numbered(rule)[each.ring] for each in rule.start)
        return f"The piece at its start: {_rings(start)}, {_how(rule)}."
    old = [number for number in line.through if number not in line.picked_up]
    said = [f"Ring {line.ring} stands open, in vermilion"]
    if old:
        said.append(f"it goes through {_rings(sorted(old))} of the piece, in grey")
    if line.picked_up:
        said.append(f"it carries closed {_rings(sorted(line.picked_up))}, in blue")
    if line.captive:
        said.append(f"closed {_rings(line.captive)}, in blue, lies in between")
    return "; ".join(said) + "."


NO_WAY_IN = "No way in was found for this ring, which is no proof that there is none."
APPEARS = "In the animation it appears in its place."


def way_in(
    gap_mm: float,
    given_way_mm: float,
    effort: str,
    say: Callable[[float], str] = lambda length_mm: f"{length_mm:.1f} mm",
) -> str:
    """What it takes to put a ring in, as far as a way was found.

    Parameters
    ----------
    gap_mm : the clear room between its ends
    given_way_mm : the farthest that another ring gives way
    effort : ``easy``, ``takes patience`` or ``hard``
    say : how a length in millimetres is said
    """
    return (
        f"{effort.capitalize()} to put in: opened by {say(gap_mm)} between its ends, with the "
        f"rings around it giving way by up to {say(given_way_mm)}."
    )


def as_drawn(at_rest: bool, room_mm: float | None, aside: tuple[float, float] | None = None) -> str:
    """Where a picture is not quite what a maker will see, or nothing.

    Parameters
    ----------
    at_rest : whether the rings had come to rest
    room_mm : the least gap between any two rings as drawn, None where none stands open
    aside : from how many degrees farther right and up it is seen than others, None if it is not
    """
    said = []
    if aside is not None:
        said.append(f"Seen from farther {_farther(*aside)} than other pictures, to show more.")
    if not at_rest:
        said.append(
            "The rings had not quite come to rest when this was drawn and may lie slightly "
            "differently."
        )
    if room_mm is not None and room_mm < 0.0:
        said.append(
            f"No way was found for the open ring to stand clear of all others: it is drawn up to "
            f"{format_mm(-room_mm)} inside another."
        )
    return " ".join(said)


def _farther(right: float, up: float) -> str:
    """Which way a camera was moved, both in degrees."""
    ways = [(right, "to the right", "to the left"), (up, "up", "down")]
    return " and ".join(plus if way > 0.0 else minus for way, plus, minus in ways if way)


def _how(rule: WeaveRule) -> str:
    return "lying on a table" if lies_on_table(rule) else "hanging from a thread"


def _by_role(rule: WeaveRule, line: Line, roles: Mapping[int, str]) -> str:
    """A step's picture in words, every ring by its role's colour."""

    def painted(these: Sequence[int]) -> str:
        alike = {
            look: [ring for ring in sorted(these) if roles[ring] == role]
            for role, look in ROLE_LOOKS.items()
        }
        return " and ".join(
            f"{_rings(rings)} in {look.look.metal}" for look, rings in alike.items() if rings
        )

    if line.ring is None:
        start = [numbered(rule)[each.ring] for each in rule.start]
        return f"The piece at its start: {painted(start)}, {_how(rule)}."
    said = [f"Ring {line.ring} stands open, in {ROLE_LOOKS[roles[line.ring]].look.metal}"]
    old = [number for number in line.through if number not in line.picked_up]
    if old:
        said.append(f"it goes through {painted(old)} of the piece")
    if line.picked_up:
        said.append(f"it carries closed {painted(line.picked_up)}")
    if line.captive:
        said.append(f"closed {painted(line.captive)} lies in between")
    return "; ".join(said) + "."


def bill(rule: WeaveRule) -> str:
    """How many rings to open and to close beforehand, for a repeat and for the start."""
    closed = sum(ring.role == "closed" for ring in rule.rings) * rule.around
    opened = sum(ring.role == "open" for ring in rule.rings) * rule.around
    every = "Every repeat takes" if rule.family.repeats else "The piece takes"
    said = f"{every} {_count(opened, 'open')} and {_count(closed, 'closed')}"
    if rule.start:
        closed = sum(each.role == "closed" for each in rule.start)
        opened = len(rule.start) - closed
        said += f"; the start takes {_count(closed, 'closed')}"
        if opened:
            said += f" and {_count(opened, 'open')}"
    extra = _clasp_rings(rule)
    what = "the clasp takes" if extra > 1 else "hanging it up takes"
    return f"{said}; {what} {extra} more open {'rings' if extra > 1 else 'ring'}. " + (
        "Open the open ones and close the closed ones before you begin."
    )


def _count(rings: int, role: str) -> str:
    return f"{rings or 'no'} {role} {'ring' if rings == 1 else 'rings'}"
