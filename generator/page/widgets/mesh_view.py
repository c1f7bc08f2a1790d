"""The turnable view of a printed part on the page."""

from __future__ import annotations

from nicegui.element import Element
from nicegui.elements.scene import Scene

# Shown in place of the view.
_BROKEN = "This browser cannot draw in three dimensions just now; sizes are in the table."
# The view's script takes three.js from the module that this element registers.
_THREE = Scene


class MeshView(Element, component="mesh_view.js", esm={"turning": "turning"}):
    """A canvas with one mesh, fetched as STL, that can be turned."""

    def __init__(self, label: str) -> None:
        """An empty view; ``label`` says in words what is seen."""
        super().__init__()
        self._props["label"] = label
        self._props["broken_text"] = _BROKEN
        self._last: dict[str, str] | None = None
        # What is shown before the browser has drawn the view is shown once it has.
        self.on("ready", self._again)

    def show(self, address: str, colour: str, label: str) -> None:
        """Show the STL at an address of this page; ``label`` is for who cannot see it."""
        self._last = {"address": address, "colour": colour, "said": label}
        self.run_method("show", self._last)

    def _again(self) -> None:
        if self._last is not None:
            self.run_method("show", self._last)
