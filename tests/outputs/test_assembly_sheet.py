"""Assembly sheets: the words give back the rule, the pictures show what the words name."""

import io
import json
import re
import struct
from dataclasses import replace
from itertools import product

import jsonschema
import numpy as np
import pypdf
import pytest
import trimesh
from PIL import Image
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from ringwright.base.sizes import RingSize
from ringwright.cli import main
from ringwright.commands.json_schema import schema_of
from ringwright.movement.order import linked, woven
from ringwright.outputs.assembly_sheet import words
from ringwright.outputs.assembly_sheet.animation import write_animation
from ringwright.outputs.assembly_sheet.labels import front_of, labels
from ringwright.outputs.assembly_sheet.lay import lay_notes
from ringwright.outputs.assembly_sheet.open_ring import OpenRing, cuts
from ringwright.outputs.assembly_sheet.paper import Card, Sheet, write_pdf
from ringwright.outputs.assembly_sheet.views import (
    cloud_of,
    from_better_sides,
    laid_view,
    scenes,
    screen,
    seen,
    views,
)
from ringwright.outputs.models.artist import PictureUnavailable
from ringwright.piece.half_made import CLASP, CLASP_RING, half_made, with_bar_rings, with_clasp
from ringwright.piece.piece import Piece, woven_piece
from ringwright.rest.laid import laid
from ringwright.solver.settle import settle
from ringwright.weaves import list_rules, load_rule
from ringwright.weaves.rest_states import HUNG, ON_TABLE

SIZE = RingSize(0.9, 3.2)


@pytest.fixture(scope="module")
def barrel():
    """The rule, its half-made states, its lines and its views."""
    rule = load_rule("barrel")
    states = list(half_made(rule, settle(rule, SIZE).unit))
    numbers = words.numbered(rule)
    lay = lay_notes(rule, states, numbers)
    made = scenes(rule, states, numbers, SIZE.core_radius_mm, lay)
    return rule, states, words.lines(rule, lay), views(rule, made)


@pytest.mark.parametrize("state", [ON_TABLE, HUNG], ids=lambda state: state.name)
def test_the_finished_piece_is_seen_whole_as_it_lies_or_hangs(state, barrel):
    _, _, _, shown = barrel
    rule = load_rule("one-in-one")
    unit = settle(rule, SIZE).unit
    found = laid(rule, unit, woven_piece(rule, unit, SIZE.core_radius_mm, 3), state)
    view = laid_view(found, shown[0])
    assert labels(view) == []
    # Rings that run upwards hang; what lies goes from left to right.
    places = view.flat(view.piece.centres_mm)
    assert 0.0 < places.min() < places.max() < 1.0
    across, down = np.ptp(places, axis=0)
    assert (down > across) == state.hangs
    assert words.laid_title(state) == ("As it hangs" if state.hangs else "As it lies")
    assert state.said in words.laid_text(state)
    assert set(view.piece.names).isdisjoint(shown[-1].piece.names)


def test_a_state_that_the_family_has_not_is_refused(capsys, tmp_path):
    asked = ["barrel", "--wire", "0.9mm", "--inner", "3.2mm", "--laid", "spread"]
    assert main(["assembly", *asked, "--out", str(tmp_path / "a")]) == 2
    assert "is not for barrel" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def kind_of_link(rule, one, other):
    """A link whatever the repeat: both ways of saying it, so that the order does not matter."""

    def said(a, b):
        k1, k2 = b.image[0] - a.image[0], b.image[1] - a.image[1]
        return a.name, b.name, k1, k2 % rule.around if rule.family.name == "tube" else k2

    return frozenset({said(one, other), said(other, one)})


@pytest.mark.parametrize("rule", list_rules(), ids=lambda rule: rule.name)
def test_the_links_read_back_from_the_words_are_those_of_the_rule(rule):
    numbers = words.numbered(rule)
    ring = {number: ref for ref, number in numbers.items()}
    told = [
        (ring[read.ring], ring[other])
        for line in words.lines(rule)
        for read in words.read_back(line.text)
        for other in read.through
    ]
    declared = {kind_of_link(rule, link.first, link.second) for link in rule.links}
    assert {kind_of_link(rule, *pair) for pair in told} == declared
    # Every link between rings that the sheet shows is made, and made once.
    assert len({frozenset(pair) for pair in told}) == len(told)
    refs = list(numbers)
    shown = [
        (one, other)
        for at, one in enumerate(refs)
        for other in refs[at + 1 :]
        if kind_of_link(rule, one, other) in declared
    ]
    assert {frozenset(pair) for pair in told} == {frozenset(pair) for pair in shown}


@pytest.mark.parametrize("rule", list_rules(), ids=lambda rule: rule.name)
def test_a_ring_is_there_before_another_goes_through_it(rule):
    there = {start.ring for start in rule.start}
    for put in woven(rule):
        assert not there & set(put.new)
        there |= set(put.new)
        assert set(put.step.through) <= there
        assert put.new[-1] == put.step.ring


def test_the_steps_of_the_barrel_weave(barrel):
    """Written down by hand from the weave as it is taught: common practice, no source."""
    _, _, lines, _ = barrel
    assert [line.text for line in lines[:5]] == [
        "Start with closed ring 1. Lay it on a table before you as the picture shows.",
        "Take open ring 4, pass it through ring 1, then pick up closed rings 2 and 3, "
        "and close it.",
        "Take open ring 5, pass it through both rings 2 and 3, then through ring 1. "
        "Ring 5 lies over ring 4, not through it: where the two cross, it is nearer to your eye. "
        "Slide rings 4 and 5 apart across the chain, ring 4 toward you and ring 5 away from you, "
        "so that they overlap only in the middle. Close ring 5. "
        "Ring 1 goes through the overlap of rings 4 and 5: through the lens-shaped opening that "
        "both share. "
        "Rings 2 and 3 go around the overlap of rings 4 and 5: each is a hoop around that "
        "opening, through ring 4 on your side of it and through ring 5 on the far side.",
        # The hoop nearer to the end stands beside the place where ring 6 goes.
        "Take open ring 6, pass it through both rings 4 and 5, and close it. "
        "Ring 6 goes through the overlap of rings 4 and 5. "
        "Ring 6 does not go through ring 3.",
        "Take open ring 9, pass it through ring 6, then pick up closed rings 7 and 8, "
        "and close it.",
    ]
    assert words.end_rings(load_rule("barrel")) == ([1], [11])
    assert words.end_rings(load_rule("byzantine")) == ([1, 2], [25, 26])


def refused_in(text):
    """The rings that a text says another ring does not go through."""
    said = re.findall(r"Ring (\d+) does not go through rings? ([\d, and]+)", text)
    return [(int(ring), tuple(map(int, re.findall(r"\d+", others)))) for ring, others in said]


@pytest.mark.parametrize(
    ("name", "refused"),
    [
        # Of two rows that lie under one another only the nearer one is.
        ("european-4-in-1", {(8, (1, 3)), (16, (3, 10, 12))}),
        ("one-in-one", set()),
    ],
)
def test_rings_that_could_be_taken_by_mistake_are_named(name, refused):
    rule = load_rule(name)
    states = half_made(rule, settle(rule, SIZE).unit)
    numbers = words.numbered(rule)
    said = words.lines(rule, lay_notes(rule, states, numbers))
    told = [pair for line in said for pair in refused_in(line.text)]
    assert refused <= set(told)
    assert bool(refused) == bool(told)
    ring = {number: ref for ref, number in numbers.items()}
    for new, others in told:
        assert not any(linked(rule, ring[new], ring[other]) for other in others)


@pytest.mark.parametrize("name", ["barrel", "half-persian-3-in-1", "half-persian-4-in-1"])
def test_the_pictures_show_the_lay_that_the_words_tell(name):
    """Over and under in each half-made state, both wires sampled."""
    rule = load_rule(name)
    size = RingSize(1.0, rule.common_aspect_ratio.low + 0.5)
    states = half_made(rule, settle(rule, size).unit)
    numbers = words.numbered(rule)
    lines = words.lines(rule, lay_notes(rule, states, numbers))
    shown = [states[0], *states]
    told = 0
    for line, state in zip(lines, shown, strict=True):
        at = {numbers[ref]: place for place, ref in enumerate(state.rings)}
        piece = Piece(
            *((str(place) for place in at.values()), ()),
            *(state.unit.rings.centres, state.unit.rings.axes),
            *(state.unit.rings.core_radii, state.unit.rings.wire_radii),
        )
        for remark in words.read_remarks(line.text):
            for ring, other in product(remark.rings, remark.others):
                if remark.kind not in ("over", "under"):
                    continue
                one, two = (circle_of(piece, at[number]) for number in (ring, other))
                apart = np.linalg.norm(one[:, None, :2] - two[None, :, :2], axis=2)
                i, j = np.nonzero(apart < 0.008)
                heights = one[i, 2] - two[j, 2]
                assert len(heights)
                assert (heights > 0.0).all() if remark.kind == "over" else (heights < 0.0).all()
                told += 1
    assert told >= 2


def test_what_the_words_mean_is_said_beside_their_first_use_and_once():
    for rule in list_rules():
        text = [line.text for line in words.lines(rule)]
        for used, meant in (
            (r"\bup through ring|\(up through", "Up is away from the table"),
            (r"[Rr]ings? \d[\d and,]* lies? (over|under)", "where the two cross"),
            ("through the overlap of", ": through the lens-shaped opening that both share"),
            ("around the overlap of", "is a hoop around"),
        ):
            first = next((each for each in text if re.search(used, each)), "")
            assert " ".join(text).count(meant) == bool(first)
            assert (meant in first) == bool(first)
    over = ": where the two cross, it is nearer to your eye."
    assert over in words.lines(load_rule("half-persian-3-in-1"))[1].text


def test_two_rings_are_slid_apart_the_way_that_they_come_to_lie(barrel):
    """Toward the maker is against y of what lies on the table."""
    rule, states, lines, _ = barrel
    numbers = words.numbered(rule)
    told = 0
    for line, state in zip(lines[1:], states, strict=True):
        slid = re.search(r"ring (\d+) toward you and ring (\d+) away from you", line.text)
        # The picture shows it open as it lies then: closed only afterwards.
        assert ("Close ring" in line.text) == bool(slid)
        if slid:
            at = {numbers[ref]: place for place, ref in enumerate(state.rings)}
            near, far = (state.unit.rings.centres[at[int(number)]] for number in slid.groups())
            assert far[1] - near[1] > 2.0 * abs(far[0] - near[0])
            told += 1
    assert told == 2


@pytest.mark.parametrize("inner_mm", [3.0, 3.2, 3.8, 4.2])
def test_every_repeat_of_a_chain_refuses_the_same_rings(inner_mm):
    rule = load_rule("barrel")
    states = half_made(rule, settle(rule, RingSize(0.9, inner_mm)).unit)
    told = words.lines(rule, lay_notes(rule, states, words.numbered(rule)))
    refused = {pair for line in told for pair in refused_in(line.text)}
    assert {(6, (3,)), (11, (8,))} <= refused
    # Five rings further on in the second repeat.
    assert {(ring + 5, tuple(n + 5 for n in others)) for ring, others in refused if ring < 7} == {
        pair for pair in refused if pair[0] > 6
    }


def test_the_steps_that_repeat_are_named_by_their_numbers():
    said = words.repeating(load_rule("barrel"))
    assert "Steps 4 to 6 are the same as steps 1 to 3, one repeat further on: ring 6 " in said
    assert "Finish with a whole repeat: steps 4 to 6 are one." in words.finishing(
        load_rule("barrel")
    )
    assert "Step 2 is the same as step 1" in words.repeating(load_rule("half-persian-3-in-1"))
    assert "step" not in words.finishing(load_rule("japanese-flower"))


@pytest.mark.parametrize(
    ("name", "near"), [("half-persian-3-in-1", "over"), ("half-persian-4-in-1", "under")]
)
def test_which_half_of_a_ring_is_on_top_is_said_as_it_lies(name, near, barrel):
    """The wire nearest to the maker, and the farthest, beside all wires that cross it."""
    rule = load_rule(name)
    size = RingSize(1.0, rule.common_aspect_ratio.low + 0.5)
    states = half_made(rule, settle(rule, size).unit)
    numbers = words.numbered(rule)
    lines = words.lines(rule, lay_notes(rule, states, numbers))
    for line, state in zip(lines, [states[0], *states], strict=True):
        (told,) = re.findall(
            r"half of ring (\d+) toward you lies (over|under) the rings", line.text
        )
        assert told[1] == near
        rings = state.unit.rings
        new = next(at for at, ref in enumerate(state.rings) if numbers[ref] == int(told[0]))
        # Seen from above, a ring whose axis points up and away from the maker is high near him.
        upward = rings.axes[new] * np.sign(rings.axes[new][2])
        assert (upward[1] > 0.2) if near == "over" else (upward[1] < -0.2)
    # Of flat rings through upright ones no half is on top.
    assert not any("toward you lies" in line.text for line in barrel[2])


def test_a_captive_ring_is_laid_in_and_never_gone_through():
    lines = words.lines(load_rule("helm-chain"))
    assert [line.captive for line in lines] == [(), (), (9,), (), (14,)]
    assert "Before you close it, lay closed ring 9 in between" in lines[2].text
    assert not any(9 in read.through for line in lines for read in words.read_back(line.text))


@pytest.mark.parametrize(
    "text",
    [
        "Take ring 4 through ring 1, and close it.",
        "Take open ring 4, over ring 1, and close it.",
        "Take open ring 4, pass it through ring 1 and leave it.",
    ],
)
def test_words_of_another_kind_are_not_read(text):
    with pytest.raises(ValueError, match="not a"):
        words.read_back(text)


@pytest.mark.parametrize("lean", [0, 1, -1])
def test_an_open_ring_is_a_closed_shell_with_its_gap(lean):
    axis = np.array([0.0, 0.6, 0.8])
    cut = cuts(axis, 5)[2]
    ring = OpenRing(np.array([1.0, 2.0, 3.0]), axis, 2.05, 0.45, cut, 2.0, lean)
    mesh = ring.mesh(96, 24)
    shell = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    facing = np.einsum("ni,ni->n", shell.face_normals, mesh.normals[mesh.faces[:, 0]])
    assert facing.min() > 0.95
    shell.merge_vertices()
    assert shell.is_watertight
    first, last = ring.core_line(50)[[0, -1]]
    assert abs((last - first) @ axis) == pytest.approx(2.0, abs=0.01)
    assert ring.gap_mm == pytest.approx(1.1)
    # Tilting the halves neither stretches the wire much nor takes much of it away.
    closed = OpenRing(ring.centre_mm, axis, 2.05, 0.45, cut, 0.0)
    torus = 2.0 * np.pi**2 * 2.05 * 0.45**2
    assert shell.volume == pytest.approx(torus, rel=0.04)
    shut = closed.core_line(50)
    assert np.abs(shut[0] - shut[-1]).max() < 1e-12
    assert np.linalg.norm(shut - ring.centre_mm, axis=1) == pytest.approx(2.05)


def test_every_ring_that_the_words_name_is_seen_and_pointed_at(barrel):
    _, states, lines, shown = barrel
    assert len(shown) == len(states) + 1
    for line, view in zip(lines, shown, strict=True):
        assert view.toward == pytest.approx(shown[0].toward)
        assert view.across_mm == shown[0].across_mm
        front = front_of(view)
        marks = labels(view)
        named = {int(each) for each in re.findall(r"\d+", line.text)}
        assert {int(mark.words) for mark in marks} == named
        for mark in marks:
            column, row = (int(place * len(front)) for place in mark.points_at)
            assert view.scene.piece.names[front[row, column]] == mark.words
        places = np.array([mark.at for mark in marks])
        apart = np.linalg.norm(places[:, None] - places, axis=-1) + np.eye(len(marks))
        assert apart.min() > 0.07
        assert places.min() > 0.03
        assert places.max() < 0.97
        if view.opened is not None:
            assert view.opened.gap_mm > 0.9


def test_a_step_is_seen_from_another_side_where_that_shows_its_rings(barrel):
    """The ring through both flat ones is behind a hoop from the front; counted on a grid."""
    rule, _, lines, shown = barrel
    turned = from_better_sides(rule, shown)
    for line, view, other in zip(lines, shown, turned, strict=True):
        assert (other.aside is None) == (other is view)
        if other is view:
            continue
        assert line.ring in (6, 11)
        side, up = other.aside
        assert 0 < side <= 45
        assert other.toward[0] > view.toward[0]
        assert (other.toward[2] > view.toward[2] + 1e-9) == (up > 0)
        assert other.across_mm == view.across_mm
        # It and those that it goes through are all in the picture and pointed at.
        assert {int(mark.words) for mark in labels(other)} == {
            int(each) for each in re.findall(r"\d+", line.text)
        }
        least = []
        for each in (view, other):
            cloud = cloud_of(each.scene.piece, 0.2 * SIZE.wire_mm)
            front, corner = seen(cloud, each.toward)
            flat = np.stack([cloud.points_mm @ way for way in screen(each.toward)], axis=1)
            column, row = np.floor((flat - corner) / cloud.cell_mm).astype(int).T
            at = {
                ring: {*zip(row[cloud.of_ring == ring], column[cloud.of_ring == ring], strict=True)}
                for ring in (each.scene.new, *each.scene.through)
            }
            shares = []
            for ring in each.scene.through:
                both = at[each.scene.new] & at[ring]
                plain = [front[cell] in (each.scene.new, ring) for cell in both]
                shares.append(sum(plain) / len(plain))
            least.append(min(shares))
        assert least[1] > least[0] + 0.1
    assert sum(view.aside is not None for view in turned) == 2
    said = words.as_drawn(True, 0.1, (30.0, -15.0))
    assert said == "Seen from farther to the right and down than other pictures, to show more."


def circle_of(piece, ring, count=720):
    """Points of a ring's middle line, by a turn about its axis (SciPy's)."""
    axis = piece.axes[ring]
    first = np.cross(axis, np.eye(3)[np.abs(axis).argmin()])
    turns = Rotation.from_rotvec(np.linspace(0, 2 * np.pi, count)[:, None] * axis)
    return piece.centres_mm[ring] + piece.core_radii_mm[ring] * turns.apply(
        first / np.linalg.norm(first)
    )


def windings(line, piece, ring):
    """How often a closed line goes through a ring's disc, in the sense of its axis."""
    axis = piece.axes[ring]
    away = np.vstack([line, line[:1]]) - piece.centres_mm[ring]
    height = away @ axis
    at = np.flatnonzero(height[:-1] * height[1:] < 0.0)
    share = (height[at] / (height[at] - height[at + 1]))[:, None]
    cross = away[at] + share * (away[at + 1] - away[at])
    inside = np.linalg.norm(cross, axis=1) < piece.core_radii_mm[ring]
    return abs(int(np.sign(height[at + 1] - height[at])[inside].sum()))


def test_a_ring_that_stands_open_cuts_through_no_other(barrel):
    """By plain sampling of all middle lines, nearest neighbours from SciPy's k-d tree."""
    _, states, _, shown = barrel
    for state, view in zip(states, shown[1:], strict=True):
        piece, new = view.piece, view.scene.new
        lines = [
            view.opened.core_line(720) if ring == new else circle_of(piece, ring)
            for ring in range(len(piece))
        ]
        for one in range(len(piece)):
            tree = cKDTree(lines[one])
            for other in range(one):
                assert tree.query(lines[other])[0].min() > SIZE.wire_mm - 0.002
        # It takes the rings that it will hold once it is closed, and no others.
        held = {ring for ring in range(len(piece)) if ring != new}
        took = {ring for ring in held if windings(lines[new], piece, ring)}
        assert took == {ring for ring in held if tuple(sorted((ring, new))) in state.links}


def test_a_clasp_hangs_from_the_end_of_the_chain_alone(barrel):
    rule, states, _, _ = barrel
    numbers = words.numbered(rule)
    ends = [ref for ref, number in numbers.items() if number in words.end_rings(rule)[1]]
    found = with_clasp(states[-1], ends)
    assert found is not None
    loop, ring = (found.rings.index(ref) for ref in (CLASP, CLASP_RING))
    new = set(found.links) - set(states[-1].links)
    assert new == {(found.rings.index(ends[0]), ring), (loop, ring)}
    centres, rings = found.unit.rings.centres, found.unit.rings
    # As far down as two rings reach from one another: 2 R - 2 r.
    reach = 2.0 * (rings.core_radii[ring] - rings.wire_radii[ring])
    assert centres[loop, 0] - centres[ring, 0] == pytest.approx(reach, abs=0.01)


def test_what_finishing_takes_is_said_and_counted():
    """A clasp takes a ring at either end (common practice, no source); a pendant hangs by one."""
    assert "the clasp takes 2 more open rings" in words.bill(load_rule("barrel"))
    rosette = load_rule("three-ring-rosette")
    assert "hanging it up takes 1 more open ring." in words.bill(rosette)
    first, *_, last = (ring.name for ring in rosette.rings)
    strip = replace(rosette, ends=((first,), (last,)))
    numbers = {ref.name: number for ref, number in words.numbered(strip).items()}
    assert words.end_rings(strip) == ([numbers[first]], [numbers[last]])
    assert "the clasp takes 2 more open rings" in words.bill(strip)
    assert f"(here ring {numbers[last]}) and the clasp" in words.finishing(strip)
    assert "ear wire" not in words.finishing(strip)


def test_a_wide_strip_takes_a_ring_for_each_of_its_last_rings():
    """Its three last rings lie farther apart than a ring of their size reaches."""
    strip = load_rule("european-4-in-1-strip-5")
    assert not words.held_by_one(strip)
    assert "the clasp takes 6 more open rings" in words.bill(strip)
    _, last = words.end_rings(strip)
    assert "lie too far apart for one ring" in words.finishing(strip)
    assert f"clasp of {len(last)} loops" in words.finishing(strip)
    for narrow in ("european-4-in-1-strip-3", "byzantine", "three-in-three", "spiral-3-in-1"):
        assert words.held_by_one(load_rule(narrow))
        assert "too far apart" not in words.finishing(load_rule(narrow))


def test_rings_for_a_bar_hang_from_one_ring_of_the_end_each(barrel):
    rule, states, _, _ = barrel
    numbers = words.numbered(rule)
    (end,) = (ref for ref, number in numbers.items() if number in words.end_rings(rule)[1])
    found = with_bar_rings(states[-1], [end, end])
    assert found is not None
    new = set(found.links) - set(states[-1].links)
    first = len(states[-1].rings)
    at = found.rings.index(end)
    assert new == {(at, first), (at, first + 1)}


def test_the_paper_can_be_read_back(barrel, tmp_path):
    rule, _, lines, _ = barrel
    file = io.BytesIO()
    Image.new("RGB", (64, 64), "white").save(file, "PNG")
    cards = tuple(
        Card(f"Step {at}", line.text, file.getvalue(), words.alt_text(rule, line), line.part)
        for at, line in enumerate(lines)
    )
    sheet = Sheet("Barrel", ("facts",), cards, {0: "First", 1: "Then"}, {}, "the end")
    for paper, size in (("A4", (595, 842)), ("letter", (612, 792))):
        path = tmp_path / f"{paper}.pdf"
        write_pdf(sheet, path, paper)
        read = pypdf.PdfReader(path)
        box = read.pages[0].mediabox
        assert (round(box.width), round(box.height)) == size
        text = " ".join("\n".join(page.extract_text() for page in read.pages).split())
        assert words.read_back(text) == tuple(
            pair for line in lines for pair in words.read_back(line.text)
        )
        for page in read.pages:
            for font in page["/Resources"]["/Font"].values():
                (real,) = font.get_object()["/DescendantFonts"]
                assert "/FontFile2" in real.get_object()["/FontDescriptor"].get_object()
        again = tmp_path / "again.pdf"
        write_pdf(sheet, again, paper)
        assert again.read_bytes() == path.read_bytes()


def read_glb(data):
    """The JSON part, and a function from an accessor to its numbers; glTF 2.0, section 4.4."""
    magic, version, length = struct.unpack_from("<III", data)
    assert (magic, version, length) == (0x46546C67, 2, len(data))
    size = struct.unpack_from("<I", data, 12)[0]
    content = json.loads(data[20 : 20 + size])

    def numbers(accessor):
        entry = content["accessors"][accessor]
        width = {"SCALAR": 1, "VEC3": 3, "VEC4": 4}[entry["type"]]
        kind = {5126: "<f4", 5125: "<u4"}[entry["componentType"]]
        start = content["bufferViews"][entry["bufferView"]]["byteOffset"] + 28 + size
        found = np.frombuffer(data, kind, entry["count"] * width, start)
        return found.reshape(-1, width).astype(float)

    return content, numbers


def test_the_animation_stands_still_in_every_state(barrel, tmp_path):
    _, _, _, shown = barrel
    path = tmp_path / "barrel.glb"
    write_animation(shown, path)
    content, numbers = read_glb(path.read_bytes())
    (animation,) = content["animations"]
    moves = {}
    for channel in animation["channels"]:
        sampler = animation["samplers"][channel["sampler"]]
        name = content["nodes"][channel["target"]["node"]]["name"].split(",")[0]
        times, values = numbers(sampler["input"])[:, 0], numbers(sampler["output"])
        moves[name, channel["target"]["path"]] = times, values

    def at(name, path, second):
        times, values = moves[name, path]
        return np.array([np.interp(second, times, column) for column in values.T])

    for step, view in enumerate(shown[1:]):
        # The end of the step, with all at rest and every ring closed; before it, one stood open.
        second = 1.0 + 2.6 * (step + 1)
        for piece, then in ((view.scene.piece, second), (view.piece, second - 1.7)):
            for ring, number in enumerate(piece.names):
                name = f"ring {number}"
                place = at(name, "translation", then)
                assert place == pytest.approx(piece.centres_mm[ring], abs=1e-5)
                x, y, z, w = at(name, "rotation", then)
                # The third column of the turn's matrix: where it takes the z axis.
                axis = [2 * (x * z + w * y), 2 * (y * z - w * x), 1 - 2 * (x * x + y * y)]
                assert abs(axis @ piece.axes[ring]) == pytest.approx(1.0, abs=1e-5)
        for number in view.piece.names:
            name = f"ring {number}"
            if (name, "scale") in moves:
                assert moves[name, "scale"][0][1] < second
        new = f"ring {view.piece.names[view.scene.new]}"
        assert moves[new, "scale"][0][1] > second - 2.6
        assert moves[new, "weights"][1][:, 0].tolist() == [1.0, 1.0, 0.0]
        assert moves[new, "weights"][0][-1] < second


def test_the_command_writes_all_its_files(tmp_path, tmp_path_factory, capsys):
    out = tmp_path / "chain"
    text = load_rule("one-in-one").path.read_text(encoding="utf-8")
    mine = tmp_path_factory.mktemp("rules") / "mine.toml"
    mine.write_text(text.replace("lay_in_words = true\n", ""), encoding="utf-8")
    given = ["assembly", str(mine), "--wire", "0.9mm", "--inner", "3.2mm", "--out", str(out)]
    assert main([*given, "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    jsonschema.validate(facts, schema_of("assembly"))
    assert facts == json.loads((tmp_path / "chain.json").read_text())
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(
        [
            "chain.pdf",
            "chain.glb",
            "chain.json",
            *(f"chain-{step:02}.png" for step in range(3)),
            *(f"chain-{more}.png" for more in ("first", "lay", "repeating", "clasp")),
        ]
    )
    for step in facts["steps"]:
        with Image.open(tmp_path / f"chain-{step['step']:02}.png") as picture:
            levels = np.asarray(picture.convert("RGB")).astype(int)
        # Vermilion is only in pictures in which a ring is put in.
        vermilion = (levels[..., 0] > 120) & (levels[..., 2] < 40)
        assert (vermilion.sum() > 500) == (step["ring"] is not None)
        assert step["alt"]
    assert facts["at_rest"]
    # Nothing says that this rule's words leave one lay alone: the finished one is shown.
    pictures = [more["picture"] for more in facts["more_pictures"]]
    assert pictures == ["first", "repeating", "lay", "clasp"]
    # The text calls the clasp's rings what the picture calls them.
    number = len(facts["rings"]) + 1
    assert f"open ring, ring {number} in the picture, through" in facts["finishing"]
    assert "and the clasp (C), and another" in facts["finishing"]
    assert f"Pass open ring {number} " in facts["more_pictures"][3]["text"]
    assert "may leave open how some rings lie" in facts["more_pictures"][2]["text"]
    assert all(more["alt"] and more["text"] for more in facts["more_pictures"])
    assert main(["assembly", "barrel", "--wire", "2mm", "--ratio", "1.5", "--out", str(out)]) == 1


def test_the_sheet_says_where_a_picture_is_not_quite_what_one_will_see(tmp_path, monkeypatch):
    def unrested(*given):
        return [replace(state, at_rest=False) for state in half_made(*given)]

    def no_picture(*given):
        raise PictureUnavailable("nothing is drawn here")

    monkeypatch.setattr("ringwright.outputs.assembly_sheet.sheet.half_made", unrested)
    monkeypatch.setattr("ringwright.outputs.models.artist.Artist.picture", no_picture)
    out = tmp_path / "chain"
    assert (
        main(["assembly", "one-in-one", "--wire", "1mm", "--inner", "4mm", "--out", str(out)]) == 0
    )
    facts = json.loads((tmp_path / "chain.json").read_text())
    said = words.as_drawn(False, None)
    assert [step["as_drawn"] for step in facts["steps"] if step["ring"]] == [said, said]
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "chain.pdf").pages)
    assert " ".join(text.split()).count(said) >= 2
    assert "0.12 mm inside another" in words.as_drawn(True, -0.12)
    assert words.as_drawn(True, 0.01) == ""


@pytest.mark.parametrize("rule", list_rules(), ids=lambda rule: rule.name)
def test_pictures_of_a_finished_part_are_not_crowded_with_numbers(rule):
    for part in range(list(woven(rule))[-1].part + 1):
        line = words.whole_line(rule, part)
        assert len(line.through) <= 12
        if rule.family.name != "piece" and part > 0:
            told = re.search(r"Rings (\d+) (?:to|and) (\d+) are|Ring (\d+) is", line.text)
            first, last = min(found := [int(n) for n in told.groups() if n]), max(found)
            come = [put for put in woven(rule) if put.part == part]
            assert last - first + 1 == sum(len(put.new) + len(put.captive) for put in come)
            assert {first, last} & set(line.through)
            assert set(line.through) <= set(range(first, last + 1))


def test_a_sheets_clasp_is_for_the_middle_of_its_edges():
    rule = load_rule("european-4-in-1")
    left, right = words.end_rings(rule)
    assert f"here ring {right[0]})" in words.finishing(rule)
    state = half_made(rule, settle(rule, RingSize(1.0, 4.3)).unit)[-1]
    numbers = words.numbered(rule)
    centres = zip(state.rings, state.unit.rings.centres[:, :2], strict=True)
    at = {numbers[ref]: centre for ref, centre in centres}
    xs, ys = np.array(list(at.values())).T
    for (ring,), way in ((left, -1.0), (right, 1.0)):
        assert way * at[ring][0] > (way * xs).max() - 0.5
        edge = np.sort(ys[way * xs > (way * xs).max() - 0.5])
        assert edge[0] < at[ring][1] < edge[-1]


@pytest.mark.parametrize("rule", list_rules(), ids=lambda rule: rule.name)
def test_closed_rings_have_lower_numbers_than_those_that_pick_them_up(rule):
    taken = [(line.ring, ring) for line in words.lines(rule) for ring in line.picked_up]
    assert all(ring < new for new, ring in taken)
    assert ("has a lower number" in words.pictures_words(rule)) == bool(taken)
