"""A small sound rule of every family, as text; the loader does not look at the geometry."""

from ringwright.weaves.family import FAMILIES, Family

_HEAD = """
name = "mine"
trade_names = []
summary = "a small rule"
"""
_TWO_RINGS = """
ring = [
    { name = "A", role = "open", centre = [0, 0, 0], axis = [0, 0, 1] },
    { name = "B", role = "closed", centre = [1, 0, 0], axis = [0, 1, 0] },
]
"""
_ALONE = """
link = [{ rings = ["A", "B"] }]
step = [{ ring = "A", through = ["B"] }]
"""
_ALONG = """
link = [{ rings = ["A", "B"] }, { rings = ["A", { name = "B", image = -1 }] }]
start = [{ ring = { name = "B", image = -1 }, role = "closed" }]
step = [{ ring = "A", through = ["B", { name = "B", image = -1 }] }]
"""
_ACROSS = """
link = [
    { rings = ["A", "B"] },
    { rings = ["A", { name = "B", image = [-1, 0] }] },
    { rings = ["A", { name = "B", image = [0, -1] }] },
]
step = [{ ring = "A", through = [
    "B", { name = "B", image = [-1, 0] }, { name = "B", image = [0, -1] },
] }]
"""
# A key of a family of its own needs a line here.
KEY_LINES = {
    "repeat_vector": "repeat_vector = [2.4, 0, 0]\n",
    "repeat_vectors": "repeat_vectors = [[2, 0, 0], [0.5, 1.5, 0]]\n",
    "turn_degrees": "turn_degrees = 36.0\n",
    "around": "around = 5\n",
}


def _small_rule(family: Family) -> str:
    keys = "".join(KEY_LINES[key] for key in family.keys)
    woven = (_ALONE, _ALONG, _ACROSS)[family.image_numbers]
    return f'{_HEAD}family = "{family.name}"\n{keys}{_TWO_RINGS}{woven}'


SMALL_RULES = {name: _small_rule(family) for name, family in FAMILIES.items()}
