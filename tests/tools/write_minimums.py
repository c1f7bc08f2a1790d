"""Fills in what the rule files of the library keep of the solver's figures.

``python -m tests.tools.write_minimums [NAME ...]`` computes the geometric and the working minimum
of these weaves (of all without names), one after the other in this process, and writes
them into the files with everything else in them kept. Weaves of many rings take minutes.
"""

from __future__ import annotations

import sys

from ringwright.answers.minimums import (
    EXPLAINED_BEYOND,
    minimums,
    range_against_minimum,
    usual_size,
)
from ringwright.base.errors import BadInput
from ringwright.base.files import WholeFiles
from ringwright.weaves import Minimums, WeaveRule, list_rules, load_rule
from ringwright.weaves.writing import with_minimums


def write_minimums(rule: WeaveRule, found: Minimums) -> WeaveRule:
    """Put the figures into the rule's file; returns the rule as it reads then.

    Raises
    ------
    BadInput
        When the file cannot be written, or would not say them; it is left as it was, then.
    """
    text = with_minimums(rule.path.read_text(encoding="utf-8"), found)
    with WholeFiles(rule.path.parent) as batch:
        path = batch.new(rule.path.name)
        path.write_text(text, encoding="utf-8", newline="\n")
        if load_rule(path).computed != found:
            raise BadInput(f"{rule.path}: [computed] cannot be put in: write the table by hand.")
    return load_rule(rule.path)


def main(names: list[str]) -> int:
    """Compute and write; returns 1 where a range needs an explanation that it lacks."""
    unexplained = 0
    for rule in [load_rule(name) for name in names] or list_rules():
        again = write_minimums(rule, minimums(rule, usual_size(rule)))
        common, kept, far = again.common_aspect_ratio, again.computed, range_against_minimum(again)
        print(f"{again.name}: {kept}", flush=True)
        if common and far is not None and abs(far) > EXPLAINED_BEYOND and not common.note:
            unexplained = 1
            print(f"  the range begins {100 * far:+.0f} % from it: say why in its note")
    return unexplained


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
