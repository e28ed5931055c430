"""The routes about what a phone takes along: catalog, search of words, compiled calls, health."""

import gzip
from collections.abc import Callable
from importlib.metadata import version
from typing import Annotated, Any, Final, Literal

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, Field

from catchpan.calls.carried.catalog_file import catalog_file
from catchpan.calls.carried.container import FORM
from catchpan.calls.event import utc_text
from catchpan.catalog.system import archetype
from catchpan.diagnosis.cases.symptom_search import search_symptoms, sure_matches
from catchpan.diagnosis.worlds.compiled import catalog_hash
from catchpan.diagnosis.worlds.description import Description
from catchpan.web.family_maker import program_tag
from catchpan.web.guard import shows_token
from catchpan.web.shop import Shop, TheShop

MEDIA_TYPE: Final = "application/vnd.catchpan.compiled"
ANOTHER_LOOK: Final = "private, no-cache"

Make = Callable[[Description], tuple[str, bytes]]

router = APIRouter(tags=["to take along"])


class CallersWords(BaseModel):
    """What a caller said, and the kind of system where it is known."""

    words: Annotated[str, Field(max_length=5000)]
    archetype: str = ""


class Found(BaseModel):
    """A question that a caller's words seem to answer."""

    check_id: str
    title: str
    answer_id: str
    label: str
    score: float
    words: str


class Symptoms(BaseModel):
    """What a caller's words may mean, and what can be taken as meant."""

    matches: list[Found]
    sure: list[Found]


@router.get("/health")
def health(shop: TheShop, request: Request) -> dict[str, Any]:
    """Say that the server is there; more to a device that was let in."""
    if shop.token and not shows_token(request, shop.token):
        return {"ok": True}
    return {
        "ok": True,
        "version": version("catchpan"),
        "api": 1,
        "catalog": catalog_hash(shop.data),
        "compiled_form": FORM,
        "time_utc": utc_text(shop.book.clock.now_utc()),
    }


@router.get("/catalog")
def get_catalog(shop: TheShop, request: Request, response: Response) -> Any:
    """Return all texts of the catalog, and what entering a reading needs."""
    tag = f'"{catalog_hash(shop.data)[:24]}-{program_tag()}"'
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers={"ETag": tag})
    response.headers["ETag"] = tag
    response.headers["Cache-Control"] = ANOTHER_LOOK
    return catalog_file(shop.data)


@router.post("/symptoms")
def find_symptoms(shop: TheShop, said: CallersWords) -> Symptoms:
    """Find what a caller's words may mean."""
    if said.archetype:
        archetype(said.archetype, shop.data)
    matches = search_symptoms(said.words, shop.data, archetype=said.archetype)
    sure = sure_matches(said.words, shop.data, archetype=said.archetype)
    return Symptoms(
        matches=[Found(**vars(match)) for match in matches],
        sure=[Found(**vars(match)) for match in sure],
    )


@router.get("/calls/{call_id}/compiled", response_class=Response)
def get_compiled_call(shop: TheShop, request: Request, call_id: str) -> Response:
    """Return the compiled call that fits what is known of a call's system."""
    return _carried(shop, request, shop.description(call_id), shop.maker.carried)


@router.get("/archetypes/{name}/compiled", response_class=Response)
def get_compiled_archetype(
    shop: TheShop,
    request: Request,
    name: str,
    season: Annotated[Literal["cooling", "heating"] | None, Query()] = None,
) -> Response:
    """Return a compiled call for a system of which only the kind is known."""
    archetype(name, shop.data)
    return _carried(shop, request, Description(name, season=season), shop.maker.carried_ahead)


def _carried(shop: Shop, request: Request, description: Description, make: Make) -> Response:
    tag = f'"{shop.maker.key(description)}-{program_tag()}"'
    headers = {"ETag": tag, "Cache-Control": ANOTHER_LOOK, "Vary": "Accept-Encoding"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    key, packed = make(description)
    headers["X-Catchpan-Key"] = key
    if "gzip" not in request.headers.get("accept-encoding", ""):
        return Response(gzip.decompress(packed), headers=headers, media_type=MEDIA_TYPE)
    headers["Content-Encoding"] = "gzip"
    return Response(packed, headers=headers, media_type=MEDIA_TYPE)
