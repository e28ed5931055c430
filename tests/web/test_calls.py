"""The routes about calls: what is sent is kept once, whatever the order, and can be read again."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from catchpan.calls.guide import guide
from catchpan.calls.trail import fold
from catchpan.web.shop import Shop
from tests.web.trails import opening, record, send, visit

ONE_FOLDER = settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def test_the_first_events_open_a_call(device: TestClient) -> None:
    answer = send(device, opening())
    assert answer["new"] == 2
    (line,) = device.get("/api/1/calls").json()["calls"]
    assert (line["call_id"], line["status"], line["event_count"]) == ("c1", "open", 2)
    assert line["complaint_words"] == "no cooling"


def test_sending_again_changes_nothing(device: TestClient) -> None:
    send(device, opening())
    again = send(device, opening())
    assert again["new"] == 0
    assert len(again["events"]) == 2
    assert device.get("/api/1/calls/c1/events").json()["events"] == again["events"]


@ONE_FOLDER
@given(data=st.data())
def test_any_order_and_any_repeats_come_to_the_same(
    device: TestClient, data: st.DataObject
) -> None:
    call = f"c{data.draw(st.uuids()).hex}"
    events = [*opening(call), *visit(call)]
    events += [record(n, "noted", {"text": f"{n}"}, device="tablet", call=call) for n in (1, 5)]
    parcels = data.draw(
        st.lists(st.lists(st.sampled_from(events), min_size=1), max_size=6).map(
            lambda some: [*some, events]
        )
    )
    for parcel in data.draw(st.permutations(parcels)):
        found = send(device, parcel, call)
    order = sorted(events, key=lambda e: (e["lamport"], e["device_id"], e["seq"], e["id"]))
    assert [e["id"] for e in found["events"]] == [e["id"] for e in order]
    assert device.get(f"/api/1/calls/{call}").json()["closed"]["outcome"] == "fixed"


def test_two_devices_on_one_call_see_the_same(device: TestClient, shop: Shop) -> None:
    send(device, opening())
    phone = [record(3, "noted", {"text": "from the phone"})]
    tablet = [record(3, "noted", {"text": "from the tablet"}, device="tablet")]
    send(device, phone)
    both = send(device, tablet)
    assert [e["id"] for e in both["events"]][-2:] == ["c1.phone.3", "c1.tablet.3"]
    told = [entry["words"] for entry in device.get("/api/1/calls/c1").json()["timeline"]]
    assert told[-2:] == ["Note: from the phone", "Note: from the tablet"]
    assert len(shop.state("c1").notes) == 2


def test_clocks_that_differ_do_not_turn_cause_and_effect_round(device: TestClient) -> None:
    send(device, opening())
    early = record(3, "noted", {"text": "cause"}) | {"at_utc": "2031-01-01T00:00:00Z"}
    late = record(4, "withdrawn", {"event_id": early["id"]}, device="tablet")
    send(device, [late | {"at_utc": "1999-01-01T00:00:00Z"}])
    send(device, [early])
    assert device.get("/api/1/calls/c1").json()["withdrawn"] == [early["id"]]


@pytest.mark.parametrize(
    ("wrong", "where"),
    [
        ({"lamport": 0}, "events.1.lamport"),
        ({"at_utc": "yesterday"}, "events.1.at_utc"),
        ({"at_utc": "2025-07-04T15:00:00"}, "events.1.at_utc"),
        ({"kind": "Not A Kind"}, "events.1.kind"),
        ({"body": []}, "events.1.body"),
        ({"id": "../../x"}, "events.1.id"),
    ],
)
def test_an_event_that_cannot_be_one_refuses_the_whole_post(
    device: TestClient, wrong: dict[str, object], where: str
) -> None:
    first, second = opening()
    answer = device.post("/api/1/calls/c1/events", json={"events": [first, second | wrong]})
    assert answer.status_code == 422
    told = answer.json()
    assert (told["ok"], told["code"], told["where"]) == (False, "bad-value", where)
    assert told["hint"].startswith("wanted")
    assert device.get("/api/1/calls").json()["calls"] == []


def test_a_missing_field_is_named(device: TestClient) -> None:
    event = opening()[0]
    del event["seq"]
    told = device.post("/api/1/calls/c1/events", json={"events": [event]}).json()
    assert told["where"] == "events.0.event"
    assert "missing seq" in told["message"]


def test_an_event_of_another_call_is_refused(device: TestClient) -> None:
    answer = device.post("/api/1/calls/c2/events", json={"events": opening("c1")})
    assert answer.status_code == 422
    assert "belongs to call 'c1'" in answer.json()["message"]


def test_two_events_under_one_id_clash(device: TestClient) -> None:
    send(device, opening())
    other = opening()[0] | {"body": {"caller": "Somebody else"}}
    answer = device.post("/api/1/calls/c1/events", json={"events": [other]})
    assert (answer.status_code, answer.json()["code"]) == (409, "conflict")


def test_what_cannot_be_understood_is_kept_and_named(device: TestClient) -> None:
    send(device, opening())
    send(device, [record(3, "reading_taken", {"check_id": 7}), record(4, "drone_flown", {"m": 3})])
    call = device.get("/api/1/calls/c1").json()
    assert [u["event_id"] for u in call["unreadable"]] == ["c1.phone.3"]
    assert call["newer"] == ["c1.phone.4"]


def test_a_call_nobody_knows_is_not_found(device: TestClient) -> None:
    for path in ("", "/events", "/guide", "/compiled", "/summary", "/photos", "/ladder"):
        answer = device.get(f"/api/1/calls/nobody{path}")
        assert (answer.status_code, answer.json()["code"]) == (404, "not-found")


def test_a_call_without_a_system_has_no_guide_yet(device: TestClient) -> None:
    send(device, [record(1, "call_opened", {"caller": "A neighbor"})])
    answer = device.get("/api/1/calls/c1/guide")
    assert (answer.status_code, answer.json()["code"]) == (409, "no-system-yet")


def test_the_guide_is_that_of_the_calls(device: TestClient, shop: Shop) -> None:
    send(device, [*opening(), *visit()[:-1]])
    told = device.get("/api/1/calls/c1/guide").json()
    found = guide(shop.state("c1"), shop.data, shop.maker.family)
    assert told["phase"] == "visit"
    assert told["causes"]["no_fault"] == pytest.approx(found.causes.no_fault)
    assert [s["target"] for s in told["steps"]] == [s.target for s in found.plan.steps]
    assert told["mended"][0]["roots"][0]["id"] == "capacitor/herm-open"
    assert told["spent"]["minutes"] == found.spent.minutes


def test_the_guide_can_be_had_for_the_compiled_call_a_phone_holds(
    device: TestClient, shop: Shop
) -> None:
    send(device, opening())
    key = shop.maker.key(shop.description("c1"))
    plain = device.get("/api/1/calls/c1/guide").json()
    assert plain["compiled"] == key
    send(device, [record(3, "call_opened", {"site": {"age_years": 18}})])
    assert device.get("/api/1/calls/c1/guide").json()["compiled"] != key
    held = device.get(f"/api/1/calls/c1/guide?compiled={key}").json()
    assert held["compiled"] == key
    assert held["causes"]["roots"] == plain["causes"]["roots"]
    unknown = device.get("/api/1/calls/c1/guide?compiled=gone")
    assert unknown.status_code == 404


def test_the_wiring_has_two_columns_of_voltages(device: TestClient) -> None:
    send(device, opening())
    asked = {"demand": "cool", "fault": "low-voltage/fuse-blown"}
    drawn = device.get("/api/1/calls/c1/ladder", params=asked).json()
    lines = [line for circuit in drawn["circuits"] for line in circuit["lines"]]
    assert any(line["differs"] for line in lines)
    wrong = device.get("/api/1/calls/c1/ladder", params={"demand": "swim"})
    assert (wrong.status_code, wrong.json()["code"]) == (422, "unknown-name")


def test_the_summary_speaks_to_both(device: TestClient) -> None:
    send(device, [*opening(), *visit()])
    told = device.get("/api/1/calls/c1/summary").json()
    assert any("capacitor" in line for line in told["homeowner"])
    assert [part["heading"] for part in told["technician"]][:2] == ["System", "Complaint"]


def test_what_the_store_holds_is_what_was_sent(device: TestClient, shop: Shop) -> None:
    events = [*opening(), *visit()]
    send(device, reversed(events))
    assert fold(shop.trail("c1")).closed is not None
    assert len(shop.trail("c1").events) == len(events)
