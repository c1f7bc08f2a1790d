"""The metal the ring is of, how it is cut, and what winding makes of it."""

from __future__ import annotations

from contextlib import suppress

from nicegui import ui

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize, parse_length
from ringwright.making.ring.made_ring import BenchRing
from ringwright.making.shop.mandrel_choice import mandrel_choice
from ringwright.making.shop.shop import Shop
from ringwright.metals.all_metals import METALS
from ringwright.metals.metal import Metal
from ringwright.metals.metal_names import metal_named
from ringwright.page.session import Session
from ringwright.page.widgets.elements import Choice, Field, heading, words
from ringwright.page.worked_out.ring_from_mandrel import own_wire, ring_of


def build(session: Session) -> None:
    """Metal, temper and kerf, the ring they make, and the mandrels that work."""
    heading("Metal and cut")
    metal = Choice("Metal", {}, "", lambda name: session.change(**_of_metal(session, name)))
    with ui.element("div").classes("pair"):
        temper = Choice("Temper", {}, "", lambda name: session.change(temper=name, shelf=""))
        kerf = Field(
            "Saw kerf",
            session.wanted.kerf,
            lambda text: session.change(kerf=text.strip()),
            complete=session.length_typed,
            autocomplete="off",
        )
    with ui.element("div").classes("made"):
        made = words("").classes("hint")
        works = words("").classes("hint")

    def refresh() -> None:
        wanted, shop = session.wanted, session.shop
        metals = {one.name: one.name for one in (*shop.metals, *METALS)}
        found = _known(wanted.metal, shop)
        name = wanted.metal if found is None else found.name
        metal.offer({name: name, **metals} if found is None else metals, name)
        tempers = {one: one for one in found.usual_tempers} if found else {}
        temper.offer({wanted.temper: wanted.temper, **tempers}, wanted.temper)
        kerf.put(wanted.kerf)
        kerf.complain(_kerf_trouble(wanted.kerf), _cut_words(session))
        made.set_text(_said(session))
        works.set_text(_works(session))

    session.on_wanted.listen(refresh)
    session.on_shop.listen(refresh)
    session.on_answer.listen(lambda: works.set_text(_works(session)))
    refresh()


def _known(name: str, shop: Shop) -> Metal | None:
    try:
        return metal_named(name, shop.metals)
    except BadInput:
        return None


def _of_metal(session: Session, name: str) -> dict[str, str]:
    """Another metal, in the same temper if it comes in that."""
    found = _known(name, session.shop)
    temper = session.wanted.temper
    if found is not None and found.tempers and not found.has_temper(temper):
        temper = found.tempers[0].name
    return {"metal": name, "temper": temper, "shelf": ""}


def _kerf_trouble(kerf: str) -> str:
    if not kerf:
        return ""
    try:
        parse_length(kerf, "kerf")
    except BadInput as trouble:
        return str(trouble)
    return ""


def _cut_words(session: Session) -> str:
    kerf_mm = session.shop.cut.kerf_mm
    usual = defaults.typed(defaults.KERF_MM)
    if not kerf_mm:
        return f"e.g. {usual}; leave empty for shears, which take no metal"
    return f"e.g. {usual}; leave empty for your shop's saw, {session.wanted.units.length(kerf_mm)}"


def _said(session: Session) -> str:
    """What winding makes, as ``ringwright ring`` tells it, or why it makes nothing."""
    with suppress(BadInput):
        parse_length(session.wanted.wire, "wire")
        return _made(session)
    # What is wrong with the wire is said at the wire.
    return ""


def _made(session: Session) -> str:
    try:
        ring = ring_of(session.wanted, session.shop)
    except BadInput as trouble:
        return str(trouble)
    return made_words(session, ring)


def _works(session: Session) -> str:
    """The mandrels that make rings in the working range of the weave, whatever the springback.

    Beside rings that are fixed the range changes from one main ring to the next.
    """
    if session.answer is None:
        return ""
    if session.answer.report.rule.has_fixed_rings:
        return "The second rings are fixed: the answer says which rings of the first size close it."
    try:
        wire = own_wire(session.wanted, session.shop)
        found = mandrel_choice(
            session.wanted.size().wire_mm,
            wire.known_bending(),
            wire.cut,
            session.answer.report.limits,
        )
    except BadInput:
        return ""
    if found.lowest_mm is None or found.highest_mm is None:
        return "No one mandrel is sure to make rings in the working range of this weave."
    low, high = map(session.wanted.units.length, (found.lowest_mm, found.highest_mm))
    return (
        f"Mandrels from {low} to {high} make rings in its working range, however far the wire "
        "springs back."
    )


def made_words(session: Session, ring: BenchRing) -> str:
    """A ring from its mandrel, with how sure that is."""
    length = session.wanted.units.length
    if ring.made is None or ring.span_mm is None or ring.bends is None:
        if ring.metal is None:
            return ""
        return f"{ring.metal.untried[0].upper()}{ring.metal.untried[1:]}."
    low, high = ring.span_mm
    ratios = [RingSize(ring.size.wire_mm, end).aspect_ratio for end in (low, high)]
    start = f"Wound on {length(ring.made.mandrel_mm)}, cut and closed: "
    inside = f"{length(ring.size.inner_mm)} inside, aspect ratio {ring.size.aspect_ratio:.2f}"
    if high - low < 5e-4:
        return f"{start}{inside}; by {ring.bends.source}."
    return (
        f"{start}{inside}. As the wire springs back it may be {length(low)} to {length(high)}, "
        f"{ratios[0]:.2f} to {ratios[1]:.2f}; by {ring.bends.source}."
    )
