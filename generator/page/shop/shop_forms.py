"""Forms for what a shop usually holds: wires, mandrels, trial rings, saw, prices, paces."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from nicegui import ui

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.sizes import parse_length
from ringwright.making.shop.shop import COIL, SAWN, SHEARED, USUAL_PACE_S, shop_from_text
from ringwright.metals.all_metals import METALS
from ringwright.metals.metal_names import metal_named
from ringwright.page.session import Session
from ringwright.page.state.shop_edits import Value, with_table, with_value
from ringwright.page.widgets.elements import Choice, Field, button, words

# Steps of the bench that every maker has a pace of their own for, and those with a usual one.
_OWN = ("wind", "cut", "open", "close", "weave")
_USUAL = {
    "setup": ("Set up", "a wire on a mandrel"),
    "deburr": ("Deburr", "a ring"),
    "tumble": ("Tumble", "what you stand by of a load"),
    "sort": ("Sort", "a ring"),
    "clasp": ("Fit the clasp", "a piece"),
    "pack": ("Pack", "a piece"),
}


def _usual(step: str) -> str:
    seconds = USUAL_PACE_S[step]
    said = f"{seconds / 60.0:g}min" if seconds >= 60.0 else f"{seconds:g}s"
    return f"{said} if left empty"


# Keys of tables with one value each: with their labels, and how they are typed.
_SINGLE = {
    "Caliper": (
        "caliper",
        {
            "error": (
                "How far it may be off",
                f"e.g. {defaults.typed(defaults.CALIPER_MM)}, which is taken where nothing is said",
            ),
        },
    ),
    "Saw": (
        "saw",
        {
            "kerf": ("Kerf", f"e.g. {defaults.typed(defaults.KERF_MM)}"),
            "coil": ("Longest coil", f"e.g. {defaults.typed(defaults.COIL_MM)}"),
        },
    ),
    "Prices": (
        "rates",
        {
            "currency": ("Currency", "e.g. EUR"),
            "per_hour": ("An hour of work", "a number"),
            "overhead": ("Overhead", "a share of the cost, e.g. 10%"),
            "markup": ("Wholesale over cost", "a factor, 1 or more"),
            "retail": ("Retail over wholesale", "a factor, 1 or more"),
        },
    ),
    "Paces": (
        "pace",
        {
            **{step: (step.capitalize(), "seconds for a ring, e.g. 3s") for step in _OWN},
            **{step: (title, f"{of}; {_usual(step)}") for step, (title, of) in _USUAL.items()},
        },
    ),
    "Printer": (
        "printer",
        {
            "bed": ("Bed", f"e.g. {' x '.join(map(defaults.typed, defaults.BED_MM))}"),
            "nozzle": ("Nozzle", f"e.g. {defaults.typed(defaults.NOZZLE_MM)}"),
            "layer_height": ("Layer height", f"e.g. {defaults.typed(defaults.LAYER_MM)}"),
            "clearance": ("Clearance per side", f"e.g. {defaults.typed(defaults.CLEARANCE_MM)}"),
        },
    ),
}
_NUMBERS = frozenset({"per_hour", "markup", "retail"})
_LENGTHS = frozenset({"error", "kerf", "coil", "nozzle", "layer_height", "clearance"})


def changed(session: Session, why: str, edit: Callable[[str], str]) -> str:
    """Change the shop's text; what is wrong with that is returned, and nothing is changed."""
    if session.shop_trouble:
        return "The text cannot be read as it stands; correct it, or undo."
    try:
        text = edit(session.shop_text)
        shop_from_text(text, session.shop.path)
    except BadInput as trouble:
        return str(trouble)
    session.put_shop(text, why)
    return ""


def adding(session: Session) -> None:
    """Forms for one more wire, one more mandrel and one more trial ring."""
    with ui.element("details").classes("form"):
        words("Add a wire", "summary")
        _wire_form(session)
    with ui.element("details").classes("form"):
        words("Add a mandrel", "summary")
        _mandrel_form(session)
    with ui.element("details").classes("form"):
        words("Add a trial ring", "summary")
        _trial_form(session)


def _wire_form(session: Session) -> None:
    told = {"name": "", "size": session.wanted.wire, "metal": "copper", "temper": "soft"}
    price = {"price_per_kg": ""}
    said = _Form(session, told)
    name = said.field("Name", "name", "what you call it")
    size = said.field("Size of the wire", "size", "e.g. 0.9mm, 18awg or 20swg", session.wire_typed)
    tempers = Choice("Temper of the wire", {}, "", partial(told.__setitem__, "temper"))

    def metal_chosen(chosen: str) -> None:
        told["metal"] = chosen
        known = metal_named(chosen, session.shop.metals).usual_tempers
        told["temper"] = known[0]
        tempers.offer({one: one for one in known}, told["temper"])

    names = {one.name: one.name for one in (*session.shop.metals, *METALS)}
    metals = Choice("Metal of the wire", names, told["metal"], metal_chosen)
    metals.field.move(target_index=3)
    metal_chosen(told["metal"])
    Field(
        "Price per kg",
        "",
        partial(price.__setitem__, "price_per_kg"),
        hint="a number; may be empty",
    )

    def add() -> str:
        values: dict[str, Value] = {key: text.strip() for key, text in told.items()}
        values["name"] = told["name"].strip() or f"{told['metal']} {told['size'].strip()}"
        if price["price_per_kg"].strip():
            values["price_per_kg"] = _number("price per kg", price["price_per_kg"])
        return changed(
            session, f"{values['name']} added", lambda text: with_table(text, "wire", values)
        )

    said.button("Add the wire", add, (name, size))


def _mandrel_form(session: Session) -> None:
    told = {"name": "", "size": ""}
    said = _Form(session, told)
    whole = session.length_typed
    size = said.field("Size of the mandrel", "size", "e.g. 3mm or 1/8in, as measured", whole)
    name = said.field("Name of the mandrel", "name", "may be empty")

    def add() -> str:
        values: dict[str, Value] = {key: text.strip() for key, text in told.items() if text.strip()}
        parse_length(told["size"], "size of the mandrel")
        why = f"mandrel {told['size'].strip()} added"
        return changed(session, why, lambda text: with_table(text, "mandrel", values))

    said.button("Add the mandrel", add, (size, name))


def _trial_form(session: Session) -> None:
    told = {"wire": "", "mandrel": "", "inner": "", "measured": COIL}
    said = _Form(session, told)
    wires = Choice("Wire of the trial", {}, "", partial(told.__setitem__, "wire"))
    measured = {
        COIL: "the coil, let go",
        SAWN: "a ring, sawn and closed",
        SHEARED: "a ring, cut with shears and closed",
    }
    Choice("What was measured", measured, COIL, partial(told.__setitem__, "measured"))
    whole = session.length_typed
    mandrel = said.field("Mandrel of the trial", "mandrel", "what it was wound on, e.g. 3mm", whole)
    inner = said.field("Inside of the trial", "inner", "what the caliper reads, e.g. 3.06mm", whole)

    def refresh() -> None:
        names = {wire.name: wire.name for wire in session.shop.wires}
        if told["wire"] not in names:
            told["wire"] = next(iter(names), "")
        wires.offer(names, told["wire"])

    def add() -> str:
        if not told["wire"]:
            return "Add the wire first: a trial is kept with its spool."
        parse_length(told["mandrel"], "mandrel of the trial")
        parse_length(told["inner"], "inside of the trial")
        values: dict[str, Value] = {key: text.strip() for key, text in told.items()}
        why = f"trial of {told['wire']} added"
        return changed(session, why, lambda text: with_table(text, "trial", values))

    session.on_shop.listen(refresh)
    refresh()
    said.button("Add the trial", add, (mandrel, inner))


class _Form:
    """Fields that are taken together once a button is pressed."""

    def __init__(self, session: Session, told: dict[str, str]) -> None:
        self._session, self._told = session, told

    def field(
        self, label: str, key: str, hint: str, complete: Callable[[str], str] | None = None
    ) -> Field:
        """A field whose text is kept until then."""
        keep = partial(self._told.__setitem__, key)
        return Field(label, self._told[key], keep, hint=hint, complete=complete, autocomplete="off")

    def button(self, text: str, add: Callable[[], str], fields: tuple[Field, ...]) -> None:
        """The button; what is wrong is said below it, and the first field says that it is."""
        press = button(text, lambda: tell(), kind="main")
        said = words("").classes("hint").props("role=status")

        def tell() -> None:
            try:
                trouble = add()
            except BadInput as complaint:
                trouble = str(complaint)
            said.set_text(trouble or "Added.")
            said.classes(add="wrong" if trouble else "", remove="" if trouble else "wrong")

        # Enter in a field is as good as the button.
        for field in fields:
            field.input.on(
                "keydown.enter",
                js_handler=f"() => setTimeout(() => getHtmlElement({press.id}).click(), 20)",
            )


class Singles:
    """Caliper, saw, prices, paces and printer: a field for each value, taken when it is left."""

    def __init__(self, session: Session) -> None:
        """Show what the shop says, now and whenever it changes."""
        self._session = session
        self._fields: dict[tuple[str, str], Field] = {}
        for title, (key, names) in _SINGLE.items():
            with ui.element("details").classes("form"):
                words(title, "summary")
                for name, (label, hint) in names.items():
                    self._fields[key, name] = Field(
                        *(label, "", partial(self._put, key, name, label)),
                        hint=hint,
                        complete=session.length_typed if name in _LENGTHS else None,
                        autocomplete="off",
                    )
        session.on_shop.listen(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the values of a text that is right."""
        if self._session.shop_trouble:
            return
        import tomllib

        told = tomllib.loads(self._session.shop_text)
        for (key, name), field in self._fields.items():
            field.put(_typed(told.get(key, {}).get(name)))

    def _put(self, key: str, name: str, label: str, text: str) -> None:
        field = self._fields[key, name]
        try:
            value = _value(name, label, text.strip())
        except BadInput as trouble:
            field.complain(str(trouble))
            return
        why = f"{key} {name.replace('_', ' ')} changed"
        field.complain(changed(self._session, why, lambda now: with_value(now, key, name, value)))


def _typed(value: object) -> str:
    """A value of the file as it stands in a field."""
    if value is None:
        return ""
    if isinstance(value, list):
        return " x ".join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def _value(name: str, label: str, text: str) -> Value | None:
    """A value for the file; None for an empty field."""
    if not text:
        return None
    if name in _NUMBERS:
        return _number(label.lower(), text)
    if name == "bed":
        return [part.strip() for part in text.split("x")]
    return text


def _number(what: str, text: str) -> float:
    try:
        return float(text.strip())
    except ValueError:
        raise BadInput(f"{what} {text[:30]!r} is not a number: write it like 25 or 2.5") from None
