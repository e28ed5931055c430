"""Photos over the wire: only images, without position unless asked for, each kept once."""

import io

import pytest
from PIL import Image
from starlette.testclient import TestClient

from catchpan.calls import photo
from tests.calls.test_photo import exif_of, picture
from tests.web.trails import opening, record, send

PATH = "/api/1/calls/c1/photos/p1"


def test_a_photo_follows_its_event(device: TestClient) -> None:
    send(device, opening())
    taken = {"photo_id": "p1", "words": "the pan", "step_id": "drain/pan-look"}
    send(device, [record(3, "photo_taken", taken)])
    (line,) = device.get("/api/1/calls/c1/photos").json()["photos"]
    assert (line["words"], line["has_image"]) == ("the pan", False)
    assert device.get(PATH).status_code == 404
    kept = device.put(PATH, content=picture()).json()
    assert (kept["width"], kept["height"], kept["latitude"]) == (64, 48, None)
    assert device.get("/api/1/calls/c1").json()["photos"][0]["has_image"] is True
    answer = device.get(PATH)
    assert answer.headers["content-type"] == "image/jpeg"
    assert dict(exif_of(answer.content)) == {}
    assert b"invented maker" not in answer.content


def test_a_photo_may_come_before_its_event(device: TestClient) -> None:
    assert device.put(PATH, content=picture()).status_code == 200
    assert device.get(PATH).status_code == 200


def test_sending_again_changes_nothing(device: TestClient) -> None:
    device.put(PATH, content=picture())
    first = device.get(PATH).content
    again = device.put(PATH, content=picture((200, 100)))
    assert again.status_code == 200
    assert device.get(PATH).content == first


def test_the_position_stays_when_asked_for(device: TestClient) -> None:
    kept = device.put(PATH, params={"keep_position": "true"}, content=picture()).json()
    assert kept["latitude"] == pytest.approx(12.51)
    assert device.get(PATH).content.find(b"Exif") > 0


@pytest.mark.parametrize("content", [b"", b"GIF89a", b"<svg/>", b"MZ\x90\0", picture()[:300]])
def test_what_is_no_image_is_refused(device: TestClient, content: bytes) -> None:
    answer = device.put(PATH, content=content, headers={"content-type": "image/jpeg"})
    assert (answer.status_code, answer.json()["code"]) == (415, "not-an-image")
    assert "JPEG, PNG or WebP" in answer.json()["hint"]
    assert device.get(PATH).status_code == 404


def test_a_huge_picture_is_refused(device: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photo, "MOST_PIXELS", 1000)
    assert device.put(PATH, content=picture()).status_code == 415


@pytest.mark.parametrize("name", ["..%2Fx", "%2E%2E", "a%00b", "x" * 65])
def test_a_name_that_leads_elsewhere_is_refused(device: TestClient, name: str) -> None:
    answer = device.put(f"/api/1/calls/c1/photos/{name}", content=picture())
    assert answer.status_code in {404, 405, 422}


def test_what_comes_back_is_a_whole_picture(device: TestClient) -> None:
    device.put(PATH, content=picture((3000, 2000)))
    with Image.open(io.BytesIO(device.get(PATH).content)) as opened:
        opened.load()
        assert opened.size == (1920, 1280)
