"""Photos: only pictures, made smaller, without position or device unless asked for."""

import io

import pytest
from PIL import ExifTags, Image

from catchpan.calls import photo
from catchpan.calls.photo import LONGEST_SIDE, NotAnImageError, safe_photo

PLACE: dict[int, object] = {
    ExifTags.GPS.GPSLatitudeRef: "N",
    ExifTags.GPS.GPSLatitude: (12.0, 30.0, 36.0),
    ExifTags.GPS.GPSLongitudeRef: "W",
    ExifTags.GPS.GPSLongitude: (98.0, 15.0, 0.0),
}


def picture(size: tuple[int, int] = (64, 48), form: str = "JPEG", *, turned: bool = False) -> bytes:
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "an invented maker"
    if turned:
        exif[ExifTags.Base.Orientation] = 6
    exif.get_ifd(ExifTags.IFD.GPSInfo).update(PLACE)
    written = io.BytesIO()
    Image.new("RGB", size, (200, 30, 30)).save(written, form, exif=exif)
    return written.getvalue()


def exif_of(jpeg: bytes) -> Image.Exif:
    with Image.open(io.BytesIO(jpeg)) as opened:
        return opened.getexif()


def test_position_and_device_are_left_out() -> None:
    made = safe_photo(picture())
    assert b"invented maker" not in made.jpeg
    assert dict(exif_of(made.jpeg)) == {}
    assert (made.latitude, made.longitude) == (None, None)


def test_position_is_kept_when_asked_for_and_nothing_else() -> None:
    made = safe_photo(picture(), keep_position=True)
    assert made.latitude == pytest.approx(12.51)
    assert made.longitude == pytest.approx(-98.25)
    assert b"invented maker" not in made.jpeg
    place = exif_of(made.jpeg).get_ifd(ExifTags.IFD.GPSInfo)
    assert place[ExifTags.GPS.GPSLatitudeRef] == "N"


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_pictures_of_the_usual_kinds_become_jpeg(form: str) -> None:
    made = safe_photo(picture(form=form))
    with Image.open(io.BytesIO(made.jpeg)) as opened:
        assert (opened.format, opened.size) == ("JPEG", (64, 48))


def test_a_photo_is_turned_upright_and_made_smaller() -> None:
    made = safe_photo(picture((4000, 1000), turned=True))
    assert (made.width, made.height) == (LONGEST_SIDE // 4, LONGEST_SIDE)


def test_what_is_transparent_becomes_white() -> None:
    written = io.BytesIO()
    Image.new("RGBA", (8, 8), (0, 0, 0, 0)).save(written, "PNG")
    with Image.open(io.BytesIO(safe_photo(written.getvalue()).jpeg)) as opened:
        assert opened.getpixel((4, 4)) == (255, 255, 255)


@pytest.mark.parametrize(
    "content",
    [b"", b"no picture at all", b"%PDF-1.7", b"<svg xmlns='http://www.w3.org/2000/svg'/>"],
)
def test_what_is_no_picture_is_refused(content: bytes) -> None:
    with pytest.raises(NotAnImageError, match="send a photo as JPEG"):
        safe_photo(content)


@pytest.mark.parametrize("kept", [20, 200, 500])
def test_a_broken_picture_is_refused(kept: int) -> None:
    with pytest.raises(NotAnImageError):
        safe_photo(picture((640, 480))[:kept])


def test_a_picture_of_too_many_pixels_is_refused_before_it_is_decoded(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(photo, "MOST_PIXELS", 1000)
    with pytest.raises(NotAnImageError, match="pixels are too many"):
        safe_photo(picture())


def test_too_many_bytes_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photo, "MOST_BYTES", 100)
    with pytest.raises(NotAnImageError, match="bytes are too many"):
        safe_photo(picture())


def test_a_position_that_makes_no_sense_is_not_told() -> None:
    exif = Image.Exif()
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitudeRef] = "N"
    written = io.BytesIO()
    Image.new("RGB", (8, 8)).save(written, "JPEG", exif=exif)
    assert safe_photo(written.getvalue(), keep_position=True).latitude is None
