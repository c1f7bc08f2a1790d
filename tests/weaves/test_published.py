"""Every weave beside published descriptions of it: links, lay, aspect ratios, counts.

``published/`` has a file for each weave: who describes it, and in the names of its own which ring
goes through which, as told there; from which side, where that is said; the aspect ratios that it
was woven at or is recommended for, and how many rings make an inch. Stored copies of the pages
were read. What is compared is computed from our rule.

``through`` lists what each ring of one repeat goes through: ``b@-1`` is ring b a repeat earlier,
``b@-1,0`` has both counts of a sheet or a tube. In ``lay`` the names are those of our rule.
"""

import functools
import itertools
import math
import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import carried
from ringwright.search.lays import signed_cycles
from ringwright.solver.placement import linked_pairs
from ringwright.solver.settle import settle
from ringwright.weaves import list_rules, load_rule, wrapped
from ringwright.weaves.second import with_second

HERE = Path(__file__).parents[1] / "published"
TOLD = {
    path.stem.replace("_", "-"): tomllib.loads(path.read_text()) for path in HERE.glob("*.toml")
}
MISSING = {name for name, told in TOLD.items() if told.get("missing")}
# Published ratios are given to a tenth or computed from rounded sizes.
ROUNDED = 0.05
# Around a closed loop of so many repeats or more, links of the two ends do not mix.
FEWEST_REPEATS = 8


def each(key):
    """All entries of one kind, with the weave that they are of."""
    return [
        pytest.param(name, entry, id=f"{name}-{number}")
        for name, told in sorted(TOLD.items())
        for number, entry in enumerate(told.get(key, []))
    ]


def parsed(ref):
    """``b@-1,0`` as a name and an image."""
    name, _, image = ref.partition("@")
    counts = [int(count) for count in image.split(",")] if image else [0]
    return name, (counts[0], counts[1] if len(counts) > 1 else 0)


# --- the weave as told, ring by ring --------------------------------------------------


def test_every_weave_has_a_description_or_says_that_none_was_found():
    assert set(TOLD) == {rule.name for rule in list_rules()}
    for name, told in TOLD.items():
        if name in MISSING:
            text = load_rule(name).path.read_text(encoding="utf-8")
            assert "no published description found" in text
            assert set(told) == {"missing"}
        else:
            assert told["description"]
    for told in TOLD.values():
        for entry in told.get("description", []):
            assert all(entry[key].strip() for key in ("title", "author", "at", "told"))


@dataclass(frozen=True)
class Links:
    """Which rings of a repeat are linked, and how the repeats follow each other."""

    rings: tuple[str, ...]
    pairs: tuple[tuple[str, str, tuple[int, int]], ...]
    family: str
    around: int

    def looped(self, repeats):
        """Neighbours of every ring of that many repeats closed to a loop (a sheet both ways)."""
        ways = {"piece": (1, 1), "sheet": (repeats, repeats)}
        along, across = ways.get(self.family, (repeats, self.around))
        near = {
            (ring, k1, k2): set()
            for ring in self.rings
            for k1 in range(along)
            for k2 in range(across)
        }
        for one, other, (d1, d2) in self.pairs:
            for k1, k2 in itertools.product(range(along), range(across)):
                ends = (one, k1, k2), (other, (k1 + d1) % along, (k2 + d2) % across)
                near[ends[0]].add(ends[1])
                near[ends[1]].add(ends[0])
        return near


def of_rule(rule):
    pairs = []
    for link in rule.links:
        ahead = tuple(b - a for a, b in zip(link.first.image, link.second.image, strict=True))
        if rule.family.name == "tube":
            ahead = wrapped(ahead, rule.around)
        pairs.append((link.first.name, link.second.name, ahead))
    return Links(
        tuple(ring.name for ring in rule.rings), tuple(pairs), rule.family.name, rule.around
    )


def of_description(entry, family):
    pairs = [(ring, *parsed(ref)) for ring, through in entry["through"].items() for ref in through]
    # A tube may be told as a chain: all rings around it in one repeat.
    around = entry.get("around", 1)
    family = "chain" if family == "tube" and around == 1 else family
    return Links(tuple(entry["through"]), tuple(pairs), family, around)


def same_graph(one, other):
    """Whether rings can be renamed so that the same ones are linked."""

    def degrees(near):
        return sorted((len(near[ring]), sorted(len(near[r]) for r in near[ring])) for ring in near)

    if degrees(one) != degrees(other):
        return False
    # Always on with a ring that has most of its neighbours named, so that a wrong name shows soon.
    # Rings without links are as many in both.
    order, waiting = [], {ring: 0 for ring in one if one[ring]}
    while waiting:
        ring = max(waiting, key=waiting.get)
        del waiting[ring]
        order.append(ring)
        for beside in one[ring] & waiting.keys():
            waiting[beside] += 1
    names, taken = {}, set()

    def fits(ring, name):
        known = {names[r] for r in one[ring] if r in names}
        return len(one[ring]) == len(other[name]) and known == other[name] & taken

    def search(at):
        if at == len(order):
            return True
        ring = order[at]
        parents = [names[r] for r in one[ring] if r in names]
        for name in sorted(set.intersection(*(other[p] for p in parents)) if parents else other):
            if name not in taken and fits(ring, name):
                names[ring] = name
                taken.add(name)
                if search(at + 1):
                    return True
                taken.discard(name)
                del names[ring]
        return False

    return search(0)


@pytest.mark.parametrize(("name", "entry"), each("description"))
def test_links_are_those_of_the_description(name, entry):
    """Over a stretch of either that has as many rings, closed to a loop."""
    rule = load_rule(name)
    ours, theirs = of_rule(rule), of_description(entry, rule.family.name)
    counts = [
        len(links.rings) * (1 if links.family == "sheet" else links.around)
        for links in (ours, theirs)
    ]
    whole = math.lcm(*counts)
    enough = math.ceil(FEWEST_REPEATS * max(counts) / whole) * whole
    assert same_graph(
        *(
            links.looped(enough // count)
            for links, count in zip((ours, theirs), counts, strict=True)
        )
    )


def test_graphs_that_differ_are_told_apart():
    """The half Persian's links with one more on every ring, and rings joined in another way."""
    three, four = (of_rule(load_rule(f"half-persian-{n}-in-1")) for n in (3, 4))
    spiral, pairs = of_rule(load_rule("spiral-4-in-1")), of_rule(load_rule("two-in-two"))
    assert not same_graph(three.looped(8), four.looped(8))
    assert not same_graph(spiral.looped(32), pairs.looped(8))
    assert same_graph(of_rule(load_rule("box-chain")).looped(8), pairs.looped(8))


# --- the lay --------------------------------------------------------------------------


@functools.cache
def at_rest(name):
    """A weave settled in the middle of its common range."""
    rule = load_rule(name)
    common = rule.common_aspect_ratio
    return rule, settle(rule, RingSize(1.0, (common.low + common.high) / 2)).unit


class Laid:
    """Where the rings of a weave lie."""

    def __init__(self, name):
        self.rule, self.unit = at_rest(name)
        self.number = {ring.name: at for at, ring in enumerate(self.rule.rings)}
        self.signs = linked_pairs(self.unit)

    def ring(self, ref):
        """Centre and axis of a ring."""
        name, image = parsed(ref)
        at = [self.number[name]]
        rings = self.unit.rings
        centres, axes = carried(
            rings.centres[at], rings.axes[at], np.array([image]), self.unit.lattice
        )
        return centres[0], axes[0]

    def wire(self, ref):
        """Points on a ring's core circle."""
        centre, axis = self.ring(ref)
        radius = self.unit.rings.core_radii[self.number[parsed(ref)[0]]]
        u = np.linalg.svd(axis[None])[2][1]
        angles = np.linspace(0, 2 * np.pi, 360, endpoint=False)[:, None]
        return centre + radius * (np.cos(angles) * u + np.sin(angles) * np.cross(axis, u))

    def sign(self, one, other):
        """The linking number of two linked rings, which way their axes point."""
        (name, image), (second, ahead) = parsed(one), parsed(other)
        i, j, k = self.number[name], self.number[second], np.subtract(ahead, image)
        around = self.unit.lattice.around

        def key(first, then, way):
            k1, k2 = (int(count) for count in way)
            return first, then, (k1, k2 % around if around > 1 else k2)

        for (a, b, way), sign in self.signs.items():
            if key(a, b, way) in (key(i, j, k), key(j, i, -k)):
                return sign
        raise AssertionError(f"{one} and {other} are not linked")


def passes_alike(laid, ring, one, other):
    """Whether a ring goes through two others the same way.

    Images of one ring count as facing alike; others as far as they do.
    """
    if parsed(one)[0] == parsed(other)[0]:
        facing = 1.0
    else:
        facing = laid.ring(one)[1] @ laid.ring(other)[1]
        assert abs(facing) > 0.3
    return laid.sign(ring, one) * laid.sign(ring, other) * facing > 0


def check_alike(laid, ring, groups):
    placed = [(number, ref) for number, group in enumerate(groups) for ref in group]
    for (group, one), (second, other) in itertools.combinations(placed, 2):
        assert passes_alike(laid, ring, one, other) == (group == second), (one, other)


def check_between(laid, ring, of):
    (one, axis), (other, second) = (laid.ring(ref) for ref in of)
    # Where the ring comes nearest to the middle of the two.
    wire = laid.wire(ring)
    near = wire[np.argmin(np.linalg.norm(wire - (one + other) / 2, axis=1))]
    normal = axis + second * np.sign(axis @ second)
    assert ((near - one) @ normal) * ((near - other) @ normal) < 0


def check_overlap(laid, rings, of, alike):
    for ring in rings:
        assert passes_alike(laid, ring, *of) == alike


def check_leans(laid, rings):
    leans = [laid.ring(ring)[1][[0, 2]] for ring in rings]
    assert all(abs(x) > 0.2 for x, _ in leans)
    assert math.prod(x * z for x, z in leans) < 0


def check_row(laid, rings, between):
    """Neighbours in a row lie over each other along it and are not linked; between the rows lie
    those that lean the other way."""
    (one, _), (other, _) = (laid.ring(ring) for ring in rings)
    assert abs(other - one)[1] < 0.01
    assert 0.1 < abs(other - one)[0] < 2.0
    assert not any(a == b for a, b, _ in laid.signs)
    across = laid.unit.lattice.motion(np.array([[0, 1]]))[1][0][1]
    middle = (laid.ring(between)[0] - one)[1] / across % 1.0
    assert middle == pytest.approx(0.5, abs=0.05)


def check_level(laid, rings, low, high):
    for ring in rings:
        assert low <= abs(laid.ring(ring)[1][2]) <= high


def check_one_hand(laid):
    threes = signed_cycles(laid.unit)[:2]
    assert min(threes) == 0 < max(threes)


def check_as(laid, of):
    """Links of the same signs around every closed four and three, ring by ring."""
    other = Laid(of)
    ours, theirs = (
        [count / len(each.rule.rings) for count in signed_cycles(each.unit)]
        for each in (laid, other)
    )
    assert ours == theirs


def check_stacked(laid, ring, on):
    """They lie along each other and touch, or nearly."""
    assert abs(laid.ring(ring)[1] @ laid.ring(on)[1]) > 0.9
    gaps = np.linalg.norm(laid.wire(ring)[:, None] - laid.wire(on)[None], axis=2)
    assert gaps.min() < 1.1 * 2 * laid.unit.rings.wire_radii[0]


CHECKS = {
    "alike": check_alike,
    "between": check_between,
    "through": functools.partial(check_overlap, alike=True),
    "around": functools.partial(check_overlap, alike=False),
    "lean apart": check_leans,
    "row": check_row,
    "flat": functools.partial(check_level, low=0.85, high=1.0),
    "upright": functools.partial(check_level, low=0.0, high=0.35),
    "one hand": check_one_hand,
    "stacked": check_stacked,
    "as": check_as,
}


@pytest.mark.parametrize(("name", "entry"), each("lay"))
def test_lay_is_as_told(name, entry):
    asked = {key: value for key, value in entry.items() if key not in ("kind", "told")}
    CHECKS[entry["kind"]](Laid(name), **asked)


# --- aspect ratios --------------------------------------------------------------------


@pytest.mark.parametrize(("name", "entry"), each("ratio"))
def test_aspect_ratio_does_not_contradict_ours(name, entry):
    """Or the disagreement is named, here and in the rule's file."""
    rule = load_rule(name)
    least, common, at = rule.computed.geometric, rule.common_aspect_ratio, entry["at"]
    agrees = {
        "woven": least <= at + ROUNDED,
        "recommended": common.low - 2 * ROUNDED <= at <= common.high + 2 * ROUNDED,
        "least": abs(least - at) <= 2 * ROUNDED,
        "refused": at < least,
    }[entry["kind"]]
    # A disagreement that is named is one.
    assert agrees != bool(entry.get("disagrees"))
    if not agrees:
        text = rule.path.read_text(encoding="utf-8")
        assert f"{at:g}" in text
        assert "published" in text.lower()


@pytest.mark.parametrize(("name", "entry"), each("second"))
def test_rings_of_two_sizes_close_as_told(name, entry):
    rule = with_second(
        load_rule(name), {size: tuple(ring) for size, ring in entry["second"].items()}
    )
    settled = settle(rule, RingSize(entry["wire_mm"], entry["inner_mm"]))
    assert (settled is None) == ("disagrees" in entry)
    if settled is None:
        text = rule.path.read_text(encoding="utf-8")
        assert f"{entry['wire_mm']:g} x {entry['inner_mm']:g} mm" in text
        assert "Published" in text


# --- counts ---------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "entry"), each("count"))
def test_rings_of_an_inch(name, entry):
    rule, size = load_rule(name), RingSize(entry["wire_mm"], entry["inner_mm"])
    repeat_mm = settle(rule, size).unit.repeat * size.core_radius_mm
    assert rule.rings_per_repeat * 25.4 / repeat_mm == pytest.approx(
        entry["rings"], rel=entry["within"]
    )


@pytest.mark.parametrize(("name", "entry"), each("piece"))
def test_rings_of_a_piece(name, entry):
    rule, _ = at_rest(name)
    assert len(rule.start) + entry["repeats"] * len(rule.rings) == entry["rings"]
