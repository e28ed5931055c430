"""The field app's own files, and the page that stands in for them while they are not built."""

import mimetypes
from pathlib import Path
from typing import Final

from fastapi import APIRouter, Response
from fastapi.responses import FileResponse, HTMLResponse

from catchpan.web.problem import NotFoundError
from catchpan.web.shop import Shop, TheShop

INDEX: Final = "index.html"
FOREVER: Final = "public, max-age=31536000, immutable"
ANOTHER_LOOK: Final = "no-cache"

NOT_BUILT: Final = (
    "<!doctype html><html lang=en><meta charset=utf-8><title>catchpan</title>"
    "<h1>The field app is not built</h1><p>In a checkout, <code>make run</code> builds it; "
    "<code>python -m tools.field_app</code> builds it alone."
)

TYPES: Final = {".webmanifest": "application/manifest+json", ".js": "text/javascript"}

router = APIRouter(include_in_schema=False)


@router.get("/field/{path:path}")
def field_file(shop: TheShop, path: str) -> Response:
    """Return a file of the field app; any other page of it is its one page."""
    file = _file(shop, path)
    if file is None and Path(path).suffix:
        raise NotFoundError(f"file {path[:80]!r}")
    file = file or _file(shop, INDEX)
    if file is None:
        return HTMLResponse(NOT_BUILT, 503)
    kept = FOREVER if path.startswith("assets/") else ANOTHER_LOOK
    kind = TYPES.get(file.suffix) or mimetypes.guess_type(file.name)[0]
    return FileResponse(file, media_type=kind, headers={"Cache-Control": kept})


@router.get("/field")
def field_start(shop: TheShop) -> Response:
    """Return the field app's page."""
    return field_file(shop, INDEX)


def _file(shop: Shop, path: str) -> Path | None:
    """Return a file below the app's folder; None for anything that leads elsewhere."""
    folder = shop.app_folder.resolve()
    try:
        file = (folder / path).resolve()
        return file if file.is_relative_to(folder) and file.is_file() else None
    except (OSError, ValueError):
        return None
