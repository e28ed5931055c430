"""One shape for everything that can go wrong, and the HTTP status beside it."""

from __future__ import annotations

import logging
from http import HTTPStatus
from typing import TYPE_CHECKING, Any, Final

from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from catchpan.calls.described import NoSystemYetError
from catchpan.calls.photo import NotAnImageError
from catchpan.units.errors import (
    EXIT_BAD_INPUT,
    EXIT_CONFLICT,
    EXIT_STORAGE,
    CatchpanError,
    UnknownName,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fastapi import FastAPI, Request, Response

UNPROCESSABLE: Final = 422
"""HTTP 422, whose name differs between versions of Python."""

STATUS_OF_EXIT: Final[Mapping[int, tuple[int, str]]] = {
    EXIT_BAD_INPUT: (UNPROCESSABLE, "bad-value"),
    EXIT_CONFLICT: (HTTPStatus.CONFLICT, "conflict"),
    EXIT_STORAGE: (HTTPStatus.INSUFFICIENT_STORAGE, "storage"),
}
BROKEN: Final = (HTTPStatus.INTERNAL_SERVER_ERROR, "broken-data")

CODES: Final[Mapping[int, str]] = {
    HTTPStatus.UNAUTHORIZED: "not-paired",
    HTTPStatus.FORBIDDEN: "other-origin",
    HTTPStatus.NOT_FOUND: "not-found",
    HTTPStatus.METHOD_NOT_ALLOWED: "not-found",
    HTTPStatus.REQUEST_ENTITY_TOO_LARGE: "too-large",
}


class FieldProblem(BaseModel):
    """What is wrong with one field, and what would be right."""

    where: str
    problem: str
    hint: str = ""


class Problem(BaseModel):
    """What went wrong: the whole sentence, its parts, and every field at fault."""

    ok: bool = False
    code: str
    message: str
    where: str = ""
    problem: str
    hint: str = ""
    fields: list[FieldProblem] = []


class NotFoundError(CatchpanError):
    """There is nothing at the address."""

    def __init__(self, what: str, hint: str = "") -> None:
        super().__init__(f"there is no {what}", hint=hint)


class NotPairedError(CatchpanError):
    """The device was not let in."""

    def __init__(self) -> None:
        super().__init__(
            "this device was not let in",
            hint="open the address with the code that the server printed, or scan its QR code",
        )


class OtherOriginError(CatchpanError):
    """Another site wants to change something here."""

    def __init__(self, origin: str) -> None:
        super().__init__(f"the request comes from {origin[:80]!r}", hint="use our own pages")


class TooLargeError(CatchpanError):
    """The body of a request is too large."""

    def __init__(self, most: int) -> None:
        super().__init__("the request is too large", hint=f"send at most {most:,} bytes")


OWN_STATUS: Final[Mapping[type[CatchpanError], tuple[int, str]]] = {
    NotFoundError: (HTTPStatus.NOT_FOUND, "not-found"),
    NotPairedError: (HTTPStatus.UNAUTHORIZED, "not-paired"),
    OtherOriginError: (HTTPStatus.FORBIDDEN, "other-origin"),
    TooLargeError: (HTTPStatus.REQUEST_ENTITY_TOO_LARGE, "too-large"),
    NotAnImageError: (HTTPStatus.UNSUPPORTED_MEDIA_TYPE, "not-an-image"),
    NoSystemYetError: (HTTPStatus.CONFLICT, "no-system-yet"),
    UnknownName: (UNPROCESSABLE, "unknown-name"),
}


def status_of(error: CatchpanError) -> tuple[int, str]:
    """Return the HTTP status and the code of an error."""
    for kind, found in OWN_STATUS.items():
        if isinstance(error, kind):
            return found
    return STATUS_OF_EXIT.get(error.exit_code, BROKEN)


def problem_of(error: CatchpanError) -> Problem:
    """Return an error in the one shape."""
    named = FieldProblem(where=error.where, problem=error.message, hint=error.hint)
    return Problem(
        code=status_of(error)[1],
        message=str(error),
        where=error.where,
        problem=error.message,
        hint=error.hint,
        fields=[named] if error.where else [],
    )


def answer(error: CatchpanError) -> JSONResponse:
    """Return the response to an error."""
    return JSONResponse(problem_of(error).model_dump(), status_of(error)[0])


def tell_problems(app: FastAPI) -> None:
    """Let an application answer everything that goes wrong in the one shape."""
    app.add_exception_handler(CatchpanError, _ours)
    app.add_exception_handler(RequestValidationError, _invalid)
    app.add_exception_handler(HTTPException, _http)


def answer_to(error: Exception) -> Response:
    """Return the response to anything, foreseen or not; what is not is logged, not told."""
    return answer(error) if isinstance(error, CatchpanError) else _unforeseen(error)


def _ours(_: Request, error: Exception) -> Response:
    return answer_to(error)


def _invalid(_: Request, error: Exception) -> Response:
    found = error.errors() if isinstance(error, RequestValidationError) else []
    fields = [_field(item) for item in found]
    first = fields[0] if fields else FieldProblem(where="", problem=str(error))
    told = Problem(
        code="bad-value",
        message=f"{first.where}: {first.problem}",
        fields=fields,
        **first.model_dump(),
    )
    return JSONResponse(told.model_dump(), UNPROCESSABLE)


def _field(item: Mapping[str, Any]) -> FieldProblem:
    places = [str(part) for part in item["loc"] if part not in {"body", "query", "path"}]
    given = item.get("input")
    shown = f"{str(given)[:60]!a}: " if isinstance(given, str | int | float) else ""
    return FieldProblem(where=".".join(places) or "body", problem=f"{shown}{item['msg']}")


def _http(_: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else BROKEN[0]
    text = error.detail if isinstance(error, HTTPException) else str(error)
    told = Problem(code=CODES.get(status, "bad-value"), message=str(text), problem=str(text))
    return JSONResponse(told.model_dump(), status)


def _unforeseen(error: Exception) -> Response:
    logging.getLogger("catchpan.web").error("a request failed", exc_info=error)
    text = "something went wrong in the server"
    hint = "try again; what was entered is kept on this device"
    told = Problem(code="internal", message=f"{text}; {hint}", problem=text, hint=hint)
    return JSONResponse(told.model_dump(), HTTPStatus.INTERNAL_SERVER_ERROR)
