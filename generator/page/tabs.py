"""The list of panels that open below the model, one at a time, each under its tab."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from nicegui import ui

from ringwright.page.panels import (
    compare_panel,
    help_panel,
    jig_panel,
    measure_panel,
    papers_panel,
    play_panel,
    project_panel,
    weaving_panel,
)
from ringwright.page.session import Session
from ringwright.page.shop import shop_panel
from ringwright.page.state.place import place_of
from ringwright.page.widgets.elements import focus, words


@dataclass(frozen=True)
class Panel:
    """A panel of the page.

    Attributes
    ----------
    name : the words on its tab
    build : puts its elements on the page, when it is first opened
    acts : whether it acts on the model, which then stays in sight
    """

    name: str
    build: Callable[[Session], object]
    acts: bool = False


HELP = "Help"
# Where what is sent to somebody else is made.
SHARE = "Project"

# In the order of their tabs; the first one is open at the start.
PANELS = (
    Panel(play_panel.NAME, play_panel.build, acts=True),
    Panel(weaving_panel.NAME, weaving_panel.build, acts=True),
    Panel(measure_panel.NAME, measure_panel.build, acts=True),
    Panel("Compare", compare_panel.build),
    Panel("Shop", shop_panel.build),
    Panel("Papers", papers_panel.build),
    Panel("Jigs", jig_panel.build),
    Panel(SHARE, project_panel.build),
    Panel(HELP, help_panel.build),
)

# What is above may still grow, as figures come in; whoever moves the page stops it.
_KEPT_IN_VIEW = """(() => {
    const at = getHtmlElement(%d);
    const watch = new ResizeObserver(() => at.scrollIntoView());
    watch.observe(document.body);
    const stop = () => watch.disconnect();
    for (const move of ["wheel", "touchmove", "keydown", "pointerdown"])
        addEventListener(move, stop, { once: true });
    setTimeout(stop, 5000);
})()"""


def build(session: Session) -> Callable[[str], None]:
    """A tab for every panel, and a place for it below.

    Returns what opens a panel of that name and goes to it, from anywhere on the page.
    """
    places: dict[str, ui.element] = {}
    tabs: dict[str, ui.element] = {}

    def follow() -> None:
        """Open the panel that the maker is at."""
        at = session.place.panel
        panel = next((one for one in PANELS if place_of(one.name).panel == at), PANELS[0])
        for other, tab in tabs.items():
            tab.props["aria-selected"] = "true" if other == panel.name else "false"
            tab.props["tabindex"] = 0 if other == panel.name else -1
            tab.update()
            places[other].set_visibility(other == panel.name)
        if not places[panel.name].default_slot.children:
            with places[panel.name]:
                panel.build(session)

    with ui.element("div").classes("tabs").props("role=tablist aria-label='What else to do'"):
        for panel in PANELS:
            tab = ui.element("button").props("type=button role=tab").classes("tab")
            with tab:
                words(panel.name, "span")
            tab.on("click", lambda _, panel=panel: session.go_to(place_of(panel.name)))
            tab.on("keydown.right", js_handler="(e) => e.target.nextElementSibling?.focus()")
            tab.on("keydown.left", js_handler="(e) => e.target.previousElementSibling?.focus()")
            tabs[panel.name] = tab
    for panel in PANELS:
        name, tab = panel.name, tabs[panel.name]
        places[name] = ui.element("div").classes("panel acts" if panel.acts else "panel")
        places[name].props("role=tabpanel tabindex=0")
        places[name].props["aria-labelledby"] = tab.props["id"] = f"tab-{tab.id}"
    session.on_place.listen(follow)
    follow()

    def go_to(name: str) -> None:
        session.go_to(place_of(name))
        focus(places[name])
        with places[name]:
            ui.run_javascript(_KEPT_IN_VIEW % places[name].id)

    return go_to
