"""What a phone takes along: the catalog, compiled calls, and the search of words."""

import gzip
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from catchpan.calls.carried.container import read_parts
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.diagnosis.worlds.compiled import catalog_hash
from catchpan.diagnosis.worlds.description import Description
from catchpan.web.family_maker import FamilyMaker, StoppingError
from catchpan.web.shop import Shop
from tests.calls.one_home import OPTIONS, SYSTEM
from tests.web.conftest import StandingClock
from tests.web.trails import opening, send


def test_the_catalog_can_be_kept(device: TestClient, shop: Shop) -> None:
    answer = device.get("/api/1/catalog")
    found = answer.json()
    assert found["catalog"] == catalog_hash(shop.data)
    assert len(found["checks"]) == len(shop.data.checks)
    again = device.get("/api/1/catalog", headers={"if-none-match": answer.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_a_compiled_call_comes_compressed_and_can_be_kept(device: TestClient, shop: Shop) -> None:
    send(device, opening())
    answer = device.get("/api/1/calls/c1/compiled")
    assert answer.headers["content-encoding"] == "gzip"
    parts = read_parts(answer.content)
    assert parts.header["key"] == shop.maker.key(shop.description("c1"))
    assert parts.header["catalog"] == catalog_hash(shop.data)
    again = device.get(
        "/api/1/calls/c1/compiled", headers={"if-none-match": answer.headers["etag"]}
    )
    assert again.status_code == 304
    plain = device.get("/api/1/calls/c1/compiled", headers={"accept-encoding": "identity"})
    assert "content-encoding" not in plain.headers
    assert plain.content == answer.content


def test_it_is_made_once_and_kept_on_disk(device: TestClient, shop: Shop) -> None:
    send(device, opening())
    first = device.get("/api/1/calls/c1/compiled").content
    (file,) = (shop.maker.folder / "carried").glob(f"{shop.maker.key(shop.description('c1'))}*")
    assert gzip.decompress(file.read_bytes()) == first
    other = FamilyMaker(shop.maker.folder, shop.data, StandingClock(), size=shop.maker.size)
    assert gzip.decompress(other.carried(shop.description("c1"))[1]) == first


def test_what_is_said_of_the_system_changes_the_key(device: TestClient, shop: Shop) -> None:
    send(device, opening()[:1])
    some = shop.maker.key(shop.description("c1"))
    send(device, opening())
    assert shop.maker.key(shop.description("c1")) != some


def test_families_are_compiled_in_another_process(tmp_path: Path, shop: Shop) -> None:
    maker = FamilyMaker(tmp_path, shop.data, StandingClock(), size=Size(1, 20))
    known = Description(SYSTEM, OPTIONS, season="cooling")
    key = maker.key(known)
    assert maker.family_of_key(key) is None
    family = maker.family(known)
    assert maker.shelf.has(key)
    kept = maker.family_of_key(key)
    assert kept is not None
    assert kept.log_prior.tolist() == family.log_prior.tolist()


def test_nothing_is_compiled_once_the_server_stops(tmp_path: Path, shop: Shop) -> None:
    maker = FamilyMaker(tmp_path, shop.data, StandingClock(), size=Size(1, 20))
    maker.close()
    with pytest.raises(StoppingError, match="being stopped"):
        maker.carried(Description(SYSTEM, OPTIONS, season="cooling"))


@pytest.mark.parametrize("words", ["no cooling and water under the furnace", "", "zzz"])
def test_words_are_searched(device: TestClient, words: str) -> None:
    found = device.post("/api/1/symptoms", json={"words": words}).json()
    assert bool(found["matches"]) == ("cooling" in words)
    assert all(match["answer_id"] for match in found["sure"])


def test_the_openapi_document_names_every_route(device: TestClient) -> None:
    paths = device.get("/api/1/openapi.json").json()["paths"]
    for path in ("calls", "calls/{call_id}/events", "calls/{call_id}/guide", "catalog", "health"):
        assert f"/api/1/{path}" in paths
    assert not any(path.startswith(("/field", "/pair")) for path in paths)
