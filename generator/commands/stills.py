"""``ringwright stills``: pictures of a weave for a shop page, a class handout or print."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.exit_status import WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_laid,
    add_out,
    add_size,
    asked_size,
    body_options,
    checked,
    progress,
    show,
    show_unwoven,
    target,
)
from ringwright.weaves.rest_states import PULLED, WORN

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands
    from ringwright.outputs.stills.stills import Wanted
    from ringwright.weaves.rest_states import RestState
    from ringwright.weaves.rule import WeaveRule

_VIEWS = ("whole", "close", "worn")
_BACKGROUNDS = ("light", "dark", "transparent")
_METAL, _LENGTH, _PRINT_WIDTH = "copper", "170mm", "150mm"


def add(commands: Commands) -> None:
    """Describe the command."""
    stills = commands.add_parser(
        "stills",
        help="make studio pictures of a weave in metal, for a shop page, a handout or print",
        description="Make studio-lit pictures of the weave: NAME-VIEW-METAL.png, with a "
        "description of the picture in the file, a small one beside it for the web, and "
        "NAME.json.",
        epilog=SIZES,
    )
    add_size(stills)
    stills.add_argument(
        "--view",
        action="append",
        choices=_VIEWS,
        help="the whole piece, a close-up, or worn; may be given several times (default: whole "
        "and close, and worn with --laid worn)",
    )
    stills.add_argument(
        "--metal",
        action="append",
        metavar="METAL,...",
        help=f"a metal, e.g. {_METAL} (the default), silver or '18 ct rose gold'; all; a colour, "
        "e.g. #d86e33; or roles, for one colour on opened rings and another on closed ones; may "
        "be given several times",
    )
    stills.add_argument(
        "--length",
        metavar="LENGTH",
        help=f"least length of the piece (default {_LENGTH}; of a worn one as much as goes round)",
    )
    stills.add_argument(
        "--width",
        metavar="LENGTH",
        help="least width of a sheet (default: a quarter of its length; "
        f"{defaults.typed(defaults.WIDTH_MM)} for the worn view)",
    )
    add_laid(stills, "on-table, sheets as if spread, pulled what would take long")
    stills.add_argument(
        "--no-form",
        action="store_true",
        help="leave out the plain form that stands in for what a worn piece is on",
    )
    stills.add_argument(
        "--background",
        default=defaults.BACKGROUND,
        choices=_BACKGROUNDS,
        help="background (default %(default)s)",
    )
    stills.add_argument(
        "--for",
        dest="purpose",
        default="web",
        choices=("web", "print"),
        help="web: 1600 and 800 pixels wide; print: 300 dpi (default %(default)s)",
    )
    stills.add_argument(
        "--print-width",
        metavar="LENGTH",
        help=f"width of a printed picture (default {_PRINT_WIDTH})",
    )
    add_out(stills)
    add_json(stills)
    stills.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    rule, size = asked_size(options)
    wanted = _wanted(options, rule)
    folder, name = target(options.out)

    from ringwright.outputs.stills.stills import stills
    from ringwright.outputs.stills.write_stills import stills_text, write_stills

    with progress() as step:
        report = checked(rule, size, step, options.meshes)
        if report.can_be_woven:
            written = write_stills(report, stills(report, wanted, step), folder, name, step)
    if not report.can_be_woven:
        return show_unwoven(options, report)
    show(options, written.facts, lambda: stills_text(written))
    return WOVEN


def _wanted(options: argparse.Namespace, rule: WeaveRule) -> Wanted:
    """The pictures that were asked for, as far as they were typed."""
    from ringwright.base.sizes import parse_length
    from ringwright.outputs.stills.stills import (
        PRINT_DPI,
        Wanted,
        parse_paints,
        print_pixels,
        web_pixels,
    )
    from ringwright.weaves.refusals import refuse_without_rows

    length_mm = parse_length(options.length or _LENGTH, "length")
    width_mm = None if options.width is None else parse_length(options.width, "width")
    if width_mm is not None:
        refuse_without_rows(rule, "--width")
    if options.print_width is not None and options.purpose != "print":
        raise BadInput("--print-width is for printed pictures; add --for print, or leave it out.")
    for_print = options.purpose == "print"
    usual = ["worn"] if options.laid == WORN.name else _VIEWS[:2]
    views = tuple(dict.fromkeys(options.view or usual))
    return Wanted(
        views=views,
        metals=parse_paints(options.metal or [_METAL]),
        length_mm=length_mm,
        worn_mm=None if options.length is None else length_mm,
        width_mm=width_mm,
        background=options.background,
        pixels=print_pixels(parse_length(options.print_width or _PRINT_WIDTH, "print width"))
        if for_print
        else web_pixels(),
        dpi=PRINT_DPI if for_print else None,
        worn=_worn(options, rule, views),
        show_form=not options.no_form,
        state=_state(options, rule, views),
    )


def _state(
    options: argparse.Namespace, rule: WeaveRule, views: tuple[str, ...]
) -> RestState | None:
    """The state that a piece is shown in, where it is not worn; None where none is asked for."""
    from ringwright.api.asked import asked_state

    if options.laid is None:
        return None
    if options.laid == WORN.name:
        if views != ("worn",):
            raise BadInput(
                "--laid worn is the worn picture, and others were asked for too; leave --laid out, "
                "or give --view worn alone."
            )
        return None
    state = asked_state(rule, options.laid)
    if state != PULLED and views == ("worn",):
        raise BadInput(
            f"--laid {options.laid} is for the whole piece and the close-up, and only the worn "
            "picture was asked for; leave it out, or add --view whole."
        )
    return state


def _worn(options: argparse.Namespace, rule: WeaveRule, views: tuple[str, ...]) -> RestState:
    """The state of the worn picture."""
    from ringwright.api.asked import asked_state

    body = body_options(options)
    if "worn" in views:
        return asked_state(rule, WORN.name, **body)
    if options.no_form or any(given is not None for given in body.values()):
        raise BadInput(
            "--wrist, --finger, --neck, --oval and --no-form are for the worn picture; add --view "
            "worn, or leave them out."
        )
    return WORN
