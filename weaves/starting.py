"""The rule file that a maker starts from."""

from __future__ import annotations

from ringwright.weaves.loader import checked_name

# A chain that is right as it stands, so that the first `check` works and every change
# after it can be tried at once.
_TEXT = """\
# A weave rule to change into your own. As it stands it is a small chain of flat and upright
# rings in turn, each through the next. Try it at once with
#
#     ringwright check ./{file} --wire 0.9mm --inner 3.2mm
#
# and again after every change: the program says in one sentence what does not fit together.
# A line that starts with # is a comment and has no effect.

# What the weave is called: letters, digits, spaces, hyphens and underscores.
name = "{name}"
# Other names it goes by, e.g. ["one", "another"].
trade_names = []
summary = "flat and upright rings in turn, each through the next"

# How it repeats: "chain" (moved along), "screw" (moved along and turned), "sheet" (rows
# of rows), "tube" (a sheet rolled up) or "piece" (just these rings, no repeat).
family = "chain"

# How far one repeat is from the next. Lengths in this file are in units of the core
# radius, which is half way between the inside and the outside of the ring.
# Directions: x along the chain, y across it, z up from the table.
repeat_vector = [2.4, 0.0, 0.0]

# The aspect ratios (inner diameter / wire) in use, and where you have them from:
# "from memory", "common practice, no source" or "source: ...". Delete the four # marks
# once you know them; without them the verdict is taken from the room between the rings.
# [common_aspect_ratio]
# low = 2.8
# high = 5.0
# provenance = "from memory"

# The rings of one repeat. A ring that is "open" is opened before weaving and closed in
# place; one that is "closed" is closed before weaving and carried in. The placement need
# only be rough: `axis` is the direction that the ring faces. What counts is that the right
# rings run through one another, and that the right one is on top where they cross; the
# program moves them to where they really rest. (Or leave out repeat_vector, every centre,
# every axis and every [[link]], and let `ringwright place` find placements by itself.)

[[ring]]
name = "a"
role = "open"
centre = [0.0, 0.0, 0.0]
axis = [0.0, 0.0, 1.0]

[[ring]]
name = "b"
role = "closed"
centre = [1.2, 0.0, 0.0]
axis = [0.0, 1.0, 0.0]

# Rings have the size that --wire and --inner give. A ring of a second size names it, e.g.
# size = "small", and a table says how large that is: core radius and wire as multiples of
# those of the first size (core = 0.7, wire = 0.8), or millimetres (wire_mm = 0.8,
# inner_mm = 2.5):
# [[size]]
# name = "small"
# core = 0.7
# wire = 0.8

# Which rings run through one another, every pair once. `image` counts repeats: -1 is the
# repeat before, 1 the next; a name alone is a ring of this repeat.

[[link]]
rings = ["a", "b"]

[[link]]
rings = ["a", {{ name = "b", image = -1 }}]

# What lies on the bench before the first repeat.

[[start]]
ring = {{ name = "b", image = -1 }}
role = "closed"

# The order of work: each open ring in turn, with all rings it is put through. Where links alone
# leave open which weave it is, a step can also say how rings lie on the table before you: from
# which side it goes through a ring, as {{ name = "b", from = "above" }} or "below"; over = ["c"] or
# under = ["c"], of rings it does not go through; and what goes through or around the overlap of
# two rings:
# [[step.overlap]]
# of = ["a", "c"]
# through = ["b"]
# around = ["d"]

[[step]]
ring = "a"
through = [{{ name = "b", image = -1 }}, "b"]
"""


def starting_text(name: str, file: str) -> str:
    """A commented rule file of a small correct chain.

    Parameters
    ----------
    name : what the weave is to be called
    file : the name of the file, for the remark that says how to try it

    Raises
    ------
    BadInput
        When a weave cannot have that name.
    """
    return _TEXT.format(name=checked_name(name), file=file)
