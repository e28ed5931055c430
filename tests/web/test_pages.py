"""The office pages and the field app's files."""

import pytest
from starlette.testclient import TestClient

from catchpan.web.shop import Shop
from tests.calls.test_photo import picture
from tests.web.trails import opening, record, send, visit


def test_the_list_shows_the_calls_and_escapes_their_words(device: TestClient) -> None:
    assert "No calls yet" in device.get("/").text
    said = {"caller": "<script>alert(1)</script>", "complaint_words": "hot & wet"}
    send(device, [record(1, "call_opened", said)])
    page = device.get("/").text
    assert "hot &amp; wet" in page
    assert "<script>" not in page


def test_a_call_shows_its_trail_and_photos(device: TestClient, shop: Shop) -> None:
    send(device, [*opening(), *visit()])
    send(device, [record(20, "photo_taken", {"photo_id": "p1", "words": "bulged top"})])
    page = device.get("/calls/c1").text
    assert "The image has not arrived yet" in page
    assert shop.data.repairs["electrical/replace-run-capacitor"].title in page
    device.put("/api/1/calls/c1/photos/p1", content=picture())
    assert 'src="/api/1/calls/c1/photos/p1"' in device.get("/calls/c1").text


def test_the_summary_page_has_words_for_the_homeowner(device: TestClient) -> None:
    send(device, [*opening(), *visit()])
    page = device.get("/calls/c1/summary").text
    assert "Your service call" in page
    assert "What was wrong" in page
    assert " min at $" not in page


def test_the_file_part_has_what_was_read_and_words_for_what_was_asked(
    device: TestClient, shop: Shop
) -> None:
    site = {
        "system_is_a_guess": False,
        "dangers_asked": True,
        "looked_for:latent/co-alarm-missing": "found",
    }
    send(device, [*opening(), *visit(), record(30, "call_opened", {"site": site})])
    page = device.get("/calls/c1/file").text
    assert " min at $" in page
    reading = next(e for e in shop.state("c1").readings)
    assert shop.data.checks[reading.body.check_id].title in page
    trail = device.get("/calls/c1").text
    assert "Asked about dangers" in trail
    assert f"{shop.data.faults['latent/co-alarm-missing'].title}: found" in trail
    for raw in ("True", "False", "latent/co-alarm", "UTC"):
        assert raw not in trail


def test_a_call_without_a_system_has_no_summary_yet(device: TestClient) -> None:
    send(device, [record(1, "call_opened", {"caller": "A neighbor"})])
    assert "No summary yet" in device.get("/calls/c1/summary").text


def test_the_field_app_is_one_page_with_files(stranger: TestClient, shop: Shop) -> None:
    (shop.app_folder / "index.html").write_text("<!doctype html><title>app</title>")
    (shop.app_folder / "assets").mkdir()
    (shop.app_folder / "assets" / "a.js").write_text("1")
    for path in ("/field", "/field/", "/field/index.html", "/field/call/c1"):
        answer = stranger.get(path)
        assert answer.status_code == 200, path
        assert "<title>app" in answer.text
        assert answer.headers["cache-control"] == "no-cache"
    script = stranger.get("/field/assets/a.js")
    assert "immutable" in script.headers["cache-control"]
    assert script.headers["content-type"].startswith("text/javascript")


def test_a_field_app_that_is_not_built_says_so(stranger: TestClient) -> None:
    answer = stranger.get("/field/")
    assert answer.status_code == 503
    assert "make run" in answer.text


@pytest.mark.parametrize("path", ["..%2Fcalls.sqlite3", "..%2f..%2fetc%2fpasswd", "a%00.js"])
def test_nothing_outside_the_field_app_is_served(
    stranger: TestClient, shop: Shop, path: str
) -> None:
    (shop.app_folder / "index.html").write_text("<!doctype html><title>app</title>")
    answer = stranger.get(f"/field/{path}")
    assert answer.status_code in {200, 404}
    assert answer.status_code == 404 or "<title>app" in answer.text
