"""What a caller may do, and what is said first where there is danger."""

import pytest

from catchpan.calls.advice import NEVER, PRECAUTIONS, advice, danger_advice, danger_kind
from catchpan.calls.use_case import Answer, CallBook
from catchpan.catalog.load import catalog
from catchpan.diagnosis.inference.belief import Reading
from tests.calls.one_home import guide_of, open_call

BYPASS = ("jumper", "bypass", "hold in", "bridge", "tape")


def said(book: CallBook, check: str, answer: str) -> None:
    book.take_reading("c1", check, Answer(answer), reported_by="caller")


def test_only_what_is_safe_for_a_caller_is_offered(book: CallBook) -> None:
    found = advice(guide_of(open_call(book)))
    for tip in [a for a in found if a.repair_id]:
        entry = catalog().repairs[tip.repair_id]
        assert entry.caller_safe
        assert not entry.refer
        assert not any(token.startswith(("cover:", "discharged")) for token in entry.requires)


def test_advice_never_defeats_a_safety(book: CallBook) -> None:
    texts = [a.text for a in advice(guide_of(open_call(book)))] + [t for _, t in PRECAUTIONS]
    for text in texts:
        assert not any(word in text.casefold() for word in BYPASS)
    assert any("second time" in line for line in NEVER)


def test_the_likeliest_advice_comes_first(book: CallBook) -> None:
    chances = [a.chance for a in advice(guide_of(open_call(book)))]
    assert chances == sorted(chances, reverse=True)


def test_a_reset_that_was_made_is_not_advised_again(book: CallBook) -> None:
    open_call(book)
    said(book, "complaint/outdoor-fan-not-turning", "yes")
    breaker = "phone/reset-outdoor-breaker"
    state = book.do_repair("c1", breaker, "did_not")
    assert breaker not in [a.repair_id for a in advice(guide_of(state))]


def test_danger_silences_all_other_advice(book: CallBook) -> None:
    open_call(book)
    said(book, "safety/gas-smell", "yes")
    found = guide_of(book.resume("c1"))
    assert advice(found) == ()
    assert "everybody out" in danger_advice(found)[0]


@pytest.mark.parametrize(
    ("check", "kind"),
    [
        ("safety/gas-smell", "gas"),
        ("safety/co-alarm", "carbon-monoxide"),
        ("safety/smoke-or-flames", "smoke"),
        ("safety/sparks", "smoke"),
        ("safety/water-near-electric", "water"),
        ("safety/shock", "shock"),
        ("safety/person-unwell", "people"),
        ("lv/transformer-look", "damage"),
    ],
)
def test_every_danger_has_words_of_its_own(check: str, kind: str) -> None:
    assert danger_kind(Reading(check, "yes")) == kind


def test_every_danger_question_of_the_catalog_is_among_them() -> None:
    asked = [
        c.id for c in catalog().checks.values() if c.phone and any(a.danger for a in c.answers)
    ]
    assert all(danger_kind(Reading(c, "yes")) != "damage" for c in asked)
