"""Putting the server together from its routes."""

from __future__ import annotations

from contextlib import asynccontextmanager
from http import HTTPStatus
from importlib.metadata import version
from typing import TYPE_CHECKING, Any, Final

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware

from catchpan.web import (
    call_routes,
    field_routes,
    office_routes,
    photo_routes,
    take_along_routes,
)
from catchpan.web.guard import Guard
from catchpan.web.problem import UNPROCESSABLE, Problem, tell_problems

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from catchpan.web.shop import Shop

API: Final = "/api/1"
PROBLEMS: Final[dict[int | str, dict[str, Any]]] = {
    code: {"model": Problem}
    for code in (
        HTTPStatus.UNAUTHORIZED,
        HTTPStatus.NOT_FOUND,
        HTTPStatus.CONFLICT,
        UNPROCESSABLE,
    )
}


def make_application(shop: Shop) -> FastAPI:
    """Return the application that serves a shop.

    Parameters
    ----------
    shop : Shop
        What its routes work with; closed by whoever made it.
    """

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        yield
        shop.maker.close()

    app = FastAPI(
        title="catchpan",
        version=version("catchpan"),
        openapi_url=f"{API}/openapi.json",
        docs_url=None,
        redoc_url=None,
        lifespan=life,
    )
    app.state.shop = shop
    tell_problems(app)
    for routes in (take_along_routes, call_routes, photo_routes):
        app.include_router(routes.router, prefix=API, responses=PROBLEMS)
    app.include_router(field_routes.router)
    app.include_router(office_routes.router)
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=6)
    app.add_middleware(Guard, token=shop.token)
    return app
