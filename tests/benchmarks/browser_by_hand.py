"""Pieces pulled by hand in a browser: ``python -m tests.benchmarks.browser_by_hand [SECONDS]``.

Takes hold of a ring of a few repeats and leads it round, with all that a maker's page does
meanwhile, and prints how many moments the server worked out a second and how many frames the
browser drew, beside how many it draws of an empty scene; what one moment takes to be worked out,
to be asked for and come, to be put in place and to be drawn, each alone; what server and browser
cost in processor time; and how long the piece took to rest once it was let go. Where there is no
graphics processor the browser draws by software, on the same cores.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import numpy as np
import psutil

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
# Moments that have come, and frames that were drawn.
_COUNTED = f"[{_VIEW}.frames, {_VIEW}.renderer.info.render.frame]"
# Frames a second that a browser shows where each is drawn, of the rings as they are or of nothing.
_SHOWN = f"""(empty) => new Promise((done) => {{
  const view = {_VIEW}, all = [view.shown, view.ground.mesh, view.ribbons.mesh];
  const were = all.map((one) => one.visible);
  if (empty) for (const one of all) one.visible = false;
  let frames = 0, begun = performance.now();
  const step = () => {{
    view.moving();
    view.renderer.render(view.scene, view.camera);
    const now = performance.now() - begun;
    if (now < 1500) return requestAnimationFrame(step, frames++);
    all.forEach((one, k) => (one.visible = were[k]));
    done((1000 * frames) / now);
  }};
  requestAnimationFrame(step);
}})"""
# Milliseconds to put rings in place, and to draw them to the last dot.
_ALONE = f"""() => {{
  const view = {_VIEW}, gl = view.renderer.getContext(), dot = new Uint8Array(4), times = 12;
  const took = (work) => {{
    const begun = performance.now();
    for (let k = 0; k < times; k++) work();
    return (performance.now() - begun) / times;
  }};
  const draw = () => {{
    view.renderer.render(view.scene, view.camera);
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, dot);
  }};
  view.moving();
  return [took(() => view.put(view.at)), took(draw)];
}}"""
# From a still hand's next move to the moment that answers it; waits until that is there.
_ANSWERED = f"""() => new Promise((done) => {{
  const view = {_VIEW}, count = view.frames, begun = performance.now();
  view.draw_to(view.pull.target.clone().add({{ x: 0, y: 0, z: 0.05 }}));
  const look = () => view.frames > count ? done(performance.now() - begun) : setTimeout(look);
  look();
}})"""
# So long a maker looks at what is there before pulling at it.
_SETTLES_MS = 6000


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


@dataclass(frozen=True)
class Led:
    """What was counted while a ring was led round: rings, per second, processors, milliseconds.

    Attributes
    ----------
    empty : frames a second of an empty scene
    answered_ms : from a move of a still hand to the moment that answers it
    placed_ms, drawn_ms : to put rings in place, and to draw them
    """

    rings: int
    seconds: float
    moments: float
    frames: float
    full: float
    empty: float
    answered_ms: float
    placed_ms: float
    drawn_ms: float
    server_s: float
    browser_s: float
    rest_s: float


def pulled(page: Any, seconds: float, server: psutil.Process) -> Led:
    """Take hold of a ring, lead it round and let it go."""
    page.get_by_role("button", name="Pull by hand").click()
    page.wait_for_function(f"{_VIEW}.may_pull && ({_RING})()")
    x, y = page.evaluate(_RING)
    page.mouse.move(x, y)
    page.mouse.down()
    # The first moments load what all others find there.
    page.mouse.move(x - 9, y - 9, steps=9)
    page.wait_for_function(f"{_VIEW}.frames > 3")
    before, used, begun = page.evaluate(_COUNTED), _used(server), time.monotonic()
    while (now := time.monotonic() - begun) < seconds:
        angle = 2.0 * now
        page.mouse.move(x - _LOOP * math.sin(angle), y - _LOOP * (1 - math.cos(angle)))
        page.wait_for_timeout(_STEP_MS)
    moments, frames = (
        (end - start) / now for start, end in zip(before, page.evaluate(_COUNTED), strict=True)
    )
    server_s, browser_s = (
        (end - start) / now for start, end in zip(used, _used(server), strict=True)
    )
    # Held where it was taken, it comes to stand still; elsewhere the piece follows for minutes.
    page.mouse.move(x, y, steps=9)
    answered = []
    for _ in range(7):
        page.wait_for_function(f"{_VIEW}.is_still")
        answered.append(page.evaluate(_ANSWERED))
    page.wait_for_function(f"{_VIEW}.is_still")
    placed_ms, drawn_ms = page.evaluate(_ALONE)
    full, empty = (page.evaluate(_SHOWN, is_empty) for is_empty in (False, True))
    page.mouse.up()
    begun = time.monotonic()
    page.wait_for_function("document.querySelector('.motion').innerText === ''")
    rest_s = time.monotonic() - begun
    rings = page.evaluate(f"{_VIEW}.count")
    alone = full, empty, float(np.median(answered)), placed_ms, drawn_ms
    return Led(rings, now, moments, frames, *alone, server_s, browser_s, rest_s)


def _used(server: psutil.Process) -> tuple[float, float]:
    """Processor seconds of the server's processes so far, and of the browser's."""
    ours = {one.pid for one in server.children(recursive=True)} | {server.pid}
    others = [one for one in psutil.Process().children(recursive=True) if one.pid not in ours]
    return _seconds(map(psutil.Process, ours)), _seconds(others)


def _seconds(processes: Iterable[psutil.Process]) -> float:
    total = 0.0
    for one in processes:
        with suppress(psutil.Error):
            took = one.cpu_times()
            total += took.user + took.system
    return total


def measure(seconds: float) -> None:
    """Pull at every weave in turn."""
    served = serve()
    try:
        with chromium() as browser:
            for weave, size in _SIZES.items():
                query = f"?weave={weave}&wire={size.wire_mm}mm&inner={size.inner_mm}mm"
                page = opened(browser, served.address + query)
                page.wait_for_timeout(_SETTLES_MS)
                led = pulled(page, seconds, psutil.Process(served.process.pid))
                page.close()
                worked_ms = worked_out_ms(weave)
                print(
                    f"{weave}, {led.rings} rings: {led.moments:.1f} moments and {led.frames:.1f} "
                    f"frames a second; by itself the browser draws {led.full:.1f} of them, and "
                    f"{led.empty:.1f} of an empty scene. A moment takes {worked_ms:.0f} ms of one "
                    f"processor to be worked out, is there {led.answered_ms:.0f} ms after the hand "
                    f"has moved, so {max(0.0, led.answered_ms - worked_ms):.0f} ms for the way and "
                    f"the wait, and takes {led.placed_ms:.1f} ms to be put in place and "
                    f"{led.drawn_ms:.1f} ms to be drawn. Server and browser used "
                    f"{led.server_s:.2f} and {led.browser_s:.2f} processors; at rest "
                    f"{led.rest_s:.1f} s after it was let go"
                )
    finally:
        served.close()


if __name__ == "__main__":
    measure(float(sys.argv[1]) if len(sys.argv) > 1 else 4.0)
