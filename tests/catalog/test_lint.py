"""The shipped data hang together, and there is enough of them."""

from functools import cache

import pytest

from catchpan.catalog.lint import counts, problems
from catchpan.catalog.load import catalog


@cache
def found() -> list[str]:
    return [str(p) for p in problems(catalog())]


def test_every_name_in_the_data_leads_somewhere() -> None:
    assert found() == []


@pytest.mark.parametrize(
    ("kind", "least"),
    [
        ("root", 90),
        ("consequence", 15),
        ("latent", 20),
        ("checks", 150),
        ("phone checks", 35),
        ("repairs", 80),
    ],
)
def test_the_catalog_covers_the_trade(kind: str, least: int) -> None:
    assert counts(catalog())[kind] >= least


def test_every_number_says_where_it_comes_from() -> None:
    data = catalog()
    numbers = [n for f in data.faults.values() for n in (f.rate, f.seen_share) if n is not None]
    numbers += [n for c in data.checks.values() for n in (c.minutes, c.reliability)]
    numbers += [n for r in data.repairs.values() for n in (r.minutes, r.parts_dollars, r.success)]
    assert numbers
    assert all(n.basis.strip() for n in numbers)


def test_chances_and_reliabilities_lie_between_zero_and_one() -> None:
    data = catalog()
    assert all(0.0 < c.reliability.value <= 1.0 for c in data.checks.values())
    assert all(0.0 < r.success.value <= 1.0 for r in data.repairs.values())
    chances = [g.chance.value for c in data.checks.values() for a in c.answers for g in a.given]
    assert all(0.0 <= chance <= 1.0 for chance in chances)


def test_answers_of_a_number_cover_the_line_without_a_gap() -> None:
    for check in catalog().checks.values():
        if check.observe.quantity in {"history", "reset", "option"}:
            continue
        spans = sorted(
            (float("-inf") if a.low is None else a.low, float("inf") if a.high is None else a.high)
            for a in check.answers
        )
        edges = [spans[0][0], *(high for _, high in spans)]
        starts = [low for low, _ in spans]
        assert starts == edges[:-1], check.id
        assert edges[0] == float("-inf"), check.id
        assert edges[-1] == float("inf"), check.id


def test_resistance_and_capacitance_are_only_taken_with_the_power_off() -> None:
    for check in catalog().checks.values():
        if check.observe.quantity in {"resistance", "capacitance"}:
            assert {"power_off", "discharged"} & set(check.requires), check.id


def test_no_step_suggests_putting_a_safety_out_of_action() -> None:
    forbidden = (
        "bypass",
        "jumper out",
        "jump out",
        "tape the switch",
        "tape the float",
        "tape the door",
        "hold the breaker",
    )
    data = catalog()
    texts = {r.id: " ".join(r.steps).lower() for r in data.repairs.values()}
    texts |= {c.id: " ".join((c.ask, *c.how)).lower() for c in data.checks.values()}
    for name, text in texts.items():
        for word in forbidden:
            at = text.find(word)
            allowed = at < 0 or any(
                n in text[max(0, at - 30) : at] for n in ("never", "not ", "no ")
            )
            assert allowed, f"{name}: {word}"


def test_only_harmless_work_is_left_to_the_caller() -> None:
    for repair in catalog().repairs.values():
        if repair.caller_safe:
            assert not repair.refer, repair.id
            assert not any(r.startswith(("cover:", "discharged")) for r in repair.requires)


def test_a_proof_that_a_dead_system_would_pass_is_made_with_the_power_on() -> None:
    """Volts, amperes, flame and blower are gone with the power off, whatever was repaired."""
    dead = {"blower.state", "burner.flame"}
    found = [
        p.id
        for p in catalog().proofs.values()
        if (p.observe.quantity in {"voltage", "current"} or p.observe.of in dead)
        and p.observe.demand == "off"
        and "power_on" not in p.requires
    ]
    assert found == []
