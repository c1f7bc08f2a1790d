"""A served page and a real browser for tests marked ``outside``: Debian's chromium, driven by
playwright, drawing in software."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.node_packages import NODE_PACKAGES

_ARGUMENTS = [
    "--no-sandbox",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
]
_STATE = tempfile.TemporaryDirectory()
# For a machine that is busy with something else; no test waits in vain.
PATIENCE_MS = 120_000
PHONE, TABLET, DESKTOP = (390, 844), (820, 1180), (1280, 900)
# A weave that is quickly worked out.
START = "?weave=one-in-one&wire=0.9mm&inner=3.2mm"
# What is pressed or filled in and is too small for a finger; a label counts with its box.
_SMALL = """() => [...document.querySelectorAll("button, a, input, select, textarea, summary")]
  .filter((one) => {
    const { height } = (one.closest(".tick, .file, .switch-one, .weave") || one)
      .getBoundingClientRect();
    return height && height < 43;
  })
  .map((one) => one.outerHTML.slice(0, 90))"""


@dataclass
class Served:
    """A running ``ringwright serve``."""

    process: subprocess.Popen[bytes]
    address: str
    said: Path

    def kill(self) -> None:
        """End it at once, as a crash would."""
        self.process.kill()
        self.process.wait()

    def close(self) -> int:
        """End it with Ctrl-C; its exit status."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        return self.process.wait(timeout=20)


def serve(port: int = 0, *options: str) -> Served:
    """Serve the page, as a maker would, and wait until it says where."""
    command = [sys.executable, "-m", "ringwright.cli", "serve", "--no-browser", "--port", str(port)]
    # A file, which never fills up as a pipe does that nobody reads.
    said = Path(tempfile.mkdtemp()) / "said"
    # What is kept of a page outlives its server, but not the tests.
    kept = {**os.environ, "XDG_STATE_HOME": _STATE.name}
    with said.open("w") as out:
        process = subprocess.Popen(
            [*command, *options], stdout=out, stderr=subprocess.STDOUT, env=kept
        )
    end = time.monotonic() + 60
    while time.monotonic() < end and process.poll() is None:
        found = re.search(r"http://\S+", said.read_text())
        if found:
            return Served(process, found.group(), said)
        time.sleep(0.1)
    raise AssertionError(f"the page was not served: {said.read_text()}")


@contextmanager
def chromium() -> Iterator[Any]:
    """A browser."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=_ARGUMENTS
        )
        yield browser
        browser.close()


def opened(browser: Any, address: str, size: tuple[int, int] = (1280, 900), **options: Any) -> Any:
    """A page in a tab of its own, once it has an answer; what goes wrong in it is an error.

    Requests to anywhere but the server are errors too.
    """
    page = browser.new_page(viewport={"width": size[0], "height": size[1]}, **options)
    page.set_default_timeout(PATIENCE_MS)
    page.troubles = []
    page.on("pageerror", lambda error: page.troubles.append(str(error)))
    page.on(
        "request",
        lambda asked: (
            None
            if re.match(r"(http|ws)://127\.0\.0\.1[:/]|data:|blob:", asked.url)
            else page.troubles.append(f"asked for {asked.url}")
        ),
    )
    page.goto(address)
    page.wait_for_selector(".answer table")
    return page


def verdict(page: Any, wanted: str, patience_s: float = PATIENCE_MS / 1000) -> None:
    """Wait for a verdict that holds the words ``wanted``."""
    end = time.monotonic() + patience_s
    while True:
        said = page.inner_text(".verdict")
        if wanted in said:
            return
        assert time.monotonic() < end, f"{said!r} instead of {wanted!r}"
        time.sleep(0.05)


def ratio(page: Any) -> Any:
    return page.get_by_label("Aspect ratio", exact=False).locator("visible=true").first


def drag_to(page: Any, value: float) -> None:
    """Drag the ratio there in steps, as a finger does."""
    slider = ratio(page)
    now = float(slider.input_value())
    for step in range(1, 9):
        at = now + (value - now) * step / 8
        slider.evaluate(
            "(e, v) => { e.value = v; e.dispatchEvent(new Event('input', {bubbles: true})); }",
            f"{at:.2f}",
        )
        page.wait_for_timeout(40)


def faults(page: Any) -> list[str]:
    """What axe-core (npm: axe-core) finds serious or critical on the page as it stands."""
    page.add_script_tag(content=(NODE_PACKAGES / "axe-core" / "axe.min.js").read_text())
    found = page.evaluate("axe.run()")
    return [
        f"{one['id']}: {one['help']}: {[node['target'] for node in one['nodes']][:4]}"
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]


def sound(page: Any) -> None:
    """Nothing serious against the page as it stands, nothing cut off at the side, all that is
    pressed large enough for a finger, and nothing gone wrong so far."""
    found = faults(page)
    assert found == [], found
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.evaluate(_SMALL) == []
    assert page.troubles == []
