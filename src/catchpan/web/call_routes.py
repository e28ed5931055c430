"""The routes about calls: list, events, state, guide, wiring, summary."""

from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field

from catchpan.calls.event import from_record, to_record
from catchpan.calls.event_words import event_words
from catchpan.calls.ladder import ladders
from catchpan.calls.summary import homeowner_summary, technician_summary
from catchpan.calls.trail import Trail
from catchpan.diagnosis.worlds.description import Description
from catchpan.units.errors import CatchpanError
from catchpan.web.guide_document import GuideDocument, guide_document
from catchpan.web.shop import Shop, TheShop

MOST_EVENTS = 2000
MOST_CALLS = 500

router = APIRouter(tags=["calls"])


class CallLine(BaseModel):
    """One line of the list of calls."""

    call_id: str
    status: str
    caller: str | None
    address: str | None
    complaint_words: str | None
    archetype: str | None
    event_count: int
    first_at_utc: datetime
    last_at_utc: datetime


class CallList(BaseModel):
    """The calls, the latest first."""

    calls: list[CallLine]


class EventRecord(BaseModel):
    """One event, as a device made it."""

    model_config = ConfigDict(extra="allow")

    id: str
    call_id: str
    device_id: str
    seq: int
    lamport: int
    at_utc: str
    kind: str
    body: dict[str, Any]


class Events(BaseModel):
    """Events of one call."""

    call_id: str
    events: list[EventRecord]


class NewEvents(BaseModel):
    """Events that a device has made."""

    events: Annotated[list[dict[str, Any]], Field(max_length=MOST_EVENTS)]


class Merged(Events):
    """All events of a call after some were added, and how many of those were new."""

    new: int


class TimelineEntry(BaseModel):
    """One standing event, in words."""

    event_id: str
    device_id: str
    at_utc: datetime
    kind: str
    words: str
    body: dict[str, Any]


class CallDocument(BaseModel):
    """The state of a call."""

    call_id: str
    status: str
    opened: dict[str, Any]
    archetype: str | None
    settings: dict[str, Any]
    place: str | None
    power: dict[str, bool]
    deferred: dict[str, str]
    closed: dict[str, Any] | None
    timeline: list[TimelineEntry]
    withdrawn: list[str]
    unreadable: list[dict[str, str]]
    newer: list[str]
    photos: list[dict[str, Any]]


class SummaryPart(BaseModel):
    """A heading and its lines."""

    heading: str
    lines: list[str]


class SummaryDocument(BaseModel):
    """The end of a call in words."""

    technician: list[SummaryPart]
    homeowner: list[str]


def call_lines(shop: Shop, limit: int) -> list[CallLine]:
    """Return the lines of the list of calls."""
    lines = []
    for found in shop.book.store.calls(limit):
        state = shop.state(found.call_id)
        lines.append(
            CallLine(
                **vars(found),
                status="closed" if state.closed else "open",
                caller=state.opened.caller,
                address=state.opened.address,
                complaint_words=state.opened.complaint_words,
                archetype=state.archetype,
            )
        )
    return lines


def timeline(shop: Shop, call_id: str) -> list[TimelineEntry]:
    """Return the standing events of a call, in words."""
    return [
        TimelineEntry(
            event_id=entry.event_id,
            device_id=entry.device_id,
            at_utc=entry.at_utc,
            kind=entry.body.kind,
            words=event_words(shop.data, entry.body),
            body=entry.body.model_dump(mode="json", exclude_none=True),
        )
        for entry in shop.state(call_id).timeline
    ]


@router.get("/calls")
def list_calls(shop: TheShop, limit: Annotated[int, Query(ge=1, le=MOST_CALLS)] = 100) -> CallList:
    """List the calls, the latest first."""
    return CallList(calls=call_lines(shop, limit))


@router.get("/calls/{call_id}/events")
def get_events(shop: TheShop, call_id: str) -> Events:
    """Return all events of a call, causes before effects."""
    records = [EventRecord.model_validate(to_record(e)) for e in shop.trail(call_id).events]
    return Events(call_id=call_id, events=records)


@router.post("/calls/{call_id}/events")
def add_events(shop: TheShop, call_id: str, given: NewEvents) -> Merged:
    """Keep all these events or none; sending them again changes nothing."""
    events = []
    for place, record in enumerate(given.events):
        try:
            events.append(from_record(record))
        except CatchpanError as error:
            raise error.at(f"events.{place}.{error.where}") from error
    before = Trail(call_id, shop.book.store.events_of(call_id))
    before.add(events)
    new = shop.book.receive(events)
    records = [EventRecord.model_validate(to_record(e)) for e in shop.book.store.events_of(call_id)]
    return Merged(call_id=call_id, events=records, new=new)


@router.get("/calls/{call_id}")
def get_call(shop: TheShop, call_id: str) -> CallDocument:
    """Return the state of a call."""
    state = shop.state(call_id)
    return CallDocument(
        call_id=call_id,
        status="closed" if state.closed else "open",
        opened=state.opened.model_dump(mode="json", exclude_none=True),
        archetype=state.archetype,
        settings=dict(state.description),
        place=state.place,
        power=dict(state.power),
        deferred=dict(state.deferred),
        closed=state.closed.model_dump(mode="json") if state.closed else None,
        timeline=timeline(shop, call_id),
        withdrawn=list(state.withdrawn),
        unreadable=[vars(found) for found in state.unreadable],
        newer=list(state.newer),
        photos=photo_lines(shop, call_id),
    )


def photo_lines(shop: Shop, call_id: str) -> list[dict[str, Any]]:
    """Return the photos of a call, with whether their images have arrived."""
    return [
        {
            "photo_id": entry.body.photo_id,
            "words": entry.body.words,
            "step_id": entry.body.step_id,
            "at_utc": entry.at_utc,
            "has_image": shop.photos.has(call_id, entry.body.photo_id),
        }
        for entry in shop.state(call_id).photos
    ]


@router.get("/calls/{call_id}/guide")
def get_guide(
    shop: TheShop, call_id: str, compiled: Annotated[str, Query(max_length=64)] = ""
) -> GuideDocument:
    """Return everything that follows from a call's trail."""
    key, found = shop.guide(call_id, compiled)
    return guide_document(found, key)


@router.get("/calls/{call_id}/ladder")
def get_ladder(
    shop: TheShop,
    call_id: str,
    demand: Annotated[str, Query(max_length=20)] = "cool",
    fault: Annotated[list[str] | None, Query(max_length=4)] = None,
) -> dict[str, Any]:
    """Return the wiring, with what a meter shows in order and with faults (the likeliest ones)."""
    _, found = shop.guide(call_id)
    wrong = found.likeliest_conditions if fault is None else fault
    built = Description(found.description.archetype, found.likeliest_setting)
    drawn = ladders(built, wrong, demand, shop.data)
    return {
        "demand": demand,
        "faults": sorted(wrong),
        "setting": dict(built.options),
        "circuits": [
            {
                "title": circuit.title,
                "against": circuit.against,
                "lines": [{**vars(line), "differs": line.differs} for line in circuit.lines],
            }
            for circuit in drawn
        ],
    }


@router.get("/calls/{call_id}/summary")
def get_summary(shop: TheShop, call_id: str) -> SummaryDocument:
    """Return the end of a call in words, for the file and for the homeowner."""
    _, found = shop.guide(call_id)
    parts = technician_summary(found)
    return SummaryDocument(
        technician=[SummaryPart(heading=h, lines=list(lines)) for h, lines in parts],
        homeowner=list(homeowner_summary(found)),
    )
