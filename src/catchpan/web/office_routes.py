"""The office pages: letting a device in, the calls, one call, and the summary to print."""

from importlib import resources
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlencode

import jinja2
from fastapi import APIRouter, Request, Response
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse

from catchpan.calls.described import NoSystemYetError
from catchpan.calls.summary import homeowner_summary, technician_summary
from catchpan.web.call_routes import call_lines, photo_lines, timeline
from catchpan.web.guard import COOKIE_SECONDS, cookie_name, is_token
from catchpan.web.problem import NotFoundError, NotPairedError
from catchpan.web.shop import Shop, TheShop

MOST_LISTED: Final = 200
STATIC: Final = Path(str(resources.files("catchpan.web"))) / "static"
PAGES: Final = jinja2.Environment(
    loader=jinja2.PackageLoader("catchpan.web"),
    autoescape=True,
    trim_blocks=True,
    lstrip_blocks=True,
    undefined=jinja2.StrictUndefined,
)
PAGES.filters["day"] = lambda moment: f"{moment.astimezone():%Y-%m-%d %H:%M}"

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


def page(name: str, **values: Any) -> HTMLResponse:
    """Return a page made from a template."""
    return HTMLResponse(PAGES.get_template(name).render(**values))


@router.get("/pair/{token}")
def pair(shop: TheShop, request: Request, token: str, to: str = "/field/") -> Response:
    """Let a device in that shows the token, and send it on."""
    if shop.token and not is_token(token, shop.token):
        raise NotPairedError
    target = to if to.startswith("/") and not to.startswith(("//", "/\\")) else "/"
    response = RedirectResponse(target, 303)
    response.set_cookie(
        cookie_name(request),
        token,
        max_age=COOKIE_SECONDS,
        httponly=True,
        samesite="strict",
        secure=request.url.scheme == "https",
    )
    return response


@router.get("/phone/{token}")
def phone_page(shop: TheShop, token: str, to: str = "/field/") -> Response:
    """Show how a phone is let in: at once, or so that the app stays without signal."""
    if shop.token and not is_token(token, shop.token):
        raise NotPairedError
    way = f"/pair/{token}?{urlencode({'to': to})}"
    if shop.secure is None:
        return RedirectResponse(way, 303)
    return page("phone.html", way=way, secure=f"{shop.secure.address}{way}")


@router.get("/authority.crt")
def authority(shop: TheShop) -> Response:
    """Return the certificate of the authority, as phones install it."""
    if shop.secure is None:
        raise NotFoundError("authority of our own", "this server answers without one")
    return Response(shop.secure.authority_pem, media_type="application/x-x509-ca-cert")


@router.get("/")
def calls_page(shop: TheShop) -> HTMLResponse:
    """Show the calls."""
    titles = {kind.id: kind.title for kind in shop.data.archetypes.values()}
    return page("calls.html", calls=call_lines(shop, MOST_LISTED), titles=titles)


@router.get("/calls/{call_id}")
def call_page(shop: TheShop, call_id: str) -> HTMLResponse:
    """Show one call: what was said and done, its photos."""
    state = shop.state(call_id)
    system = shop.data.archetypes.get(state.archetype or "")
    return page(
        "call.html",
        call_id=call_id,
        opened=state.opened,
        closed=state.closed,
        system=system.title if system else "not known yet",
        timeline=timeline(shop, call_id),
        photos=photo_lines(shop, call_id),
    )


@router.get("/calls/{call_id}/summary")
def summary_page(shop: TheShop, call_id: str) -> HTMLResponse:
    """Show the end of a call to the homeowner, on paper as well."""
    return _end_page(shop, call_id, "summary.html")


@router.get("/calls/{call_id}/file")
def file_page(shop: TheShop, call_id: str) -> HTMLResponse:
    """Show the end of a call as it goes to the file."""
    return _end_page(shop, call_id, "file.html")


def _end_page(shop: Shop, call_id: str, name: str) -> HTMLResponse:
    state = shop.state(call_id)
    try:
        _, found = shop.guide(call_id)
    except NoSystemYetError:
        return page("no_summary.html", call_id=call_id)
    return page(
        name,
        call_id=call_id,
        opened=state.opened,
        day=state.timeline[0].at_utc,
        homeowner=homeowner_summary(found),
        technician=technician_summary(found),
        photos=[p for p in photo_lines(shop, call_id) if p["has_image"]],
    )


@router.get("/static/{name}")
def static_file(name: str) -> Response:
    """Return a file of the office pages' look."""
    file = STATIC / name
    if file.parent != STATIC or not file.is_file():
        raise NotFoundError(f"file {name[:80]!r}")
    return FileResponse(file, headers={"Cache-Control": "no-cache"})
