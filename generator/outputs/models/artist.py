"""Pictures drawn by a process of their own.

The drawing library can end the whole process where a system lacks graphics
libraries, so it only ever runs in a child process: arrays go in through standard
input, the PNG comes back through standard output. Each kind of picture is a module with
a ``child()`` that calls :func:`answer`.
"""

from __future__ import annotations

import io
import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import Any, cast

import numpy as np

from ringwright.base.arrays import Floats, NamedArrays

TIME_LIMIT_S = 120.0

_PNG = b"\x89PNG\r\n\x1a\n"
_CHILD = "import importlib, sys; importlib.import_module(sys.argv[1]).child()"
_REMEDY = (
    "on Debian or Ubuntu, 'apt-get install libgl1 libegl1' brings the graphics libraries it needs"
)


class PictureUnavailable(Exception):
    """No picture could be drawn; the message is one plain sentence with the remedy."""


class Artist:
    """A drawing process, which can be got ready while the piece is still being worked out.

    It loads the drawing library, a second or two, as soon as it is made, and draws one
    picture. Use it as a context manager: the process ends with the block::

        with Artist("ringwright.outputs.models.picture") as artist:
            artist.begin(sent(piece))
            ...
            data = artist.picture()
    """

    def __init__(self, module: str) -> None:
        """Start the process, in which a module's ``child()`` will draw.

        Should that fail, :meth:`picture` will say so.
        """
        self._failed: OSError | None = None
        self.begun = False
        try:
            self._child = subprocess.Popen(
                [*_command(), module],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
            )
        except OSError as error:
            self._failed = error

    def __enter__(self) -> Artist:
        return self

    def __exit__(self, *_: object) -> None:
        if self._failed is None and self._child.poll() is None:
            self._child.kill()
            self._child.communicate()

    def begin(self, sent: NamedArrays) -> None:
        """Have the picture of these arrays drawn."""
        self.begun = True
        if self._failed is not None or self._child.stdin is None:
            return
        file = io.BytesIO()
        # None of them is called as an argument of savez.
        np.savez(file, **cast(Any, sent))
        # Should it have died already, picture() tells why.
        with suppress(OSError):
            self._child.stdin.write(file.getvalue())
        with suppress(OSError):
            self._child.stdin.close()
        self._child.stdin = None

    def picture(self, limit_s: float | None = None) -> bytes:
        """The PNG file of what was begun.

        Parameters
        ----------
        limit_s : how long it may take; two minutes when not given

        Raises
        ------
        PictureUnavailable
            When the drawing library fails, or takes longer than the limit.
        """
        if self._failed is not None:
            raise PictureUnavailable(
                f"No picture was drawn: the drawing program did not start "
                f"({self._failed.strerror or self._failed}); {_REMEDY}."
            ) from self._failed
        if limit_s is None:
            limit_s = TIME_LIMIT_S
        try:
            out, said = self._child.communicate(timeout=limit_s)
        except subprocess.TimeoutExpired:
            raise PictureUnavailable(
                f"No picture was drawn: it was not finished in {limit_s:.0f} seconds; {_REMEDY}."
            ) from None
        status = self._child.returncode
        if status != 0 or not out.startswith(_PNG):
            raise PictureUnavailable(f"No picture was drawn: {_why(status, said)}; {_REMEDY}.")
        return out


def _command() -> list[str]:
    """The child's command; -P, so that nothing in the present folder can stand in its way."""
    return [sys.executable, "-P", "-c", _CHILD]


def _why(status: int, words: bytes) -> str:
    if status < 0:
        try:
            name = signal.Signals(-status).name
        except ValueError:
            name = f"signal {-status}"
        return f"the drawing library crashed ({name})"
    # The library colours its remarks for a terminal.
    said = re.sub(r"\x1b\[[0-9;]*m", "", words.decode(errors="replace"))
    lines = said.strip().splitlines()
    return f"the drawing library failed ({lines[-1].strip()[:200] if lines else 'no message'})"


def png_from_child(module: str, sent: NamedArrays) -> bytes:
    """A picture that a module's ``child()`` draws.

    Parameters
    ----------
    module : its ``child()`` calls :func:`answer`
    sent : the arrays of what to draw

    Raises
    ------
    PictureUnavailable
        When the drawing library fails, or takes longer than two minutes.
    """
    with Artist(module) as artist:
        artist.begin(sent)
        return artist.picture()


# ---- what follows runs in the child process ----


def answer(
    draw: Callable[[NamedArrays], bytes], warm_up: Callable[[], object] | None = None
) -> None:
    """Read arrays from standard input, write their picture to standard output.

    Parameters
    ----------
    draw : from the arrays to a PNG file
    warm_up : what can be done before they come
    """
    # The drawing library may print remarks; they are not to get into the picture.
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    if warm_up is not None:
        warm_up()
    data = draw(dict(np.load(io.BytesIO(sys.stdin.buffer.read()))))
    with out:
        out.write(data)
        out.flush()
    # Some graphics drivers crash while they are shut down; the picture is out by then.
    os._exit(0)


OVERSAMPLING = 2
BACKGROUND = (0.957, 0.957, 0.961)
INK = (0.16, 0.17, 0.19)


def new_plotter(width: int, height: int) -> Any:
    """An empty picture of so many pixels, without light."""
    import pyvista

    plotter = pyvista.Plotter(
        off_screen=True,
        lighting="none",
        window_size=[OVERSAMPLING * width, OVERSAMPLING * height],
    )
    plotter.set_background(BACKGROUND)
    # Drawn twice as large, edges are smooth without the library's own way, which is slow.
    plotter.render_window.SetMultiSamples(0)
    return plotter


def flat_plotter(width: int, height: int) -> Any:
    """The same seen straight from above: one unit is one pixel, from the lower left corner."""
    plotter = new_plotter(width, height)
    camera = plotter.camera
    camera.enable_parallel_projection()
    camera.focal_point = (width / 2.0, height / 2.0, 0.0)
    camera.position = (width / 2.0, height / 2.0, 10.0 * width)
    camera.up = (0.0, 1.0, 0.0)
    camera.parallel_scale = height / 2.0
    return plotter


def shot(plotter: Any) -> Floats:
    """The picture at its final size, in levels from 0 to 255."""
    levels = plotter.screenshot(return_img=True)
    plotter.close()
    # Whole numbers as long as it goes: the large picture is never held as floats.
    total = np.zeros(
        (levels.shape[0] // OVERSAMPLING, levels.shape[1] // OVERSAMPLING, 3), np.uint16
    )
    for down in range(OVERSAMPLING):
        for across in range(OVERSAMPLING):
            total += levels[down::OVERSAMPLING, across::OVERSAMPLING]
    smooth: Floats = total / OVERSAMPLING**2
    return smooth


def png_bytes(levels: Floats) -> bytes:
    """A PNG file of (rows, columns, 3) levels from 0 to 255."""
    import pyvista
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkIOImage import vtkPNGWriter

    rows, columns = levels.shape[:2]
    image = pyvista.ImageData(dimensions=(columns, rows, 1))
    # Rows of a picture run down, those of the library up.
    image.point_data["levels"] = np.rint(levels[::-1]).astype(np.uint8).reshape(-1, 3)
    writer = vtkPNGWriter()
    writer.WriteToMemoryOn()
    writer.SetInputData(image)
    writer.Write()
    return bytes(vtk_to_numpy(writer.GetResult()))
