"""Events as devices make them, for the tests of the server."""

from collections.abc import Iterable
from typing import Any

from starlette.testclient import TestClient

from tests.calls.one_home import OPTIONS, SYSTEM

AT = "2025-07-04T15:00:00.000Z"


def record(
    number: int, kind: str, body: dict[str, Any], *, device: str = "phone", call: str = "c1"
) -> dict[str, Any]:
    return {
        "id": f"{call}.{device}.{number}",
        "call_id": call,
        "device_id": device,
        "seq": number,
        "lamport": number,
        "at_utc": AT,
        "kind": kind,
        "body": body,
    }


def opening(call: str = "c1") -> list[dict[str, Any]]:
    said = {
        "caller": "A neighbor",
        "complaint_words": "no cooling",
        "archetype": SYSTEM,
        "site": {"season": "cooling"},
    }
    return [
        record(1, "call_opened", said, call=call),
        record(2, "system_described", {"settings": OPTIONS}, call=call),
    ]


def visit(call: str = "c1") -> list[dict[str, Any]]:
    """A call in which a run capacitor is found dead, replaced and proven."""
    bodies: list[tuple[str, dict[str, Any]]] = [
        ("went_to", {"place": "site"}),
        ("went_to", {"place": "outdoor_unit"}),
        ("power_set", {"where": "disconnect", "on": False}),
        ("reading_taken", {"check_id": "capacitor/herm-microfarad", "unit": "µF", "value": 0.5,
                           "si_value": 0.5e-6}),
        ("repair_done", {"repair_id": "electrical/replace-run-capacitor", "outcome": "worked"}),
        ("proof_done", {"proof_id": "system", "result": "pass"}),
        ("closed", {"outcome": "fixed", "causes": ["capacitor/herm-open"]}),
    ]  # fmt: skip
    return [record(n, kind, body, call=call) for n, (kind, body) in enumerate(bodies, start=3)]


def send(client: TestClient, events: Iterable[dict[str, Any]], call: str = "c1") -> dict[str, Any]:
    answer = client.post(f"/api/1/calls/{call}/events", json={"events": list(events)})
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found
