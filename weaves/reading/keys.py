"""The keys of a rule file, what is expected of each, and how large a rule may be."""

from __future__ import annotations

import re

from ringwright.base.wording import either
from ringwright.weaves.family import FAMILIES
from ringwright.weaves.rule import SIDES

MOST_BYTES = 256 * 1024
MOST_RINGS = 60
MOST_LINKS = 600
MOST_SIZES = 20
MOST_AROUND = 60
FURTHEST_IMAGE = 3
# So many rules may be like one another in turn.
MOST_NESTED = 4
MOST_SECTIONS = 10
MOST_SIDE_BY_SIDE = 4
LARGEST_COORDINATE = 100.0
LARGEST_ASPECT_RATIO = 50.0
LARGEST_MULTIPLE = 20.0
LONGEST_NOTE = 300
WIRE_MM = (0.05, 50.0)
INNER_MM = (0.1, 500.0)
NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]{0,15}")
WEAVE_NAME = re.compile(r"[^\W_][\w -]{0,39}")
ROLES = ("open", "closed")
# The keys that say how a unit repeats: each family has its own.
REPEAT_KEYS = ("repeat_vector", "repeat_vectors", "turn_degrees", "around")
# Of these, the ones that are part of a placement.
PLACEMENT_KEYS = {"repeat_vector", "repeat_vectors", "turn_degrees"}
PROVENANCES = ("common practice, no source", "from memory")
SOURCE = "source: "
A_VECTOR = "a list of three numbers"
_OR_NONE = " (or leave the whole placement out, for 'ringwright place' to find one)"
_A_ROLE = 'either "open" or "closed"'
A_NAME = "a letter followed by up to 15 letters, digits or underscores"
A_WEAVE_NAME = "1 to 40 letters, digits, spaces, hyphens and underscores"
A_MULTIPLE = f"a number above 0 and at most {LARGEST_MULTIPLE:g}"
STEPS_WANTED = f"a list of 1 to {MOST_RINGS} [[step]] tables"
_A_FAMILY = either([f'"{name}"' for name in FAMILIES])
_A_RING = "a ring name, or a table with its name and image"
A_METAL_LIST = 'metals by role or ring name, e.g. "open=copper,closed=steel/brass"'
_MINIMUMS_WANTED = "a table with geometric_minimum and working_minimum"
_THE_ENDS = "two lists of rings that a piece is pulled straight by, at its beginning and its end"
RULE_KEYS = {
    "name": "the weave's name",
    "trade_names": "a list of names",
    "summary": "one line of text",
    "family": f"the family {_A_FAMILY}",
    "repeat_vector": f"a list [length, 0, 0] with a positive length{_OR_NONE}",
    "repeat_vectors": f"two lists [a, 0, 0] and [b, c, 0] with positive a and c{_OR_NONE}",
    "turn_degrees": f"the degrees that each repeat is turned by{_OR_NONE}",
    "around": f"a whole number of units around the tube, 2 to {MOST_AROUND}",
    "common_aspect_ratio": "a table with low, high and provenance",
    "computed": _MINIMUMS_WANTED,
    "metals": A_METAL_LIST,
    "ends": _THE_ENDS,
    "lay_in_words": "true where this is the tightest lay that the steps leave, else false",
    "size": "a [[size]] table for each ring size besides the first",
    "ring": "a [[ring]] table for each ring of the repeat",
    "link": f"a [[link]] table for each pair of linked rings{_OR_NONE}",
    "start": "a [[start]] table for each ring there before the first repeat",
    "step": "a [[step]] table for each open ring, in order of assembly",
}
OPTIONAL_KEYS = {
    "common_aspect_ratio",
    "computed",
    "metals",
    "ends",
    "lay_in_words",
    "size",
    "link",
    "start",
    *REPEAT_KEYS,
}
RING_KEYS = {
    "name": "a ring name",
    "role": _A_ROLE,
    "centre": f"{A_VECTOR}{_OR_NONE}",
    "axis": f"{A_VECTOR}{_OR_NONE}",
    "size": "the name of a size",
}
STRIP_KEYS = {
    "name": "the piece's name",
    "summary": "one line of text",
    "section": "a [[section]] table for each length of chain or group of rings, in order",
}
SECTION_KEYS = {
    "weave": "the name of a weave, or of a rule file in the same folder",
    "repeats": "a whole number",
    "rings": f"a whole number of rings side by side, 1 to {MOST_SIDE_BY_SIDE}",
    "core": "the rings' core radius as a multiple of that of the first size",
    "wire": "the rings' wire as a multiple of that of the first size",
}
VARIATION_KEYS = {
    "name": "the weave's name",
    "like": "the name of a weave, or of a rule file in the same folder",
    "summary": "one line of text",
    "common_aspect_ratio": "a table with low, high and provenance",
    "computed": _MINIMUMS_WANTED,
    "metals": A_METAL_LIST,
    "size": "a [[size]] table for each ring size that is new",
    "change": "a [[change]] table for each ring that is other than in that weave",
}
OPTIONAL_IN_VARIATION = ("common_aspect_ratio", "computed", "metals", "size", "change")
CHANGE_KEYS = {
    "ring": "the name of a ring of that weave",
    "size": 'the name of a [[size]], or "main"',
    "doubled": "true for two rings side by side in the place of one",
}
MAIN = "main"
MULTIPLE_KEYS = {"core": A_MULTIPLE, "wire": A_MULTIPLE}
FIXED_KEYS = {"wire_mm": "the wire in millimetres", "inner_mm": "the inside in millimetres"}
SIZE_KEYS = {"name": "a name for the size", **MULTIPLE_KEYS, **FIXED_KEYS}
LINK_KEYS = {"rings": "a list of two rings"}
START_KEYS = {"ring": _A_RING, "role": _A_ROLE}
_A_SIDE = either([f'"{side}"' for side in SIDES])
STEP_KEYS = {
    "ring": _A_RING,
    "through": "a list of rings",
    "holding": "a list of names of closed rings that it keeps captive",
    "over": "a list of rings that it lies over, and does not go through",
    "under": "a list of rings that it lies under, and does not go through",
    "overlap": "a [[step.overlap]] table for each two rings that overlap by now",
}
OPTIONAL_IN_STEP = ("holding", "over", "under", "overlap")
OVERLAP_KEYS = {
    "of": "a list of two rings that overlap",
    "through": "a list of rings that go through the overlap",
    "around": "a list of rings that go around the overlap",
}
REF_KEYS = {"name": "a ring name", "image": "a number of repeats"}
WAY_KEYS = {**REF_KEYS, "from": f"the side that the new ring comes from, {_A_SIDE}"}
RANGE_KEYS = {
    "low": "a number",
    "high": "a number",
    "provenance": f'"{PROVENANCES[0]}", "{PROVENANCES[1]}" or "{SOURCE}..."',
    "note": "a sentence on why the low end is not near the computed minimum",
}
COMPUTED_KEYS = {
    "geometric_minimum": "the smallest aspect ratio at which the weave exists",
    "straight_minimum": "the smallest aspect ratio in the shape of the rule's placement",
    "working_minimum": "the smallest aspect ratio at which every ring can be put in",
    "wire_mm": "the wire of the first size that they were computed for",
    "inner_mm": "the inner diameter of the first size that they were computed for",
    "shape_of_repeats": "1 or 2: how many repeats are the unit of the tightest shape",
    "shape_repeat": "the length of that unit along x",
    "shape_turn_degrees": "the turn from one such unit to the next",
    "shape_places": "for each ring of that unit six numbers, its centre and its axis",
}
SHAPE_KEYS = ("shape_of_repeats", "shape_repeat", "shape_turn_degrees", "shape_places")
