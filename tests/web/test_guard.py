"""Who is let in, what is refused, and the one shape of everything that goes wrong."""

import pytest
from starlette.testclient import TestClient

from catchpan.calls.errors import CallClosedError
from catchpan.store.errors import StorageError
from catchpan.units.errors import BadValue, CatchpanError, UnknownName
from catchpan.web import guard
from catchpan.web.application import make_application
from catchpan.web.problem import NotFoundError, problem_of, status_of
from catchpan.web.shop import Secure, Shop
from tests.web.conftest import TOKEN
from tests.web.trails import opening, send

ANY = {"call_id": "c1", "photo_id": "p1", "name": "air-conditioner-furnace"}
SHAPE = {"ok", "code", "message", "where", "problem", "hint", "fields"}


def test_a_stranger_sees_nothing(stranger: TestClient, shop: Shop) -> None:
    inside = [path.format_map(ANY) for path in make_application(shop).openapi()["paths"]]
    assert len(inside) > 10
    pages = ["/", "/calls/c1", "/calls/c1/summary", "/api/1/openapi.json", "/docs", "/nothing"]
    for path in [p for p in inside if p != "/api/1/health"] + pages:
        answer = stranger.get(path)
        assert (answer.status_code, answer.json()["code"]) == (401, "not-paired"), path
    assert stranger.get("/api/1/health").json() == {"ok": True}


def test_a_wrong_code_lets_nobody_in(stranger: TestClient) -> None:
    answer = stranger.get("/pair/guessed")
    assert answer.status_code == 401
    assert "set-cookie" not in answer.headers


def test_the_code_lets_in_and_sends_on(stranger: TestClient) -> None:
    answer = stranger.get(f"/pair/{TOKEN}")
    assert (answer.status_code, answer.headers["location"]) == (303, "/field/")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert stranger.get("/api/1/health").json()["api"] == 1


def test_a_phone_is_shown_both_ways_in(stranger: TestClient, shop: Shop) -> None:
    assert stranger.get("/phone/guessed").status_code == 401
    plain = stranger.get(f"/phone/{TOKEN}", params={"to": "/field/#/call/c1"})
    assert plain.headers["location"] == f"/pair/{TOKEN}?to=%2Ffield%2F%23%2Fcall%2Fc1"
    assert stranger.get("/authority.crt").status_code == 404
    shop.secure = Secure("https://192.168.1.20:8322", b"a certificate")
    page = stranger.get(f"/phone/{TOKEN}").text
    assert f"https://192.168.1.20:8322/pair/{TOKEN}" in page
    answer = stranger.get("/authority.crt")
    assert answer.headers["content-type"] == "application/x-x509-ca-cert"


@pytest.mark.parametrize("to", ["https://example.org/", "//example.org", "/\\example.org", "x"])
def test_nobody_is_sent_to_another_site(stranger: TestClient, to: str) -> None:
    assert stranger.get(f"/pair/{TOKEN}", params={"to": to}).headers["location"] == "/"


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://example.org"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"origin": "http://testserver.example.org"},
    ],
)
def test_another_site_changes_nothing(device: TestClient, headers: dict[str, str]) -> None:
    answer = device.post("/api/1/calls/c1/events", json={"events": opening()}, headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (403, "other-origin")
    assert device.get("/api/1/calls").json()["calls"] == []


def test_our_own_pages_may_change(device: TestClient) -> None:
    own = {"origin": "http://testserver", "sec-fetch-site": "same-origin"}
    answer = device.post("/api/1/calls/c1/events", json={"events": opening()}, headers=own)
    assert answer.status_code == 200


def test_every_response_says_what_a_page_may_load(device: TestClient) -> None:
    for path in ("/", "/api/1/calls", "/field/", "/nothing-here"):
        headers = device.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert "access-control-allow-origin" not in headers
    assert device.get("/api/1/calls").headers["cache-control"] == "no-store"


def test_a_body_that_is_too_large_is_refused(
    device: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard, "MOST_BODY", 100)
    told = device.post("/api/1/calls/c1/events", json={"events": opening()})
    assert (told.status_code, told.json()["code"]) == (413, "too-large")


def test_a_body_that_hides_its_length_is_counted(
    device: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard, "MOST_BODY", 100)
    told = device.put("/api/1/calls/c1/photos/p1", content=iter([b"x" * 80, b"x" * 80]))
    assert (told.status_code, told.json()["code"]) == (413, "too-large")


@pytest.mark.parametrize(
    ("method", "path", "body", "status"),
    [
        ("GET", "/api/1/nothing", None, 404),
        ("DELETE", "/api/1/calls", None, 405),
        ("GET", "/api/1/calls?limit=many", None, 422),
        ("GET", "/api/1/calls?limit=0", None, 422),
        ("POST", "/api/1/calls/c1/events", b"{not json", 422),
        ("POST", "/api/1/calls/c1/events", b'{"events": 3}', 422),
        ("POST", "/api/1/calls/c1/events", b'{"events": [3]}', 422),
        ("POST", "/api/1/symptoms", b'{"words": 3}', 422),
        ("POST", "/api/1/symptoms", b'{"words": "hot", "archetype": "igloo"}', 422),
        ("GET", "/api/1/archetypes/igloo/compiled", None, 422),
        ("GET", "/api/1/archetypes/air-conditioner-furnace/compiled?season=spring", None, 422),
        ("GET", "/field/missing.js", None, 404),
        ("GET", "/static/../conftest.py", None, 404),
        ("GET", "/calls/nobody", None, 404),
    ],
)
def test_everything_wrong_has_one_shape(
    device: TestClient, method: str, path: str, body: bytes | None, status: int
) -> None:
    answer = device.request(
        method, path, content=body, headers={"content-type": "application/json"}
    )
    assert answer.status_code == status, answer.text
    told = answer.json()
    assert set(told) == SHAPE
    assert told["ok"] is False
    assert told["message"]
    assert told["problem"]


@pytest.mark.parametrize(
    ("error", "status", "code"),
    [
        (BadValue("pan", "'x' is no number", "a number"), 422, "bad-value"),
        (UnknownName("check", "x", ["y"]), 422, "unknown-name"),
        (CallClosedError("c1"), 409, "conflict"),
        (NotFoundError("call"), 404, "not-found"),
        (CatchpanError("odd"), 500, "broken-data"),
    ],
)
def test_every_kind_of_error_has_its_status(error: CatchpanError, status: int, code: str) -> None:
    assert status_of(error) == (status, code)
    assert problem_of(error).message == str(error)


def test_a_full_disk_is_said(
    device: TestClient, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_: object) -> int:
        raise StorageError(shop.app_folder, "the disk is full", "make room")

    send(device, opening())
    monkeypatch.setattr(shop.book.store, "append", refuse)
    answer = device.post("/api/1/calls/c1/events", json={"events": opening()})
    assert (answer.status_code, answer.json()["code"]) == (507, "storage")
    assert "make room" in answer.json()["message"]


def test_what_nobody_foresaw_is_told_without_its_inside(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("secret inside")

    monkeypatch.setattr(shop.book.store, "calls", fail)
    with TestClient(make_application(shop), raise_server_exceptions=False) as client:
        client.get(f"/pair/{TOKEN}", follow_redirects=False)
        answer = client.get("/api/1/calls")
    assert (answer.status_code, answer.json()["code"]) == (500, "internal")
    assert "secret" not in answer.text
    assert "default-src" in answer.headers.get("content-security-policy", "")
