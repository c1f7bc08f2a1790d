"""What every module is for: ``python -m tests.tools.list_modules [PART OF A NAME]``."""

from __future__ import annotations

import sys

from tests.tools.source_tree import ROOT, modules, summary


def main() -> None:
    """Print the first docstring line of every module, with its file."""
    wanted = sys.argv[1] if len(sys.argv) > 1 else ""
    for name, path in modules():
        place = str(path.relative_to(ROOT))
        if wanted in name or wanted in place:
            print(f"{place:48} {summary(path)}")


if __name__ == "__main__":
    main()
