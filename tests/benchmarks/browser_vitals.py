"""The page's first view in a browser: ``python -m tests.benchmarks.browser_vitals [TIMES]``.

Opens the page afresh at the size of a desktop, a tablet and a phone, and prints for each the
largest paint, the layout shift and the answer to a drag (the first two as the W3C's drafts
"Largest Contentful Paint" and "Layout Instability" define them, and as the browser tells them):

- the largest paint: when the largest text or picture of the first view was drawn, from the moment
  the page was asked for, and the processor time that the page's own process had had by then;
- the layout shift: how far what was drawn moved without being touched, until the answer was there
  and two seconds more;
- a drag: from a movement of the scale to the browser's frame in which the model is of that size.

The middle of some openings is given, and the worst. What is aimed at stands beside it.
"""

from __future__ import annotations

import os
import statistics
import sys
from collections.abc import Callable
from typing import Any

import psutil

from tests.browser import DESKTOP, PHONE, TABLET, chromium, serve

_SIZES = {"desktop": DESKTOP, "tablet": TABLET, "phone": PHONE}
_AIMS = {"largest paint": "2500 ms", "layout shift": "0.05", "drag": "100 ms"}
_DRAGS = 25
_WATCH = """
window.vitals = { paint: 0, shift: 0, moved: [] };
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) {
    vitals.paint = one.startTime;
    vitals.largest = `${one.element?.tagName} ${(one.element?.innerText || one.url).slice(0, 40)}`;
  }
}).observe({ type: "largest-contentful-paint", buffered: true });
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) {
    if (one.hadRecentInput) continue;
    vitals.shift += one.value;
    for (const { node } of one.sources)
      vitals.moved.push(`${one.value.toFixed(4)} ${node?.className || node?.nodeName || "gone"}`);
  }
}).observe({ type: "layout-shift", buffered: true });
"""
# From one input of the slider to the frame after the model says another size.
_DRAG = """([slider, ratio]) => new Promise((done) => {
  const canvas = document.querySelector(".look canvas");
  const before = canvas.getAttribute("aria-label");
  const begun = performance.now();
  const watch = new MutationObserver(() => {
    if (canvas.getAttribute("aria-label") === before) return;
    watch.disconnect();
    requestAnimationFrame(() => setTimeout(() => done(performance.now() - begun)));
  });
  watch.observe(canvas, { attributes: true });
  slider.value = ratio;
  slider.dispatchEvent(new Event("input", { bubbles: true }));
  setTimeout(() => done(null), 5000);
})"""


def opened_once(browser: Any, address: str, size: tuple[int, int]) -> tuple[float, float, Any]:
    """Largest paint in milliseconds, layout shift, and the page."""
    page = browser.new_page(viewport={"width": size[0], "height": size[1]})
    page.add_init_script(_WATCH)
    tool = page.context.new_cdp_session(page)
    tool.send("Performance.enable")
    page.goto(address)
    page.wait_for_function("vitals.paint > 0")
    metrics = {one["name"]: one["value"] for one in tool.send("Performance.getMetrics")["metrics"]}
    page.wait_for_selector(".answer table", timeout=120_000)
    page.wait_for_timeout(2000)
    found = page.evaluate("vitals")
    if found["shift"] > 0.01:
        print("  moved:", ", ".join(found["moved"][:6]))
    print(f"  largest: {found['largest']!r}, {1000 * metrics['ProcessTime']:.0f} ms of processor")
    return found["paint"], found["shift"], page


def processor_s(process: int) -> float:
    """Processor time that a process and those that it started have had, in seconds."""
    whole = psutil.Process(process)
    times = [one.cpu_times() for one in (whole, *whole.children(recursive=True))]
    # Those that have ended are told of by who started them.
    return sum(sum(one[:4]) for one in times)


def dragged(page: Any) -> list[float]:
    """How long drags took, in milliseconds; those that were overtaken are left out."""
    page.get_by_label("Any size").check()
    slider = page.locator(".scale-drag input").element_handle()
    found = []
    for step in range(_DRAGS):
        took_ms = page.evaluate(_DRAG, [slider, 4.0 + 0.02 * (step % 12)])
        if took_ms is not None:
            found.append(took_ms)
        page.wait_for_timeout(60)
    return found


def told(name: str, values: list[float], write: Callable[[float], str]) -> None:
    """One line of what came out."""
    print(
        f"  {name}: {write(statistics.median(values))} in the middle, {write(max(values))} at "
        f"worst of {len(values)} (aim: {_AIMS[name]})"
    )


def measure(times: int) -> None:
    """Open the page so often at every size."""
    cores = os.cpu_count() or 1
    served = serve()
    try:
        with chromium() as browser:
            for name, size in _SIZES.items():
                load = os.getloadavg()[0] / cores
                print(f"{name}, {size[0]} x {size[1]}, the machine {load:.1f} times full")
                paints: list[float] = []
                shifts: list[float] = []
                drags: list[float] = []
                server_s = 0.0
                for _ in range(times):
                    paint_ms, shift, page = opened_once(browser, served.address, size)
                    paints.append(paint_ms)
                    shifts.append(shift)
                    if len(paints) == times:
                        server_s = -processor_s(served.process.pid)
                        drags = dragged(page)
                        server_s += processor_s(served.process.pid)
                    page.close()
                told("largest paint", paints, lambda ms: f"{ms:.0f} ms")
                told("layout shift", shifts, lambda shift: f"{shift:.3f}")
                if drags:
                    told("drag", drags, lambda ms: f"{ms:.0f} ms")
                    print(f"  each took the server {1000 * server_s / _DRAGS:.0f} ms of processor")
    finally:
        served.close()


if __name__ == "__main__":
    measure(int(sys.argv[1]) if len(sys.argv) > 1 else 3)
