"""The command lines that make files of what is chosen on the page."""

from __future__ import annotations

import argparse
import functools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ringwright.base import defaults
from ringwright.colour.looks import one_paint
from ringwright.jigs import JIGS, jig_module
from ringwright.jigs.parts.printing import add_printer
from ringwright.page.files.run_command import Command
from ringwright.page.state.chosen import BY_ROLE, Wanted
from ringwright.page.state.file_settings import AS_COLOURED, FROM_GRID, Settings
from ringwright.weaves import WeaveRule

# What a maker's own rule, shop and grid are called beside the files that are made of them.
RULE_FILE, SHOP_FILE, GRID_FILE = "weave.toml", "shop.toml", "grid.csv"
# Options of jigs that the page knows from elsewhere.
_KNOWN = frozenset({"weave", "wire", "inner", "ratio", "mandrel", "length", "width", "second"})
# And those that it knows unless they are typed for the jig.
_OF_THE_WIRE = ("metal", "temper", "kerf")


@dataclass(frozen=True)
class Chosen:
    """All that a command line is made of.

    Attributes
    ----------
    own_rule_text : the maker's own rule, where the weave is of it; else empty
    shop_text : the shop file, or empty
    """

    wanted: Wanted
    rule: WeaveRule
    own_rule_text: str
    shop_text: str
    settings: Settings

    @property
    def slug(self) -> str:
        """The weave's name as a name of files."""
        return re.sub(r"[^a-z0-9]+", "-", self.rule.name.lower()).strip("-") or "weave"


@dataclass(frozen=True)
class JigOption:
    """An option of a jig that is typed on the page.

    Attributes
    ----------
    kind : ``text``, ``choice`` or ``yes``
    """

    name: str
    flag: str
    kind: str
    choices: tuple[str, ...]
    default: str
    help: str

    @property
    def label(self) -> str:
        """The option's name as words."""
        return self.name.replace("_", " ").capitalize()


def model(chosen: Chosen) -> Command:
    """The whole piece as STL, STEP, GLB, PNG and JSON."""
    return _command(
        chosen,
        "preview",
        [
            *_weave(chosen),
            *_ring(chosen),
            *_second(chosen),
            *_length(chosen),
            *_width(chosen),
            *_coloured(chosen),
        ],
        f"model/{chosen.slug}",
    )


def plan(chosen: Chosen) -> Command:
    """What has to lie ready on the bench, as PDF, CSV and JSON."""
    wanted, settings = chosen.wanted, chosen.settings
    wire = [
        *_option("wire", wanted.shelf or wanted.wire),
        *_option("mandrel", wanted.mandrel),
        *([] if wanted.mandrel else _option("inner", wanted.inner)),
    ]
    metal = [] if wanted.shelf else [("metal", wanted.metal), ("temper", wanted.temper)]
    metals = _metals(chosen)
    if chosen.rule.metals is not None or metals:
        # The rule, or the metals, say which ring is of which.
        metal = [one for one in metal if one[0] != "metal"]
    measures = _length(chosen) if chosen.rule.family.repeats else []
    more = [("kerf", wanted.kerf), ("spares", settings.spares)]
    if measures and settings.clasp:
        more += [("clasp", settings.clasp), ("clasp-price", settings.clasp_price)]
        more += [("ends", settings.ends), ("clasp-rings", settings.clasp_rings)]
    more += [("units", "both")] if settings.inches else []
    return _command(
        chosen,
        "plan",
        [
            *_weave(chosen),
            *wire,
            *_second(chosen),
            *measures,
            *_width(chosen),
            *metals,
            *(word for name, text in (*metal, *more) for word in _option(name, text)),
            *(["--anneal"] if settings.anneal else []),
            *_paper(chosen),
        ],
        f"plan/{chosen.slug}",
        shop=True,
    )


def _metals(chosen: Chosen) -> list[str]:
    """Which ring of a plan is of which metal; nothing where all are of one."""
    settings = chosen.settings
    if settings.metals == AS_COLOURED:
        return _coloured(chosen)
    if settings.metals == FROM_GRID:
        return ["--grid", GRID_FILE, *_option("legend", settings.legend)]
    return []


def _coloured(chosen: Chosen) -> list[str]:
    """The metals that the rings are shown in; nothing where they are told apart by role."""
    paint = chosen.wanted.paint
    return _option("metals" if "=" in paint else "pattern", "" if paint == BY_ROLE else paint)


def assembly(chosen: Chosen) -> Command:
    """The sheet of how it is put together."""
    teaching = ["--teaching"] if chosen.settings.teaching else []
    words = [*_woven(chosen), *_paper(chosen), *teaching]
    return _command(chosen, "assembly", words, f"steps/{chosen.slug}")


def pictures(chosen: Chosen) -> Command:
    """Pictures in metal; in one that the rings are shown in, if it is one."""
    paint, background = chosen.wanted.paint, chosen.settings.background
    words = [*_woven(chosen), *_length(chosen), *_width(chosen)]
    words += _option("metal", one_paint(paint) or "")
    words += _unless_usual("background", background, defaults.BACKGROUND)
    return _command(chosen, "stills", words, f"pictures/{chosen.slug}")


def drawing(chosen: Chosen) -> Command:
    """The measured drawing."""
    scale = _unless_usual("scale", chosen.settings.scale, defaults.SCALE)
    words = [*_woven(chosen), *_paper(chosen), *scale]
    return _command(chosen, "drawing", words, f"drawing/{chosen.slug}")


def jig(chosen: Chosen, name: str) -> Command:
    """A printable jig."""
    words = [name, *_jig_size(chosen, _all_options(name))]
    for option in jig_options(name):
        text = jig_value(name, option, chosen.wanted, chosen.settings)
        if text and option.kind == "yes":
            words.append(option.flag)
        elif text != option.default:
            words += _option(option.flag[2:], text)
    for key in ("bed", "nozzle", "layer", "clearance"):
        words += _option(key, getattr(chosen.settings, key))
    return _command(chosen, "jig", words, f"jigs/{name}", shop=True)


def jig_value(jig: str, option: JigOption, wanted: Wanted, settings: Settings) -> str:
    """An option of a jig: as typed, or of the wire that is chosen, or the jig's own default."""
    return settings.jig_options(jig).get(option.name, "") or unless_typed(option, wanted)


def unless_typed(option: JigOption, wanted: Wanted) -> str:
    """An option as it is where nothing is typed for the jig."""
    known = getattr(wanted, option.name) if option.name in _OF_THE_WIRE else ""
    return known or option.default


def jig_options(name: str) -> tuple[JigOption, ...]:
    """The options that are typed for a jig, as its command lists them."""
    return tuple(
        _described(action) for action in _all_options(name).values() if action.dest not in _KNOWN
    )


def printer_options() -> tuple[JigOption, ...]:
    """The options that say what the printer is like."""
    parser = _Listing()
    add_printer(parser)
    return tuple(_described(one) for one in parser.listed.values() if one.dest != "shop")


# What can be made, by topic, with the words for it.
TOPICS = {
    "model": "Model files",
    "plan": "Plan for the bench",
    "steps": "Assembly sheet",
    "drawing": "Measured drawing",
    "pictures": "Pictures in metal",
    **{name: name.replace("-", " ").capitalize() for name in JIGS},
}


def command_for(topic: str, chosen: Chosen) -> Command:
    """The command line of a topic."""
    made = {
        "model": model,
        "plan": plan,
        "steps": assembly,
        "drawing": drawing,
        "pictures": pictures,
    }
    return jig(chosen, topic) if topic in JIGS else made[topic](chosen)


class _Listing(argparse.ArgumentParser):
    """A parser that tells what it was given."""

    def __init__(self) -> None:
        self.listed: dict[str, argparse.Action] = {}
        self._made = False
        super().__init__(add_help=False)
        self._made = True

    def add_argument(self, *names: Any, **named: Any) -> argparse.Action:
        action = super().add_argument(*names, **named)
        self.listed[action.dest] = action
        return action

    def add_argument_group(self, *names: Any, **named: Any) -> Any:
        """A group of options, which are listed with all others."""
        return self if self._made else super().add_argument_group(*names, **named)


@functools.cache
def _all_options(name: str) -> dict[str, argparse.Action]:
    parser = _Listing()
    jig_module(name).add_options(parser)
    return parser.listed


def _described(action: argparse.Action) -> JigOption:
    default = action.default
    return JigOption(
        name=action.dest,
        flag=action.option_strings[-1],
        kind="yes" if action.nargs == 0 else "choice" if action.choices else "text",
        choices=tuple(map(str, action.choices or ())),
        default="" if default in (None, False) or default == [] else str(default),
        help=(action.help or "") % vars(action),
    )


def _jig_size(chosen: Chosen, takes: dict[str, argparse.Action]) -> Iterator[str]:
    """Weave, ring and piece, as far as a jig asks for them."""
    wanted = chosen.wanted
    if "weave" in takes:
        yield from _weave(chosen)
    if "mandrel" in takes and wanted.mandrel:
        yield from (*_option("wire", wanted.wire), *_option("mandrel", wanted.mandrel))
    else:
        yield from _ring(chosen)
    if "second" in takes:
        yield from _second(chosen)
    if "length" in takes and (takes["length"].required or chosen.rule.family.has_rows):
        yield from _length(chosen)
    if "width" in takes:
        yield from _width(chosen)


def _weave(chosen: Chosen) -> list[str]:
    return [RULE_FILE if chosen.own_rule_text else chosen.rule.name]


def _ring(chosen: Chosen) -> list[str]:
    return [*_option("wire", chosen.wanted.wire), *_option("inner", chosen.wanted.inner)]


def _woven(chosen: Chosen) -> list[str]:
    return [*_weave(chosen), *_ring(chosen), *_second(chosen)]


def _second(chosen: Chosen) -> list[str]:
    return [word for text in chosen.wanted.seconds for word in _option("second", text)]


def _length(chosen: Chosen) -> list[str]:
    return _option("length", chosen.wanted.length)


def _width(chosen: Chosen) -> list[str]:
    return _option("width", chosen.wanted.width) if chosen.rule.family.has_rows else []


def _paper(chosen: Chosen) -> list[str]:
    return _unless_usual("paper", chosen.settings.paper, defaults.PAPER)


def _unless_usual(name: str, text: str, usual: str) -> list[str]:
    """An option that is left out where the command would take the same."""
    return [] if text == usual else _option(name, text)


def _option(name: str, text: str) -> list[str]:
    """An option, so that no text can be taken for another one."""
    if not text:
        return []
    return [f"--{name}={text}"] if text.startswith("-") else [f"--{name}", text]


def _command(
    chosen: Chosen, name: str, words: list[str], out: str, *, shop: bool = False
) -> Command:
    reads = {}
    if RULE_FILE in words and chosen.own_rule_text:
        reads[RULE_FILE] = chosen.own_rule_text
    if GRID_FILE in words:
        reads[GRID_FILE] = chosen.settings.grid
    if shop and chosen.shop_text.strip():
        reads[SHOP_FILE] = chosen.shop_text
        words = [*words, "--shop", SHOP_FILE]
    return Command((name, *words, "--out", out), reads)
