"""Draws the small pictures from which a weave is chosen.

Run it as ``python -m ringwright.page.choosing.draw_weaves``.
Settling and drawing all weaves takes minutes, so their pictures come with the program. Beside
them stands what each was drawn from, so that one that has become out of date is found.
"""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Sequence
from pathlib import Path

from ringwright.base.files import WholeFiles
from ringwright.outputs.gallery.gallery import exhibits
from ringwright.outputs.models.picture import write_png
from ringwright.weaves import WeaveRule, list_rules

FOLDER = Path(__file__).parent / "weave_pictures"
DRAWN_FROM = FOLDER / "drawn_from.json"
_WIRE_MM = 0.9
_DRAWN, _KEPT = (720, 480), (240, 160)
_QUALITY = 82


def picture_name(rule: WeaveRule) -> str:
    """The file of a weave's picture."""
    return f"{rule.name}.webp"


def fingerprint(rule: WeaveRule) -> str:
    """A text that changes with whatever changes the picture."""
    common = rule.common_aspect_ratio
    span = None if common is None else (common.low, common.high)
    state = rule.family.pictured.said
    seen = (rule.family.name, state, rule.rings, rule.start, rule.links, span)
    return hashlib.sha256(repr(seen).encode()).hexdigest()[:16]


def draw(rules: Sequence[WeaveRule], drawn_from: dict[str, str]) -> None:
    """Draw weaves, and remember from what.

    Parameters
    ----------
    drawn_from : the fingerprints of all weaves that have a picture, by name
    """
    from PIL import Image

    with WholeFiles(FOLDER) as batch:
        for one in exhibits(rules, _WIRE_MM, lambda *step: print(*step, end="\r"), None):
            if one.piece is None:
                raise RuntimeError(f"{one.rule.name} has no picture: {one.trouble}")
            path = batch.new("large.png")
            write_png(one.piece, path, _DRAWN, close_up_only=True)
            with Image.open(io.BytesIO(path.read_bytes())) as large:
                small = large.convert("RGB").resize(_KEPT, Image.Resampling.LANCZOS)
            batch.drop("large.png")
            small.save(batch.new(picture_name(one.rule)), "WEBP", quality=_QUALITY, method=6)
            drawn_from[one.rule.name] = fingerprint(one.rule)
        text = json.dumps(drawn_from, indent=1, sort_keys=True) + "\n"
        batch.new(DRAWN_FROM.name).write_text(text, encoding="utf-8", newline="\n")


def known() -> dict[str, str]:
    """From what the pictures that are there were drawn, by weave."""
    if not DRAWN_FROM.exists():
        return {}
    found: dict[str, str] = json.loads(DRAWN_FROM.read_text(encoding="utf-8"))
    return found


def main() -> None:
    """Draw what has no picture, or one that is out of date."""
    drawn_from = known()
    due = [rule for rule in list_rules() if drawn_from.get(rule.name) != fingerprint(rule)]
    if due:
        draw(due, {rule.name: drawn_from.get(rule.name, "") for rule in list_rules()})
    print(f"{len(due)} drawn")


if __name__ == "__main__":
    main()
