"""What only the plan asks: how a piece ends, whether it is annealed, and its rings' metals."""

from __future__ import annotations

from functools import partial

from nicegui import ui
from nicegui.elements.mixins.text_element import TextElement

from ringwright.base import defaults
from ringwright.page.session import Session
from ringwright.page.state.file_settings import (
    AS_COLOURED,
    ENDS,
    FROM_GRID,
    LONGEST_LEGEND,
    MOST_GRID_BYTES,
    ONE_METAL,
)
from ringwright.page.widgets.elements import VALUE, Choice, Field, Typed, words
from ringwright.page.widgets.open_grid_button import grid_pick

_ENDS = {
    "": "as its rings allow",
    "one": "one ring at each end",
    "bar": "a ring for each, to a bar",
    "taper": "narrower ring by ring",
}
_METALS = {
    ONE_METAL: "the metal chosen above",
    AS_COLOURED: "as the rings are coloured above",
    FROM_GRID: "from a picture or table",
}


def plan_fields(session: Session) -> None:
    """A field for each, taken when it is left."""

    def put(name: str, text: str) -> None:
        session.set(session.settings.with_text(name, text.strip()))

    now = session.settings
    fields: dict[str, Choice | Field] = {}
    with ui.element("div").classes("options"):
        fields["ends"] = Choice(
            "Ends, with a clasp", {one: _ENDS[one] for one in ENDS}, now.ends, partial(put, "ends")
        )
        fields["clasp_rings"] = Field(
            *("Rings at the clasp", now.clasp_rings, partial(put, "clasp_rings")),
            hint=f"{defaults.CLASP_RINGS} if left empty, or as many as the ends take",
        )
        fields["clasp_price"] = Field(
            *("Price of the clasp", now.clasp_price, partial(put, "clasp_price")),
            hint="a number, in your shop's currency",
        )
        fields["anneal"] = Choice(
            "Wire before winding",
            {"": "as it is", "yes": "anneal it first"},
            now.anneal,
            partial(put, "anneal"),
        )
        fields["inches"] = Choice(
            "Lengths in the plan",
            {"": "millimetres", "yes": "inches beside them"},
            now.inches,
            partial(put, "inches"),
        )
        fields["metals"] = Choice("Metals in the plan", _METALS, now.metals, partial(put, "metals"))
    with ui.element("div") as grid:
        area, said = _grid_field(session)
        with ui.element("div").classes("options wide"):
            fields["legend"] = Field(
                *("What its colours or marks are", now.legend, partial(put, "legend")),
                hint="e.g. x=copper,o=brass or #b46a3c=copper; may be empty",
                maxlength=LONGEST_LEGEND,
            )

    def refresh() -> None:
        for name, field in fields.items():
            field.put(getattr(session.settings, name))
        if area.props["value"] != session.settings.grid:
            area.props["value"] = session.settings.grid
            area.update()
            said.set_text("")
        grid.set_visibility(session.settings.metals == FROM_GRID)

    session.on_settings.listen(refresh)
    refresh()


def _grid_field(session: Session) -> tuple[Typed, TextElement]:
    """A picture or table row by row as text, with a button to open one; and its complaints."""

    def put(text: str) -> None:
        session.set(session.settings.with_text("grid", text))

    with ui.element("div").classes("field"):
        area = Typed().props("tall")
        with ui.element("label").props(f"for=c{area.id}") as label:
            words("Rings row by row, from the far edge", "span")
        label.move(target_index=0)
        words(
            "One cell for each ring, with commas between: metals, colours such as #b46a3c, or "
            "marks of your own. For a sheet; a smaller grid is repeated."
        ).classes("hint")
    area.props(f"id=c{area.id} rows=6 spellcheck=false autocomplete=off")
    area.props["maxlength"] = MOST_GRID_BYTES
    area.props["value"] = session.settings.grid
    area.on("change", lambda event: put(str(event.args)), js_handler=VALUE)
    said = words("").classes("hint wrong").props("role=status")

    def opened(text: str) -> None:
        said.set_text("")
        put(text)

    with ui.element("div").classes("row"):
        grid_pick("Open a picture or table", MOST_GRID_BYTES, opened, said.set_text)
    return area, said
