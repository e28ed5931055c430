"""What every request passes: size, origin, pairing; and what every response is told to forbid."""

from __future__ import annotations

import hmac
from typing import TYPE_CHECKING, Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request

from catchpan.web.problem import NotPairedError, OtherOriginError, TooLargeError, answer, answer_to

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from catchpan.units.errors import CatchpanError

COOKIE: Final = "catchpan_pass"
SECURE_COOKIE: Final = "__Host-catchpan_pass"
"""The same over HTTPS, under a name of its own: a browser lets no plain page replace it."""

COOKIE_SECONDS: Final = 180 * 24 * 3600
MOST_BODY: Final = 21_000_000
"""Bytes of a request's body, at most: a photo as it comes."""

OPEN_TO_ALL: Final = ("/field", "/pair/", "/phone/", "/authority.crt", "/static/", "/api/1/health")
"""Where nothing about any call is found."""

CHANGING: Final = frozenset({"POST", "PUT", "PATCH", "DELETE"})

HEADERS: Final = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
        "font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; "
        "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}


class Guard:
    """Lets requests through to an application, or answers them itself.

    Parameters
    ----------
    app : ASGIApp
        The application.
    token : str
        What a device shows to be let in; empty lets every device in.
    """

    def __init__(self, app: ASGIApp, token: str) -> None:
        self.app, self.token = app, token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Deal with one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refused = self._refusal(Request(scope))
        counted = _Counted(receive, _with_headers(send))
        if refused is not None:
            await answer(refused)(scope, receive, counted.send)
            return
        try:
            await self.app(scope, counted.receive, counted.send)
        except Exception as error:
            if counted.started:
                raise
            await answer_to(error)(scope, receive, counted.send)

    def _refusal(self, request: Request) -> CatchpanError | None:
        length = request.headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > MOST_BODY:
            return TooLargeError(MOST_BODY)
        if request.method in CHANGING and (origin := _other_origin(request.headers)):
            return OtherOriginError(origin)
        return None if self._is_let_in(request) else NotPairedError()

    def _is_let_in(self, request: Request) -> bool:
        if not self.token or request.url.path.startswith(OPEN_TO_ALL):
            return True
        return shows_token(request, self.token)


def cookie_name(request: Request) -> str:
    """Return the name of the cookie that lets a device in, by the way it came."""
    return SECURE_COOKIE if request.url.scheme == "https" else COOKIE


def shows_token(request: Request, token: str) -> bool:
    """Whether a request comes from a device that was let in."""
    return is_token(request.cookies.get(cookie_name(request), ""), token)


def is_token(shown: str, token: str) -> bool:
    """Compare what a device shows with the token, in a time that does not tell how far it fits."""
    return hmac.compare_digest(shown.encode("utf-8", "replace"), token.encode())


def _other_origin(headers: Headers) -> str:
    """Return the origin of a request where it is not ours; empty where it is or is not said."""
    origin = headers.get("origin", "")
    if origin and origin.partition("://")[2] != headers.get("host"):
        return origin
    return "another site" if headers.get("sec-fetch-site") in {"cross-site", "same-site"} else ""


class _Counted:
    """Counts a body as it comes, and notes whether the response has begun."""

    def __init__(self, receive: Receive, send: Send) -> None:
        self._receive, self._send = receive, send
        self.bytes, self.started = 0, False

    async def receive(self) -> Message:
        message = await self._receive()
        self.bytes += len(message.get("body", b""))
        if self.bytes > MOST_BODY:
            raise TooLargeError(MOST_BODY)
        return message

    async def send(self, message: Message) -> None:
        self.started = True
        await self._send(message)


def _with_headers(send: Send) -> Send:
    async def wrapped(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return wrapped
