"""The routes about photos: the list, the upload, the image."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool

from catchpan.calls.photo import safe_photo
from catchpan.web.call_routes import photo_lines
from catchpan.web.problem import NotFoundError
from catchpan.web.shop import TheShop

router = APIRouter(tags=["photos"])

IMAGE_BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"image/*": {"schema": {"type": "string", "format": "binary"}}},
    }
}


class PhotoKept(BaseModel):
    """A photo that has arrived."""

    photo_id: str
    width: int
    height: int
    bytes: int
    latitude: float | None = None
    longitude: float | None = None


@router.get("/calls/{call_id}/photos")
def list_photos(shop: TheShop, call_id: str) -> dict[str, Any]:
    """List the photos of a call, with whether their images have arrived."""
    return {"photos": photo_lines(shop, call_id)}


@router.put("/calls/{call_id}/photos/{photo_id}", openapi_extra=IMAGE_BODY)
async def put_photo(
    shop: TheShop,
    request: Request,
    call_id: str,
    photo_id: str,
    *,
    keep_position: Annotated[bool, Query()] = False,
) -> PhotoKept:
    """Keep the image of a photo: decoded and encoded anew, without where it was taken."""
    content = await request.body()
    made = await run_in_threadpool(safe_photo, content, keep_position=keep_position)
    await run_in_threadpool(shop.photos.put, call_id, photo_id, made.jpeg)
    return PhotoKept(
        photo_id=photo_id,
        width=made.width,
        height=made.height,
        bytes=len(made.jpeg),
        latitude=made.latitude,
        longitude=made.longitude,
    )


@router.get("/calls/{call_id}/photos/{photo_id}", response_class=Response)
def get_photo(shop: TheShop, call_id: str, photo_id: str) -> Response:
    """Return the image of a photo."""
    found = shop.photos.get(call_id, photo_id)
    if found is None:
        raise NotFoundError(f"image of photo {photo_id[:64]!r}", "it may not have arrived yet")
    kept = {"Cache-Control": "private, max-age=86400, immutable"}
    return Response(found, media_type="image/jpeg", headers=kept)
