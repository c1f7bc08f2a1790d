"""Many makers dragging at once: ``python -m tests.benchmarks.browser_load [CLIENTS [SECONDS]]``.

Starts a server of its own on the loopback address, opens the page as often as asked, and then has
every client move the ratio slider twenty times a second. Prints how long it took from a
movement to the model of that very size, how often each client's model changed, and how much
memory the server and its processes took. Clients speak the page's protocol without drawing.
"""

from __future__ import annotations

import asyncio
import json
import math
import re
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import numpy as np
import socketio

from tests.browser import serve

_WIRE_MM = 0.9
_EVERY_S = 0.05
_WEAVES = ("barrel", "byzantine", "european-4-in-1", "half-persian-3-in-1", "one-in-one")


@dataclass
class Maker:
    """One client: how long its page took, what it sent when, and how long the answers took."""

    weave: str
    opened_s: float = 0.0
    sent: dict[float, float] = field(default_factory=dict)
    latencies_s: list[float] = field(default_factory=list)

    def shown(self, *message: object) -> None:
        found = re.search(r"inner diameter ([\d.]+) mm", json.dumps(message))
        if found is None:
            return
        begun = self.sent.pop(round(float(found.group(1)), 3), None)
        if begun is not None:
            self.latencies_s.append(time.monotonic() - begun)


def slider(page: str) -> tuple[int, str]:
    """Element and listener of the ratio slider, from the page's source."""
    at = page.index('"step":0.001')
    element = re.findall(r'"(\d+)":\{"tag":"nicegui-slide"', page[:at])[-1]
    listener = re.search(r'"listener_id":"([^"]+)","type":"slid"', page[at:])
    assert listener is not None
    return int(element), listener.group(1)


async def drag(address: str, maker: Maker, seconds: float, all_there: asyncio.Barrier) -> None:
    """Open the page and, once all others have, move the slider to and fro."""
    asked = time.monotonic()
    async with httpx.AsyncClient() as web:
        source = (await web.get(f"{address}?weave={maker.weave}&inner=3.6mm", timeout=60)).text
    client = re.search(r"'client_id': '([^']+)'", source)
    assert client is not None
    element, listener = slider(source)
    line = socketio.AsyncClient()
    line.on("run_javascript", maker.shown)
    heard = asyncio.Event()
    heard.set()

    def told(updates: dict[str, object]) -> None:
        # The page's slider tells no more until what it told has been heard.
        if str(element) in updates:
            heard.set()

    line.on("update", told)
    query = f"client_id={client.group(1)}&next_message_id=0&implicit_handshake=true"
    query += f"&tab_id={client.group(1)}&document_id={client.group(1)}"
    await line.connect(
        f"{address}?{query}", socketio_path="/_nicegui_ws/socket.io", transports=["websocket"]
    )
    maker.opened_s = time.monotonic() - asked
    await all_there.wait()
    begun = time.monotonic()
    while (now := time.monotonic() - begun) < seconds:
        ratio = round(4.1 + 0.5 * math.sin(now), 2)
        if heard.is_set():
            heard.clear()
            maker.sent[round(ratio * _WIRE_MM, 3)] = time.monotonic()
            about = {"id": element, "client_id": client.group(1), "listener_id": listener}
            await line.emit("event", {**about, "args": [json.dumps(str(ratio))]})
        await asyncio.sleep(_EVERY_S)
    await asyncio.sleep(2)
    await line.disconnect()


def memory_mib(root: int) -> float:
    """Memory of a process and all below it, shared pages counted once (PSS), in MiB."""
    parents = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            parents[int(path.parent.name)] = int(path.read_text().rpartition(")")[2].split()[1])
        except OSError:
            continue
    below, found = [root], set()
    while below:
        one = below.pop()
        found.add(one)
        below += [child for child, parent in parents.items() if parent == one]
    total = 0
    for one in found:
        try:
            text = Path(f"/proc/{one}/smaps_rollup").read_text()
        except OSError:
            continue
        total += int(re.search(r"^Pss:\s+(\d+)", text, re.MULTILINE).group(1))
    return total / 1024


async def measure(clients: int, seconds: float) -> None:
    """Run all clients against one server and print what came of it."""
    served = serve()
    try:
        makers = [Maker(_WEAVES[k % len(_WEAVES)]) for k in range(clients)]
        there = asyncio.Barrier(clients + 1)
        drags = asyncio.gather(*(drag(served.address, one, seconds, there) for one in makers))
        await there.wait()
        await asyncio.sleep(seconds)
        print(f"memory of the server: {memory_mib(served.process.pid):.0f} MiB")
        await drags
    finally:
        served.close()
    taken = np.sort(np.concatenate([one.latencies_s for one in makers]))
    print(f"all {clients} pages at once: opened within {max(m.opened_s for m in makers):.1f} s")
    frames = sorted(len(one.latencies_s) / seconds for one in makers)
    marks = ", ".join(f"{p} %: {1000 * np.percentile(taken, p):.0f}" for p in (50, 90, 95, 99, 100))
    print(f"{clients} clients, {seconds:g} s: from movement to model, ms: {marks}")
    print(f"models a second and client: {frames[0]:.1f} to {frames[-1]:.1f}")


if __name__ == "__main__":
    asked = [int(text) for text in sys.argv[1:3]]
    asyncio.run(measure(*(asked + [20, 15][len(asked) :])))
