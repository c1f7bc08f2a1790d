"""Pieces pulled by hand in a browser: ``python -m tests.benchmarks.browser_by_hand [SECONDS]``.

Takes hold of a ring of a few repeats and leads it round, with all that a maker's page does
meanwhile, and prints how many times a second the model moved, what one moment took this
processor to work out, and how long the piece took to rest once it was let go. Where there is no
graphics processor the browser draws by software, on the same cores.
"""

from __future__ import annotations

import math
import sys
import time
from typing import Any

import numpy as np

from ringwright.base.sizes import RingSize
from ringwright.outputs.gallery.gallery import shown_repeats
from ringwright.page.worked_out.by_hand import Grip, a_moment_later, laid_hold_of
from ringwright.piece.piece import woven_piece
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from tests.browser import chromium, opened, serve

_SIZES = {
    "half-persian-3-in-1": RingSize(0.9, 3.9),
    "barrel": RingSize(0.9, 3.2),
    "full-persian-6-in-1": RingSize(0.9, 4.6),
    "byzantine": RingSize(1.2, 5.1),
}
_VIEW = "getElement(document.querySelector('.look .ring-view'))"
_RING = f"""() => {{
  const view = {_VIEW}, {{left, top, width, height}} = view.canvas.getBoundingClientRect();
  for (let x = left + 0.9 * width; x > left + width / 2; x -= 3)
    for (let y = top + 3; y < top + height; y += 3) if (view.ring_at(x, y)) return [x, y];
}}"""
_LOOP, _STEP_MS = 90.0, 16


def worked_out_ms(weave: str) -> float:
    """What one moment takes this processor, the middle one of some."""
    rule, size = load_rule(weave), _SIZES[weave]
    settled = settle(rule, size)
    assert settled is not None
    repeats = shown_repeats(rule, settled.unit)
    piece = woven_piece(rule, settled.unit, size.core_radius_mm, *repeats)
    moving = laid_hold_of(rule, piece)
    last = int(piece.centres_mm[:, 0].argmax())
    taken, took = piece.centres_mm[last], []
    for step in range(30):
        way = 0.1 * step * size.inner_mm * np.array([-1.0, 1.0, 0.5])
        begun = time.process_time()
        moving = a_moment_later(moving, Grip(last, tuple(taken), tuple(taken + way)))
        took.append(1000 * (time.process_time() - begun))
    return float(np.median(took))


def pulled(page: Any, seconds: float) -> tuple[int, float, float]:
    """Rings, moments a second while one is led round, and seconds to rest after that."""
    page.get_by_role("button", name="Pull by hand").click()
    page.wait_for_function(f"{_VIEW}.may_pull && ({_RING})()")
    x, y = page.evaluate(_RING)
    page.mouse.move(x, y)
    page.mouse.down()
    # The first moments load what all others find there.
    page.mouse.move(x - 9, y - 9, steps=9)
    page.wait_for_function(f"{_VIEW}.frames > 3")
    before, begun = page.evaluate(f"{_VIEW}.frames"), time.monotonic()
    while (now := time.monotonic() - begun) < seconds:
        angle = 2.0 * now
        page.mouse.move(x - _LOOP * math.sin(angle), y - _LOOP * (1 - math.cos(angle)))
        page.wait_for_timeout(_STEP_MS)
    a_second = (page.evaluate(f"{_VIEW}.frames") - before) / now
    page.mouse.up()
    begun = time.monotonic()
    page.wait_for_function("document.querySelector('.motion').innerText === ''")
    return page.evaluate(f"{_VIEW}.count"), a_second, time.monotonic() - begun


def measure(seconds: float) -> None:
    """Pull at every weave in turn."""
    served = serve()
    try:
        with chromium() as browser:
            for weave, size in _SIZES.items():
                query = f"?weave={weave}&wire={size.wire_mm}mm&inner={size.inner_mm}mm"
                page = opened(browser, served.address + query)
                rings, a_second, rest_s = pulled(page, seconds)
                page.close()
                print(
                    f"{weave}, {rings} rings: {a_second:.1f} moments a second, at rest "
                    f"{rest_s:.1f} s after it was let go; a moment takes "
                    f"{worked_out_ms(weave):.0f} ms of one processor"
                )
    finally:
        served.close()


if __name__ == "__main__":
    measure(float(sys.argv[1]) if len(sys.argv) > 1 else 4.0)
