"""Who may speak to the page: this machine's own browser, under the page's own address.

A page of some other site can have a browser send requests to addresses on this machine, and by
changing what its name resolves to it can even read the answers (DNS rebinding). Both give
themselves away by the ``Host`` or ``Origin`` they send, so every request must carry ours. A
page that is served to other machines asks for a token besides, which is good for one visit and
is then replaced by a cookie.
"""

from __future__ import annotations

import hmac
import ipaddress
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qsl, urlencode

from ringwright.base.errors import BadInput

# What a server and an application of this kind (ASGI) tell each other is of no closer type.
Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

COOKIE = "ringwright"
# Rule, shop and project files are smaller by far; so is every message of the page.
MOST_BYTES = 1 << 20
# Scripts of the page's own only; its framework compiles its templates, which needs eval.
_POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; "
    "style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; font-src 'self' data:; "
    "connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'"
)
_HEADERS = (
    (b"content-security-policy", _POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
)


def is_loopback(host: str) -> bool:
    """Whether an address can be reached from this machine alone."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def checked_host(host: str) -> str:
    """An address to listen at; raises BadInput where it is none."""
    if host == "localhost":
        return host
    try:
        found = ipaddress.ip_address(host)
    except ValueError:
        raise BadInput(
            f"--address {host[:60]!r} is not an address; give one of this computer's, e.g. "
            "127.0.0.1."
        ) from None
    if found.is_unspecified:
        raise BadInput(
            f"--address {host} means every network at once; give the one address of this computer "
            "that the page is to be reached at."
        )
    return host


def own_hosts(host: str, port: int) -> frozenset[str]:
    """What a browser may call us in its ``Host``: for the loopback, any name of it."""
    names = ["127.0.0.1", "localhost", "[::1]"] if is_loopback(host) else []
    names.append(f"[{host}]" if ":" in host else host)
    return frozenset(f"{name}:{port}" for name in names)


class Guard:
    """Lets through what comes from the page itself, and puts headers on all answers.

    Parameters
    ----------
    app : the page
    hosts : as from :func:`own_hosts`
    with_token : whether a visitor must know the token
    """

    def __init__(self, app: App, hosts: frozenset[str], with_token: bool) -> None:
        """Make up the token, if there is to be one."""
        self._app, self._hosts = app, hosts
        self.token = secrets.token_urlsafe(24) if with_token else ""
        self._seal = secrets.token_urlsafe(32)
        self._sealed = with_token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request or connection."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        headers = {key.lower(): value.decode("latin-1") for key, value in scope["headers"]}
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await _refuse(scope, send, *refusal)
        elif self._sealed and not self._knows(headers.get(b"cookie", "")):
            await self._admit(scope, send)
        else:
            await self._app(scope, receive, _with_headers(send))

    def _refusal(self, scope: Scope, headers: dict[bytes, str]) -> tuple[int, str] | None:
        if headers.get(b"host", "").lower() not in self._hosts:
            return 421, "This page answers only under its own address."
        origin = headers.get(b"origin")
        if origin is not None and origin.lower() not in {f"http://{host}" for host in self._hosts}:
            return 403, "Requests from other pages are not answered."
        foreign = headers.get(b"sec-fetch-site") == "cross-site"
        if foreign and headers.get(b"sec-fetch-mode") != "navigate":
            return 403, "Requests from other pages are not answered."
        length = headers.get(b"content-length", "0")
        if not length.isdigit() or int(length) > MOST_BYTES:
            return 413, f"More than {MOST_BYTES} bytes are not taken."
        if scope["type"] == "http" and b"transfer-encoding" in headers:
            return 411, "A request has to say how long it is."
        return None

    def _knows(self, cookies: str) -> bool:
        try:
            found = SimpleCookie(cookies).get(COOKIE)
        except CookieError:
            return False
        return found is not None and hmac.compare_digest(found.value.encode(), self._seal.encode())

    async def _admit(self, scope: Scope, send: Send) -> None:
        """Take the token, once, for a cookie."""
        asked = dict(parse_qsl(scope["query_string"].decode("latin-1"), max_num_fields=40))
        told = asked.pop("token", "")
        good = bool(self.token) and hmac.compare_digest(told.encode(), self.token.encode())
        if not good or scope["type"] != "http":
            await _refuse(scope, send, 403, "Open the address that was printed, with its token.")
            return
        self.token = ""
        cookie = f"{COOKIE}={self._seal}; HttpOnly; SameSite=Strict; Path=/"
        where = scope["path"] + ("?" + urlencode(asked) if asked else "")
        headers = [(b"set-cookie", cookie.encode()), (b"location", where.encode()), *_HEADERS]
        await send({"type": "http.response.start", "status": 303, "headers": headers})
        await send({"type": "http.response.body", "body": b""})


def _with_headers(send: Send) -> Send:
    async def sent(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            ours = {key for key, _ in _HEADERS}
            others = [pair for pair in message.get("headers", ()) if pair[0].lower() not in ours]
            message = {**message, "headers": [*others, *_HEADERS]}
        await send(message)

    return sent


async def _refuse(scope: Scope, send: Send, status: int, sentence: str) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008, "reason": sentence})
        return
    headers = [(b"content-type", b"text/plain; charset=utf-8"), *_HEADERS]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": sentence.encode() + b"\n"})
