"""Making a photo safe to keep: decoded, turned upright, made smaller, encoded anew.

Nothing of the file that came is kept but its picture: no position, no device, no hidden parts.
Where the photo was taken is read out only when asked for.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from typing import ClassVar, Final

from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

from catchpan.units.errors import EXIT_BAD_INPUT, CatchpanError

MOST_BYTES: Final = 20_000_000
"""Size of a photo as it comes, at most; assumed: above what telephones make."""

MOST_PIXELS: Final = 64_000_000
LONGEST_SIDE: Final = 1920
QUALITY: Final = 82
READ: Final = ("JPEG", "PNG", "WEBP", "GIF", "BMP", "TIFF")


class NotAnImageError(CatchpanError):
    """What was sent as a photo cannot be used as one."""

    exit_code: ClassVar[int] = EXIT_BAD_INPUT

    def __init__(self, problem: str) -> None:
        wanted = "send a photo as JPEG, PNG or WebP, at most 20 MB and 64 million pixels"
        super().__init__(problem, hint=wanted, where="photo")


@dataclass(frozen=True)
class Photo:
    """A photo that is safe to keep.

    Parameters
    ----------
    jpeg : bytes
        The picture, upright, its longer side at most 1920 pixels.
    width, height : int
        In pixels.
    latitude, longitude : float or None
        Where it was taken [degrees], when that was asked for and the photo says so.
    """

    jpeg: bytes
    width: int
    height: int
    latitude: float | None = None
    longitude: float | None = None


def safe_photo(content: bytes, *, keep_position: bool = False) -> Photo:
    """Return a photo that is safe to keep.

    Parameters
    ----------
    content : bytes
        The file as it came.
    keep_position : bool, optional
        Whether to write where it was taken into the new file as well.

    Raises
    ------
    NotAnImageError
        For anything that is no picture, is damaged, or is too large.
    """
    if len(content) > MOST_BYTES:
        raise NotAnImageError(f"{len(content):,} bytes are too many")
    try:
        with warnings.catch_warnings(), Image.open(io.BytesIO(content), formats=READ) as opened:
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            if opened.width * opened.height > MOST_PIXELS:
                raise NotAnImageError(f"{opened.width} by {opened.height} pixels are too many")
            return _encoded(opened, keep_position=keep_position)
    except (UnidentifiedImageError, Image.DecompressionBombError) as error:
        raise NotAnImageError("this is no picture that can be read") from error
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombWarning) as error:
        raise NotAnImageError("the picture is damaged") from error


def _encoded(opened: Image.Image, *, keep_position: bool) -> Photo:
    exif = opened.getexif()
    place = exif.get_ifd(ExifTags.IFD.GPSInfo) if keep_position else {}
    upright = ImageOps.exif_transpose(opened)
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    plain = Image.new("RGB", upright.size, "white")
    plain.paste(upright.convert("RGBA"), mask=upright.convert("RGBA").getchannel("A"))
    kept = Image.Exif()
    if place:
        kept.get_ifd(ExifTags.IFD.GPSInfo).update(place)
    written = io.BytesIO()
    plain.save(written, "JPEG", quality=QUALITY, exif=kept if place else b"")
    latitude = _degrees(place, ExifTags.GPS.GPSLatitude, ExifTags.GPS.GPSLatitudeRef)
    longitude = _degrees(place, ExifTags.GPS.GPSLongitude, ExifTags.GPS.GPSLongitudeRef)
    return Photo(written.getvalue(), *plain.size, latitude, longitude)


def _degrees(place: dict[int, object], value: int, side: int) -> float | None:
    """Return an angle told in degrees, minutes and seconds; None where it is not told soundly."""
    parts = place.get(value)
    if not isinstance(parts, tuple) or len(parts) != 3:
        return None
    try:
        whole, minutes, seconds = (float(part) for part in parts)
        angle = whole + minutes / 60.0 + seconds / 3600.0
    except (ValueError, ZeroDivisionError):
        return None
    return -angle if str(place.get(side, "")).upper().startswith(("S", "W")) else angle
