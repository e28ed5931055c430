"""A small invented shop to look around in; `demo_shop.toml` holds its calls."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib import resources
from typing import TYPE_CHECKING, Any, Final

from catchpan.calls.described import usual_setting
from catchpan.calls.known_names import name_check
from catchpan.calls.proving import judge, measured_proof
from catchpan.calls.trail import Trail, fold
from catchpan.calls.use_case import Answer, CallBook, Number
from catchpan.diagnosis.cases.measured_value import read_value, scale_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catchpan.calls.ports import EventStore
    from catchpan.catalog.entry import CheckEntry
    from catchpan.catalog.load import Catalog

DEVICE: Final = "demo-van"
Act = dict[str, Any]


def fill_with_demo(store: EventStore, data: Catalog, now_utc: datetime) -> None:
    """Put the demo's calls into a store that lacks them; one call is always left open.

    Parameters
    ----------
    store : EventStore
        Where the calls go.
    data : Catalog
        Knows the names of checks and repairs.
    now_utc : datetime
        The present moment; the calls came in before it.
    """
    calls: list[Mapping[str, Any]] = read_demo()["call"]
    there = {line.call_id for line in store.calls()}
    for call in calls:
        if call["id"] not in there:
            _tell(store, data, call, call["id"], now_utc)
    last = calls[-1]
    again = [name for name in there if name.startswith(last["id"])]
    if again and all(fold(Trail(name, store.events_of(name))).closed for name in again):
        _tell(store, data, last, f"{last['id']}-{len(again) + 1}", now_utc)


def read_demo() -> dict[str, Any]:
    """Return the demo's calls as they stand in the file."""
    text = resources.files("catchpan.calls").joinpath("demo_shop.toml").read_text("utf-8")
    return tomllib.loads(text)


def _tell(
    store: EventStore, data: Catalog, call: Mapping[str, Any], call_id: str, now_utc: datetime
) -> None:
    hands = _Hands(now_utc - timedelta(minutes=call["before_minutes"]))
    book = CallBook(store, hands, DEVICE, name_check(data))
    book.open_call(call["opened"], call_id=call_id)
    if call["options"]:
        system = call["opened"]["archetype"]
        book.describe(call_id, usual_setting(system, call["options"], data))
    for act in call["acts"]:
        hands.now += timedelta(minutes=act["after"])
        _do(book, data, call_id, act)


@dataclass
class _Hands:
    """A clock that is moved on by hand."""

    now: datetime

    def now_utc(self) -> datetime:
        return self.now


def _do(book: CallBook, data: Catalog, call_id: str, act: Act) -> None:
    match act:
        case {"ask": check}:
            book.take_reading(call_id, check, Answer(act["answer"]), reported_by="caller")
        case {"read": check}:
            book.take_reading(call_id, check, _observed(data.checks[check], act))
        case {"go": place}:
            book.go(call_id, place)
        case {"power": where}:
            book.set_power(call_id, where, on=act["on"])
        case {"repair": repair}:
            book.do_repair(call_id, repair, act["outcome"])
        case {"proof": proof}:
            _prove(book, data, call_id, act, proof)
        case {"note": words}:
            book.note(call_id, words)
        case {"close": outcome}:
            causes, words = act.get("causes", ()), act.get("words", "")
            book.close(call_id, outcome, causes=causes, words=words)
        case _:
            raise ValueError(f"nobody knows the act {act}")


def _prove(book: CallBook, data: Catalog, call_id: str, act: Act, proof: str) -> None:
    if "value" not in act:
        book.do_proof(call_id, proof, act["result"])
        return
    entry = data.proofs[proof]
    as_check = measured_proof(entry)
    if as_check is None:
        raise ValueError(f"{proof} takes no number")
    number = _number(as_check, act["value"])
    book.do_proof(call_id, proof, judge(entry, number), number=number)


def _observed(entry: CheckEntry, act: Act) -> Answer | Number:
    return Answer(act["answer"]) if "answer" in act else _number(entry, act["value"])


def _number(entry: CheckEntry, text: str) -> Number:
    scale = scale_of(entry)
    si_value = (read_value(entry, text) - scale.offset) / scale.factor
    return Number(float(text.split(maxsplit=1)[0]), entry.unit, si_value)
