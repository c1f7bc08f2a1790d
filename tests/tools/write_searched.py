"""Fills in what the program keeps of its searches for the tightest ring; see its module.

``python -m tests.tools.write_searched`` searches every weave of the library from all starts, in
this process, and writes ``generator/solver/searched.json``. It takes a minute or two.
"""

from __future__ import annotations

import json
from pathlib import Path

import ringwright.solver.searched as kept
from ringwright.answers.minimums import usual_size
from ringwright.base.files import WholeFiles
from ringwright.solver.tightest import has_one_limit, tightest
from ringwright.weaves import list_rules


def main() -> None:
    """Search and write."""
    found = {}
    for rule in list_rules():
        if not has_one_limit(rule):
            continue
        limit = tightest(rule, usual_size(rule), workers=0)
        found[kept.fingerprint(rule)] = kept.record(
            rule.name, limit.aspect_ratio, limit.path, limit.agreed, limit.spread, limit.unit
        )
        print(f"{rule.name}: {limit.aspect_ratio:.6f} by {limit.path}", flush=True)
    with WholeFiles(Path(kept.__file__).parent) as batch:
        text = json.dumps(found, indent=1, sort_keys=True) + "\n"
        batch.new(kept.FILE).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
