"""The bench in the browser, without a browser: its choice, its guard and its queue."""

import asyncio
import signal
import urllib.request
from collections.abc import Callable
from typing import Any

import pytest
import uvicorn
from hypothesis import given
from hypothesis import strategies as st

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.page.choosing.draw_weaves import FOLDER, fingerprint, known, picture_name
from ringwright.page.serving.answer_cache import AnswerCache
from ringwright.page.serving.guard import (
    COOKIE,
    MOST_BYTES,
    Guard,
    checked_host,
    is_loopback,
    own_hosts,
)
from ringwright.page.serving.jobs import Slow, Superseded, Turns
from ringwright.page.state.chosen import Wanted, from_mapping, from_query
from ringwright.page.state.units import Units
from ringwright.page.worked_out.solve import answer, partners_of, repeats_at, with_partners
from ringwright.solver.placement import ring_radii
from ringwright.weaves import list_rules, load_rule
from ringwright.weaves.second import with_second
from tests.browser import serve


@given(
    st.builds(
        Wanted,
        *(st.text(min_size=1, max_size=60).map(str.strip).filter(bool) for _ in range(4)),
        paint=st.sampled_from(["role", "copper", "silver"]),
    )
)
def test_an_address_leads_back_to_the_choice(wanted: Wanted) -> None:
    assert from_query(wanted.query()) == wanted


@pytest.mark.parametrize(("name", "text"), [("wire", "1" * 61), ("paint", "plaid")])
def test_a_choice_that_cannot_be_is_refused(name: str, text: str) -> None:
    with pytest.raises(BadInput, match=name):
        from_mapping({name: text})


def asked(guard: Guard, path: str = "/", query: str = "", **headers: str) -> tuple[int, dict]:
    """Status and headers of what the guard answers to one request."""
    sent: list[Any] = []

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        return {"type": "http.request", "body": b""}

    scope = {
        "type": "http",
        "method": "GET",
        "path": path,
        "query_string": query.encode(),
        "headers": [
            (name.replace("_", "-").lower().encode(), value.encode())
            for name, value in headers.items()
        ],
    }
    asyncio.run(guard(scope, receive, send))
    return sent[0]["status"], {key.decode(): value.decode() for key, value in sent[0]["headers"]}


async def _page(scope: Any, receive: Any, send: Any) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"page"})


OURS = own_hosts("127.0.0.1", 8765)


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Host": "127.0.0.1:8765"}, 200),
        ({"Host": "LocalHost:8765", "Origin": "http://localhost:8765"}, 200),
        # A name that was made to resolve to this machine (DNS rebinding).
        ({"Host": "bench.example:8765"}, 421),
        ({"Host": "127.0.0.1"}, 421),
        ({"Host": "127.0.0.1:8765", "Origin": "http://bench.example"}, 403),
        ({"Host": "127.0.0.1:8765", "Origin": "null"}, 403),
        # Another site's page that fetches ours as a picture; and one with a link to it.
        (
            {"Host": "127.0.0.1:8765", "Sec_Fetch_Site": "cross-site", "Sec_Fetch_Mode": "no-cors"},
            403,
        ),
        (
            {
                "Host": "127.0.0.1:8765",
                "Sec_Fetch_Site": "cross-site",
                "Sec_Fetch_Mode": "navigate",
            },
            200,
        ),
        ({"Host": "127.0.0.1:8765", "Content_Length": str(MOST_BYTES + 1)}, 413),
        ({"Host": "127.0.0.1:8765", "Content_Length": "-1"}, 413),
        ({"Host": "127.0.0.1:8765", "Transfer_Encoding": "chunked"}, 411),
        ({}, 421),
    ],
)
def test_only_the_page_itself_is_answered(headers: dict[str, str], status: int) -> None:
    found, told = asked(Guard(_page, OURS, with_token=False), **headers)
    assert found == status
    assert told["x-frame-options"] == "DENY"


def test_a_token_is_good_for_one_visit() -> None:
    guard = Guard(_page, own_hosts("192.0.2.7", 80), with_token=True)
    ours = {"Host": "192.0.2.7:80"}
    token = guard.token
    assert asked(guard, **ours)[0] == 403
    assert asked(guard, query="token=" + "x" * len(token), **ours)[0] == 403
    status, told = asked(guard, query=f"weave=barrel&token={token}", **ours)
    assert (status, told["location"]) == (303, "/?weave=barrel")
    cookie = told["set-cookie"].split(";")[0]
    assert cookie.startswith(COOKIE)
    assert asked(guard, Cookie=cookie, **ours)[0] == 200
    assert asked(guard, query=f"token={token}", **ours)[0] == 403
    assert asked(guard, query="token=", **ours)[0] == 403


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "bench", "1.2.3", ""])
def test_an_address_that_is_none_is_refused(host: str) -> None:
    with pytest.raises(BadInput, match="address"):
        checked_host(host)


def test_what_is_loopback() -> None:
    assert all(map(is_loopback, ("127.0.0.1", "127.3.2.1", "::1", "localhost")))
    assert not any(map(is_loopback, ("192.0.2.7", "2001:db8::1", "localhost.example")))


def turns_of(places: int, play: Callable[[Turns, Callable[..., Any]], Any]) -> list[str]:
    """The names of questions in the order in which they were begun."""
    begun: list[str] = []

    def question(name: str, work: asyncio.Future[str] | None = None) -> Any:
        def start() -> asyncio.Future[str]:
            begun.append(name)
            if work is not None:
                return work
            done: asyncio.Future[str] = asyncio.get_running_loop().create_future()
            asyncio.get_running_loop().call_soon(done.set_result, name)
            return done

        return start

    asyncio.run(play(Turns(places), question))
    return begun


def test_clients_take_turns_and_newer_questions_go_before() -> None:
    async def play(turns: Turns, question: Callable[..., Any]) -> None:
        hold: asyncio.Future[str] = asyncio.get_running_loop().create_future()
        first = asyncio.create_task(turns.ask("a", "drag", question("a1", hold)))
        await asyncio.sleep(0)
        others = [
            asyncio.create_task(turns.ask(client, "drag", question(name)))
            for client, name in (("a", "a2"), ("b", "b1"), ("a", "a3"), ("c", "c1"), ("b", "b2"))
        ]
        await asyncio.sleep(0)
        assert turns.waiting == 3
        hold.set_result("a1")
        assert await first == "a1"
        told = await asyncio.gather(*others, return_exceptions=True)
        assert [isinstance(one, Superseded) for one in told] == [True, True, False, False, False]

    assert turns_of(1, play) == ["a1", "a3", "b2", "c1"]


def test_a_client_that_has_gone_is_forgotten() -> None:
    async def play(turns: Turns, question: Callable[..., Any]) -> None:
        hold: asyncio.Future[str] = asyncio.get_running_loop().create_future()
        first = asyncio.create_task(turns.ask("a", "drag", question("a1", hold)))
        await asyncio.sleep(0)
        gone = asyncio.create_task(turns.ask("b", "drag", question("b1")))
        await asyncio.sleep(0)
        turns.forget("b")
        with pytest.raises(Superseded):
            await gone
        hold.set_result("a1")
        await first

    assert turns_of(1, play) == ["a1"]


def long_message(on_progress: object, size: int) -> bytes:
    return b"x" * size


def test_a_long_answer_comes_whole_out_of_its_process() -> None:
    # More than a pipe holds at once, received by the loop that the server runs in.
    size = 3_000_000

    async def asked_slowly() -> bytes:
        return await Slow(1).ask("a", "piece", lambda *step: None, long_message, size)

    with asyncio.Runner(loop_factory=uvicorn.Config(None).get_loop_factory()) as runner:
        assert len(runner.run(asked_slowly())) == size


def test_the_answer_is_that_of_check_and_overlaps_are_shown_in_place() -> None:
    rule = load_rule("one-in-one")
    found = answer(lambda *step: None, rule, RingSize(0.9, 3.2), None)
    assert found.figures.can_be_woven
    assert found.shown.repeat_mm == pytest.approx(found.figures.repeat_mm, abs=1e-9)
    dragged = repeats_at(rule, RingSize(0.9, 3.25), found.shown.unit, found.limit)
    assert dragged is not None
    # Of single rings linked one in one, a repeat is two rings, each as long as its inside.
    assert dragged.repeat_mm == pytest.approx(2 * 3.25, abs=1e-6)
    # At a ratio of 1.8, below the smallest of 2, rings overlap.
    tight = repeats_at(rule, RingSize(0.9, 0.9 * 1.8), None, found.limit)
    assert tight is not None
    assert tight.unit is None
    assert tight.overlaps
    assert tight.overlaps[0].depth_mm > 0.01


def test_second_rings_are_followed_and_what_would_do_is_told_later() -> None:
    own = with_second(load_rule("helm-chain"), {"small": (1.0, 4.1)})
    size = RingSize(1.22, 6.7)
    found = answer(lambda *step: None, own, size, None)
    assert found.report.partners is None
    more = with_partners(found, partners_of(lambda *step: None, found.report))
    span = more.figures.second_rings[0].closes_inner_mm
    assert span.smallest < 4.1 < span.largest
    told = dict(Units().rows(more.figures))
    assert told["Second rings"].startswith("small: 1 mm wire, 4.1 mm inside (your own")
    assert f"small rings (1 mm wire) {span.smallest:g} to " in told["Closes with"]
    assert " mm inside or more; small" in told["Closes with"]
    # Dragged: another second ring, and another main ring, beside which it is another multiple.
    others = (
        (with_second(own, {"small": (1.0, 4.3)}), size),
        (own, RingSize(1.22, 6.9)),
    )
    for rule, dragged in others:
        shown = repeats_at(rule, dragged, found.shown.unit, None)
        assert shown is not None
        again = answer(lambda *step: None, rule, dragged, None)
        assert shown.repeat_mm == pytest.approx(again.figures.repeat_mm, abs=1e-5)
        core, _ = ring_radii(rule, dragged)
        assert shown.unit.rings.core_radii == pytest.approx(core, rel=1e-12)


def test_every_weave_has_a_picture_of_how_it_is_now() -> None:
    # Out of date? python -m ringwright.page.choosing.draw_weaves
    assert known() == {rule.name: fingerprint(rule) for rule in list_rules()}
    assert all((FOLDER / picture_name(rule)).stat().st_size > 1000 for rule in list_rules())


ASKERS = (("first", ""), ("second", "same"), ("third", "other"))


def test_what_several_ask_alike_is_worked_out_once() -> None:
    worked: list[str] = []

    async def play() -> list[object]:
        shared: AnswerCache[str, str] = AnswerCache(2)

        async def work(who: str, answer: str) -> str:
            worked.append(who)
            await asyncio.sleep(0.01)
            if answer == "":
                raise Superseded
            return answer

        # The first gives up, so the second has it worked out, and the third waits for it.
        told = await asyncio.gather(
            *(shared.ask("q", lambda w=w, a=a: work(w, a)) for w, a in ASKERS),
            return_exceptions=True,
        )
        assert await shared.ask("q", lambda: work("late", "new")) == "same"
        for name in "rs":
            await shared.ask(name, lambda name=name: work(name, name))
        # Two are kept; the oldest is worked out again.
        assert shared.known("q") is None
        return list(told)

    told = asyncio.run(play())
    assert isinstance(told[0], Superseded)
    assert told[1:] == ["same", "same"]
    assert worked == ["first", "second", "r", "s"]


@pytest.mark.parametrize("asked_by", [signal.SIGINT, signal.SIGTERM])
def test_asked_to_end_the_bench_closes_and_leaves_nothing(asked_by: signal.Signals) -> None:
    bench = serve()
    try:
        with urllib.request.urlopen(bench.address, timeout=60) as page:
            assert page.status == 200
        bench.process.send_signal(asked_by)
        assert bench.process.wait(timeout=30) == 0
    finally:
        bench.kill()
    opened, *closed = bench.said.read_text().splitlines()
    assert opened.startswith("The page is open at ")
    assert closed == ["The page is closed."]
