"""A large sheet turned in a real browser: ``python -m tests.benchmarks.browser_turning``.

Turns a sheet of some 5,000 rings by a little at every frame, drawn as the page draws it and, as
the peer, with the coarsest tori, and prints how long the frames took and the ratio. Where there
is no graphics processor the browser draws by software, on the processor's cores.
"""

from __future__ import annotations

import re
from typing import Any

from tests.browser import chromium, opened, serve

_SHEET = "?weave=european-4-in-1&length=320mm&width=125mm"
_FRAMES = 90
_TORI = """(view) => {
  view.refine = () => {
    view.ribbons.mesh.visible = false;
    for (const mesh of view.tori()) mesh.visible = true;
    view.refine_tori(10, 4);
  };
  view.refine();
}"""
_TURN = """([view, frames]) => new Promise((done) => {
  const took = [];
  let last = 0;
  const step = (now) => {
    if (last) took.push(now - last);
    last = now;
    if (took.length < frames) {
      view.turn(0.03, 0);
      requestAnimationFrame(step);
    } else done([took, view.renderer.info.render.triangles]);
  };
  requestAnimationFrame(step);
})"""


def turned(page: Any, name: str) -> float:
    """Turn the sheet, print how long frames took, and give the middle one in milliseconds."""
    view = page.evaluate_handle("getElement(document.querySelector('.look .ring-view'))")
    if name == "tori":
        page.evaluate(_TORI, view)
    times, triangles = page.evaluate(_TURN, [view, _FRAMES])
    # The first frames bring shapes and programs to where they are drawn.
    times = sorted(times[5:])
    middle, late = times[len(times) // 2], times[int(0.95 * len(times))]
    mean = sum(times) / len(times)
    print(
        f"{name}: {triangles} triangles, frame {middle:.0f} ms in the middle, {late:.0f} ms at"
        f" 95 %, {1000 / mean:.0f} frames a second"
    )
    return mean


def measure() -> None:
    """Turn the sheet both ways."""
    served = serve()
    try:
        with chromium() as browser:
            page = opened(browser, served.address + _SHEET)
            page.get_by_label("The whole piece").check()
            told = page.get_by_text(re.compile("rings, .* repeats, .* with the end rings"))
            told.wait_for()
            print(f"{told.inner_text().split()[0]} rings")
            ribbons, tori = (turned(page, name) for name in ("as the page does", "tori"))
            print(f"tori take {tori / ribbons:.1f} times as long")
    finally:
        served.close()


if __name__ == "__main__":
    measure()
