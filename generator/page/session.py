"""One maker at the page: what is wanted, what the solver said of it, and who is told."""

from __future__ import annotations

import asyncio
import contextlib
import os
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, TypeVar

from nicegui import ui

from ringwright.base.errors import BadInput, NoRest
from ringwright.base.sizes import RingSize
from ringwright.making.plan.plan_figures import PlanFigures
from ringwright.making.shop.shop import Shop, shop_from_text
from ringwright.page.files.command_lines import Chosen
from ringwright.page.files.project_file import own_rule
from ringwright.page.files.tab_folders import TabFolder, TabFolders
from ringwright.page.files.works import Works
from ringwright.page.serving.answer_cache import AnswerCache
from ringwright.page.serving.jobs import Quick, Slow, Superseded
from ringwright.page.signal import Signal
from ringwright.page.state.caption import Caption
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.file_settings import Settings
from ringwright.page.state.history import History, Moment
from ringwright.page.state.place import Place
from ringwright.page.state.project import Project, settings_change, wanted_change
from ringwright.page.state.shop_file import ShopFile
from ringwright.page.worked_out.ring_from_mandrel import with_ring
from ringwright.page.worked_out.solve import (
    Answer,
    Overlap,
    Shown,
    answer,
    limit_of,
    partners_of,
    repeats_at,
    with_partners,
)
from ringwright.piece.piece import Piece
from ringwright.solver.climb import Unit
from ringwright.solver.tightest import Tightest, has_one_limit
from ringwright.weaves import WeaveRule, named_rule

T = TypeVar("T")
# So long nothing may change before the whole check is asked for.
_PAUSE_S = 0.35
# Changes that come so close together are one; the later this machine is with its work, the
# longer, up to a limit.
_TOGETHER_S, _MOST_TOGETHER_S = 0.02, 0.4
# The fields and figures of the page follow what is dragged so often at most, and less often
# while this machine is late; the model goes before them.
_FOLLOW_S = 0.15
# Places of rest are kept so many to one step of the aspect ratio.
_STEPS = 20
# To be tightened is about as far as to be loosened from so much farther off.
_TIGHTENED = 0.1
# Pages open at once; each takes a few MB.
_MOST_PAGES = 64
# So many tightest rings and answers are kept for all clients together.
_MOST_KEPT = 200
# So many ways of moving and orders of weaving too.
_MOST_WORKED = 40
# So many sizes that somebody has looked at are kept for all clients together.
_MOST_SHOWN = 1000
# What a shop is called that is in no file.
_NO_FILE = Path("shop.toml")
# More would not stand side by side.
MOST_BESIDE = 3
# What changes again within so many seconds, as on a slider, is one change.
_GOES_ON_S = 1.0


@dataclass(frozen=True, eq=False)
class Guest:
    """What has the view in place of the piece, until something else is wanted.

    Attributes
    ----------
    said : what it is, in few words
    show : shows it in a view
    wanted : what was wanted when it came
    """

    said: str
    show: Callable[[Any], object]
    wanted: Wanted


class Desk:
    """What all clients share: the processes, and what is known already."""

    def __init__(
        self, quick: Quick, slow: Slow, shop_file: ShopFile | None = None, kept: Path | None = None
    ) -> None:
        """Begin with nothing known.

        Parameters
        ----------
        shop_file : the one that pages may change
        kept : the folder in which what tabs are about is kept
        """
        self.quick, self.slow, self.shop_file = quick, slow, shop_file
        self.works = Works(kept)
        # By the key of its work.
        self.at_work: dict[str, Session] = {}
        self.limits: AnswerCache[WeaveRule, Tightest] = AnswerCache(_MOST_KEPT)
        # What was worked out because a page asked for it: by topic, weave and size.
        self.worked: AnswerCache[tuple[str, WeaveRule, RingSize], Any] = AnswerCache(_MOST_WORKED)
        self._rests: dict[WeaveRule, dict[int, tuple[float, Unit]]] = {}
        self.shown: AnswerCache[tuple[WeaveRule, RingSize], Shown | None] = AnswerCache(_MOST_SHOWN)
        self.answers: AnswerCache[tuple[WeaveRule, RingSize], Answer] = AnswerCache(_MOST_KEPT)
        # How late this process is with what it has to do, in seconds.
        self._late_s = 0.0
        self._open: set[str] = set()
        # Commands use several cores themselves; clients take turns.
        self.rooms = TabFolders(Slow(max(1, (os.cpu_count() or 1) // 2)))

    def rest_near(self, rule: WeaveRule, ratio: float) -> Unit | None:
        """The rings at rest at a ratio nearby that anybody has asked for, to start from."""
        known = self._rests.get(rule, {}).values()
        return min(known, key=lambda one: _way(one[0], ratio), default=(0.0, None))[1]

    def keep_rest(self, rule: WeaveRule, ratio: float, unit: Unit) -> None:
        """Remember where rings rest, if that is the same at every size of this ratio."""
        if has_one_limit(rule):
            _make_room(self._rests, rule)
            self._rests.setdefault(rule, {})[round(ratio * _STEPS)] = ratio, unit

    def came_late(self, late_s: float) -> None:
        """Take note of how late something was begun."""
        self._late_s += 0.2 * (max(late_s, 0.0) - self._late_s)

    @property
    def together_s(self) -> float:
        """How long to wait for further changes before one is looked at."""
        return min(_MOST_TOGETHER_S, _TOGETHER_S + 2 * self._late_s)

    def admits_another(self) -> bool:
        """Whether there is room for one more page."""
        return len(self._open) < _MOST_PAGES

    def arrived(self, client: str) -> None:
        """A page was opened."""
        self._open.add(client)

    def gone(self, client: str) -> None:
        """A page was closed: what it waits for is given up."""
        self._open.discard(client)
        for one in (client, beside(client)):
            self.quick.forget(one)
            self.slow.forget(one)

    async def close(self) -> None:
        """The server ends: no command goes on, and no file stays that is not kept."""
        for session in list(self.at_work.values()):
            session.gone()
        await self.rooms.close()

    def limit(self, rule: WeaveRule) -> Tightest | None:
        """The tightest ring of a weave, where it is known and the same at every size."""
        return self.limits.known(rule)

    def keep_limit(self, rule: WeaveRule, limit: Tightest) -> None:
        """Remember it, if it holds for every size."""
        if has_one_limit(rule):
            self.limits.keep(rule, limit)


class Session:
    """A page that is open in one browser tab.

    What changes is told to who listens to ``on_wanted`` (something else is wanted),
    ``on_shown`` (there are repeats to look at), ``on_answer`` (the check is done),
    ``on_busy`` (what is being worked on, in words, or nothing), ``on_candidates`` (what is
    kept beside to compare), ``on_shop`` (the shop's text), ``on_seen`` (other rings, or other
    colours, are looked at), ``on_counted`` (the piece is counted, or no longer), ``on_settings``
    (how files are to be made), ``on_guest`` (the view shows something else than the piece, or the
    piece again), ``on_picked`` (a ring in the view was touched), ``on_history`` (something was
    chosen, undone or redone), ``on_place`` (another panel or step), ``on_pointed`` (two rings that
    overlap are to be seen), ``on_picture`` (a picture is wanted), ``on_gone`` (the tab was closed)
    and ``on_motion`` (how the rings of the model move, in words, or nothing).
    """

    def __init__(
        self, client: str, desk: Desk, wanted: Wanted, beside: tuple[Wanted, ...] = ()
    ) -> None:
        """Begin with a choice and what is kept beside it; :meth:`want` starts the work."""
        self.client, self.desk = client, desk
        desk.arrived(client)
        self.layout = ui.element("div").classes("page")
        self.own_rule: WeaveRule | None = None
        self.shown: Shown | None = None
        self.answer: Answer | None = None
        self.trouble = ""
        # The piece as the plan counts it, once there is an answer that can be woven.
        self.counted: PlanFigures | None = None
        self.on_counted: Signal[[]] = Signal()
        # As the last text that was right says.
        self.shop: Shop = shop_from_text("", _NO_FILE)
        self.shop_trouble = self.shop_on_disk = ""
        trouble = self._read_shop()
        self.history = History(
            (Moment(Project(wanted, beside[-MOST_BESIDE:], "", self.shop_on_disk, Settings())),)
        )
        self.on_history: Signal[[]] = Signal()
        # What was done last, and when, to tell what goes on with it.
        self._done: tuple[tuple[str, ...], float] = ((), 0.0)
        self._take_shop()
        self.shop_trouble = trouble or self.shop_trouble
        self.place = Place()
        self.on_place: Signal[[]] = Signal()
        self.on_gone: Signal[[]] = Signal()
        self.on_pointed: Signal[[Overlap]] = Signal()
        self._is_gone = False
        self.room = TabFolder(desk.rooms, client)
        self.on_settings: Signal[[]] = Signal()
        self.on_candidates: Signal[[]] = Signal()
        self.on_shop: Signal[[]] = Signal()
        # The rings that are looked at, in their colours; the model's part of the page sets them.
        self.seen: Piece | None = None
        # The same as they lie; what is asked for a picture of them is told to the model's part.
        self.drawn: Piece | None = None
        self.on_picture: Signal[[Caption]] = Signal()
        self.on_seen: Signal[[]] = Signal()
        # What the view shows in place of the piece; and the view, which the model's part sets.
        self.guest: Guest | None = None
        self.stage: Any = None
        self.on_guest: Signal[[]] = Signal()
        self.on_picked: Signal[[int]] = Signal()
        self.on_wanted: Signal[[]] = Signal()
        self.on_shown: Signal[[]] = Signal()
        self.on_answer: Signal[[]] = Signal()
        self.on_busy: Signal[[str]] = Signal()
        self.motion = ""
        self.on_motion: Signal[[]] = Signal()
        self._near: tuple[WeaveRule, Unit] | None = None
        self._work: set[asyncio.Task[Any]] = set()
        self._due = False
        # Sizes to look at are counted, so that none is shown after a newer one.
        self._asked_last = self._shown_last = 0
        self._following: asyncio.TimerHandle | None = None
        self._followed_s = -_FOLLOW_S
        self._asked: tuple[WeaveRule, Wanted] | None = None
        self._checking: asyncio.Task[None] | None = None

    @property
    def now(self) -> Project:
        """All that is chosen."""
        return self.history.now.project

    @property
    def wanted(self) -> Wanted:
        """The weave, the ring and the piece."""
        return self.now.wanted

    @property
    def candidates(self) -> tuple[Wanted, ...]:
        """What is kept beside to compare."""
        return self.now.beside

    @property
    def settings(self) -> Settings:
        """How files are to be made."""
        return self.now.settings

    @property
    def shop_text(self) -> str:
        """The shop's text as it stands, right or not."""
        return self.now.shop_text

    @property
    def rule(self) -> WeaveRule:
        """The weave that is wanted; raises BadInput where there is none of that name."""
        return self.rule_of(self.wanted)

    def rule_of(self, wanted: Wanted) -> WeaveRule:
        """The weave of a choice; raises BadInput where there is none, or not with such rings."""
        if self._is_own(wanted) and self.own_rule is not None:
            return wanted.woven(self.own_rule)
        # By name alone: an address must not have files of this machine read.
        return wanted.woven(named_rule(wanted.weave))

    def _is_own(self, wanted: Wanted) -> bool:
        return self.own_rule is not None and self.own_rule.name == wanted.weave

    def length_typed(self, text: str) -> str:
        """A length as it was typed, with the unit of this page where it has none."""
        return self.wanted.units.with_unit(text)

    def wire_typed(self, text: str) -> str:
        """A wire as it was typed, with the unit of this page where it has none."""
        return self.wanted.units.wire_with_unit(text)

    @property
    def beside(self) -> str:
        """Who asks for what is only kept beside, which holds up nothing that is dragged."""
        return beside(self.client)

    def change(self, **changes: str) -> None:
        """Want something else, in one or more respects; another weave begins with its own rings."""
        if changes.get("weave", self.wanted.weave) != self.wanted.weave:
            changes = {"second": "", **changes}
        self.want(replace(self.wanted, **changes))

    def want(self, wanted: Wanted) -> None:
        """Want all this, and have it worked out."""
        why = wanted_change(self.wanted, wanted)
        changed = tuple(
            one.name
            for one in fields(Wanted)
            if getattr(wanted, one.name) != getattr(self.wanted, one.name)
        )
        self._put(replace(self.now, wanted=wanted), why, changed)
        self._look_soon()

    def undo(self) -> None:
        """Take back what was done last, whatever it was."""
        self._go(self.history.undone(), f"Undone: {self.history.undoes}")

    def redo(self) -> None:
        """Do again what was taken back last."""
        self._go(self.history.redone(), f"Done again: {self.history.redoes}")

    def take_up(self, history: History) -> None:
        """Go on with what was chosen when the page was open before."""
        self._change(history)

    def go_back_to(self, serial: int, wanted: Wanted, beside: tuple[Wanted, ...]) -> None:
        """Have all as it was at a moment; of one that is forgotten, what its address tells."""
        known = self.history.at(serial)
        if known is not None:
            self._go(known, "")
        else:
            self.open(replace(self.now, wanted=wanted, beside=beside), "an earlier address")

    def open(self, project: Project, why: str) -> None:
        """Have all as a project says; ``why`` says in words what was done."""
        beside = tuple(dict.fromkeys(project.beside))[:MOST_BESIDE]
        self._put(replace(project, beside=beside), why)
        self._look_soon()

    def go_to(self, place: Place) -> None:
        """Open another panel, or go to another step."""
        if place != self.place:
            self.place = place
            self.on_place.tell()

    def _put(self, project: Project, why: str, kind: tuple[str, ...] = ()) -> None:
        """Have something else chosen; what is of one kind and comes at once is one change."""
        now_s = asyncio.get_running_loop().time()
        last, at_s = self._done
        goes_on = bool(kind) and kind == last and now_s - at_s < _GOES_ON_S
        self._done = kind, now_s
        self._change(self.history.put(project, why, goes_on=goes_on))

    def _go(self, history: History, said: str) -> None:
        if history.place != self.history.place:
            self._done = (), 0.0
            self._change(history)
            self.say_busy(said)

    def _change(self, history: History) -> None:
        """Have another moment, and tell who is concerned."""
        before, self.history = self.now, history
        now = self.now
        if now.rule_text != before.rule_text:
            self.own_rule = own_rule(now.rule_text) if now.rule_text else None
        if now.shop_text != before.shop_text:
            self._take_shop()
        if now.settings != before.settings:
            self.on_settings.tell()
        if now.beside != before.beside:
            self.on_candidates.tell()
        if now.shop_text != before.shop_text:
            self.on_shop.tell()
        if (now.wanted, now.rule_text) != (before.wanted, before.rule_text) or (
            now.shop_text != before.shop_text and not self.shop_trouble and self._is_of_the_shop()
        ):
            self._look_soon()
        self.on_history.tell()

    @property
    def follows_soon(self) -> bool:
        """Whether ``on_wanted`` is told in a moment."""
        return self._due or self._following is not None

    def _is_of_the_shop(self) -> bool:
        return bool(self.wanted.shelf or self.wanted.mandrel)

    def _look_soon(self) -> None:
        if not self._due:
            # What comes in faster than it can be looked at is looked at once.
            self._due = True
            loop = asyncio.get_running_loop()
            at = loop.time() + self.desk.together_s
            loop.call_at(at, self._look, at)

    def chosen(self) -> Chosen:
        """All that files are made of; raises BadInput where there is no such weave."""
        own = self.now.rule_text if self._is_own(self.wanted) else ""
        shop = "" if self.shop_trouble else self.shop_text
        return Chosen(self.wanted, self.rule, own, shop, self.settings)

    def set(self, settings: Settings) -> None:
        """Have files made in another way."""
        self._put(replace(self.now, settings=settings), settings_change(self.settings, settings))

    def keep_beside(self, wanted: Wanted) -> None:
        """Keep a choice to compare with; the oldest goes where there are too many."""
        if wanted not in self.candidates:
            kept = (*self.candidates, wanted)[-MOST_BESIDE:]
            self._put(replace(self.now, beside=kept), f"{wanted.weave} kept to compare")

    def drop(self, index: int) -> None:
        """Keep one of them no longer."""
        kept = self.candidates[:index] + self.candidates[index + 1 :]
        why = f"{self.candidates[index].weave} no longer compared"
        self._put(replace(self.now, beside=kept), why)

    def put_rule(self, text: str) -> WeaveRule:
        """Choose a weave of the maker's own; raises BadInput where its text is not sound."""
        rule = own_rule(text)
        wanted = replace(self.wanted, weave=rule.name, second="")
        self.open(replace(self.now, rule_text=text, wanted=wanted), f"{rule.name} opened")
        return rule

    def put_shop(self, text: str, why: str) -> None:
        """Have another text for the shop; ``why`` says in words what was done to it.

        A text that is wrong changes no ring.
        """
        # What is no character cannot be written to a file either.
        sound = text.encode("utf-8", "replace").decode()
        self._put(replace(self.now, shop_text=sound), why)

    def _read_shop(self) -> str:
        """Read the shop file, where there is one; what is wrong with it."""
        if self.desk.shop_file is not None:
            try:
                self.shop_on_disk = self.desk.shop_file.read()
            except BadInput as said:
                return str(said)
        return ""

    def _take_shop(self) -> None:
        self.shop_trouble = ""
        file = self.desk.shop_file
        try:
            self.shop = shop_from_text(self.shop_text, _NO_FILE if file is None else file.path)
        except BadInput as trouble:
            self.shop_trouble = str(trouble)

    def _look(self, due_s: float) -> None:
        self._due = False
        self.desk.came_late(asyncio.get_running_loop().time() - due_s)
        trouble = ""
        try:
            wanted = with_ring(self.wanted, self.shop)
            self.history = self.history.amended(replace(self.now, wanted=wanted))
            rule, size = self.rule, self.wanted.size()
        except BadInput as said:
            trouble = str(said)
            asked = None
        else:
            asked = rule, self.wanted.ring_alone()
        if asked is not None and asked == self._asked:
            # Only looked at, or said, in another way.
            self._follow()
            if self.answer is not None or self.trouble:
                self.on_answer.tell()
            return
        self._asked, self.answer, self.trouble = asked, None, trouble
        if self._checking is not None:
            self._checking.cancel()
        if asked is not None:
            # Not ended by a newer one: while a slider moves, every size that was worked out
            # is shown.
            self.begin(self._show(rule, size))
            self._checking = self.begin(self._check(rule, size))
        self._tell_wanted()

    def _tell_wanted(self) -> None:
        """Have the page follow what is wanted, now or in a moment if it just did."""
        if self._following is None:
            loop = asyncio.get_running_loop()
            pause_s = max(_FOLLOW_S, 3 * self.desk.together_s)
            at = max(loop.time(), self._followed_s + pause_s)
            self._following = loop.call_at(at, self._follow)

    def _follow(self) -> None:
        if self._following is not None:
            self._following.cancel()
            self._following = None
        self._followed_s = asyncio.get_running_loop().time()
        self.on_wanted.tell()

    def _tell_answer(self) -> None:
        # What is wanted goes before what is answered to it.
        if self._following is not None:
            self._follow()
        self.on_answer.tell()

    def gone(self) -> None:
        """The tab was closed: nothing more is worked out for it."""
        if self._is_gone:
            return
        self._is_gone = True
        self.on_gone.tell()
        if self._following is not None:
            self._following.cancel()
        for task in self._work:
            task.cancel()
        self.room.close()
        self.desk.gone(self.client)

    def say_busy(self, what: str) -> None:
        """Tell what is being worked on; nothing when it is done."""
        self.on_busy.tell(what)

    def counts(self, counted: PlanFigures | None) -> None:
        """Tell how the piece was counted; None while it is not."""
        self.counted = counted
        self.on_counted.tell()

    def shows(self, seen: Piece) -> None:
        """Tell which rings are looked at now."""
        self.seen = seen
        self.on_seen.tell()

    def lend(self, said: str, show: Callable[[Any], object]) -> Guest:
        """Have the view show something else than the piece, as long as nothing else is wanted.

        Parameters
        ----------
        said : what it is, in few words
        show : shows it in a view
        """
        self.guest = guest = Guest(said, show, self.wanted)
        self.on_guest.tell()
        return guest

    def take_back(self, guest: Guest | None) -> None:
        """Have the view show the piece again, without marks on it, if this is what it shows."""
        if guest is self.guest:
            self.guest = None
            self.on_guest.tell()

    def moves(self, how: str) -> None:
        """Tell how the rings of the model move; nothing once they are at rest."""
        if how != self.motion:
            self.motion = how
            self.on_motion.tell()

    def begin(self, work: Coroutine[Any, Any, T]) -> asyncio.Task[T]:
        """Have some work done for this page; it is given up when the page is closed."""
        task = asyncio.get_running_loop().create_task(work)
        self._work.add(task)
        task.add_done_callback(self._ended)
        return task

    def _ended(self, task: asyncio.Task[Any]) -> None:
        self._work.discard(task)
        if not task.cancelled() and isinstance(task.exception(), Superseded):
            # Nobody may be waiting for it any more.
            self.say_busy("")

    async def _show(self, rule: WeaveRule, size: RingSize) -> None:
        self._asked_last += 1
        mine = self._asked_last
        with contextlib.suppress(Superseded):
            shown = await self.desk.shown.ask((rule, size), lambda: self._repeats(rule, size))
            # Who waited for somebody else's may be overtaken.
            if shown is None or mine < self._shown_last or self.answer is not None:
                return
            if rule == self._rule_now():
                self._shown_last = mine
                self._shows(rule, shown)

    async def _repeats(self, rule: WeaveRule, size: RingSize) -> Shown | None:
        near = self.desk.rest_near(rule, size.aspect_ratio)
        if near is None and self._near is not None and _same_weave(self._near[0], rule):
            near = self._near[1]
        limit = self.desk.limit(rule)
        return await self.desk.quick.ask(
            self.client, "repeats", repeats_at, rule, size, near, limit
        )

    async def _check(self, rule: WeaveRule, size: RingSize) -> None:
        await asyncio.sleep(_PAUSE_S)
        self.say_busy("Checking")
        with contextlib.suppress(Superseded):
            try:
                found = await self.desk.answers.ask(
                    (rule, size), lambda: self._answered(rule, size)
                )
            except (BadInput, NoRest) as trouble:
                self.trouble = str(trouble)
            else:
                self.answer = found
                self._shows(rule, found.shown)
            self.say_busy("")
            self._tell_answer()
            if self.answer is not None and rule.sizes:
                await self._look_for_partners(rule, size, self.answer)

    async def _look_for_partners(self, rule: WeaveRule, size: RingSize, told: Answer) -> None:
        """Have an answer also say which rings of one size work with those of the others."""
        if told.report.partners is not None:
            return
        found = await self.desk.worked.ask(
            ("partners", rule, size),
            lambda: self.desk.slow.ask(
                *(self.client, "partners", self._say_step, partners_of, told.report)
            ),
        )
        more = with_partners(told, found)
        self.desk.answers.keep((rule, size), more)
        self.say_busy("")
        if self.answer is told:
            self.answer = more
            self._tell_answer()

    async def _answered(self, rule: WeaveRule, size: RingSize) -> Answer:
        limit = self.desk.limit(rule)
        if limit is None and has_one_limit(rule):
            # Of use at every size: not given up where another one is asked for meanwhile.
            limit = await asyncio.shield(self.begin(self._searched(rule, size)))
            self.say_busy("Checking")
        found = await self.desk.slow.ask(
            self.client, "answer", self._say_step, answer, rule, size, limit
        )
        # It may know of other shapes now.
        self.desk.keep_limit(rule, found.limit)
        return found

    async def _searched(self, rule: WeaveRule, size: RingSize) -> Tightest:
        return await self.desk.limits.ask(
            rule,
            lambda: self.desk.slow.ask(self.client, "limit", self._say_step, limit_of, rule, size),
        )

    def _say_step(self, what: str, done: int, of: int) -> None:
        self.say_busy(f"Looking for the {what}: {done} of {of}")

    def _rule_now(self) -> WeaveRule | None:
        try:
            return self.rule
        except BadInput:
            return None

    def _shows(self, rule: WeaveRule, shown: Shown) -> None:
        self.shown = shown
        self.desk.shown.keep((rule, shown.size), shown)
        if shown.unit is not None:
            self._near = rule, shown.unit
            self.desk.keep_rest(rule, shown.size.aspect_ratio, shown.unit)
        self.on_shown.tell()


def beside(client: str) -> str:
    """The name that a client asks under for what is kept beside."""
    return f"{client} beside"


def _way(ratio: float, wanted: float) -> float:
    """How far it is from one rest to another, in ratios.

    From tighter rings it is a third of the work: loosened, they have only to be pulled, while
    rings that are tightened have to give way to one another first.
    """
    return wanted - ratio if ratio <= wanted else _TIGHTENED + ratio - wanted


def _same_weave(one: WeaveRule, other: WeaveRule) -> bool:
    """Whether two rules differ at most in the sizes of their rings."""
    return (one.name, one.links, len(one.rings)) == (other.name, other.links, len(other.rings))


def _make_room(kept: dict[WeaveRule, Any], rule: WeaveRule) -> None:
    """Forget the oldest where there is no room for one more rule."""
    if rule not in kept and len(kept) >= _MOST_KEPT:
        del kept[next(iter(kept))]
