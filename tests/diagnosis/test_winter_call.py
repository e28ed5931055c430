"""A heat pump mended in winter is proven in winter; what needs a warm day is left for one."""

from functools import cache

import pytest

from catchpan.calls.guide import guide
from catchpan.calls.proving import left_for_later, todays_proof
from catchpan.calls.state import CallState
from catchpan.calls.summary import homeowner_summary, technician_summary
from catchpan.calls.use_case import CallBook
from catchpan.catalog.load import catalog
from catchpan.diagnosis.planning.job import SITE, Job
from catchpan.diagnosis.worlds.compile_family import Size, compile_family
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family
from catchpan.diagnosis.worlds.timely import timely_proofs, weather_of
from tests.calls.conftest import MemoryStore, StandingClock

PUMP, FURNACE = "heat-pump-air-handler", "air-conditioner-furnace"
RECHARGE = "refrigerant/find-leak-and-recharge"


@cache
def heat_pump() -> Family:
    return compile_family(
        Description("heat-pump-air-handler", season="heating"), size=Size(settings=2, pairs=0)
    )


@pytest.mark.parametrize(
    "root",
    [
        "refrigerant/charge-very-low",
        "heat-pump/outdoor-metering-missing",
        "heat-pump/outdoor-metering-blocked",
        "heat-pump/strips-with-every-call",
        "electric-heat/sequencer-contact-burned-1",
    ],
)
def test_a_heat_pump_that_leans_on_its_strips_makes_its_owner_call(root: str) -> None:
    """Electric heat on all winter is a complaint of its own (common practice, no source)."""
    family = heat_pump()
    mine = [i for i, world in enumerate(family.worlds) if world.roots == {root}]
    assert mine
    assert family.working is not None
    assert not family.working[mine].all()


@pytest.mark.parametrize(
    ("season", "outdoor_c", "weather"),
    [
        ("heating", None, "heating"),
        ("heating", 20.0, "heating"),
        ("cooling", None, "cooling"),
        ("cooling", 5.0, "heating"),
        (None, 5.0, "heating"),
        (None, 25.0, "cooling"),
        (None, None, "cooling"),
    ],
)
def test_the_weather_is_the_season_s_but_on_a_day_too_cold(
    season: str | None, outdoor_c: float | None, weather: str
) -> None:
    """A charge is not judged in cooling below 55 degF (trade facts, RA3.2)."""
    told = Description(PUMP, season=season, outdoor_c=outdoor_c)  # type: ignore[arg-type]
    assert weather_of(told) == weather


def test_a_charge_mended_in_winter_is_proven_by_the_scale_and_in_heating() -> None:
    job = Job.begin(heat_pump()).went(SITE).repaired(RECHARGE, worked=True)
    assert job.situation.unproven == {
        "refrigerant/proof-weighed-in",
        "refrigerant/proof-heating-discharge",
        "refrigerant/proof-heating-supply",
    }
    assert job.plan().steps[0].kind == "prove"
    for proof in sorted(job.situation.unproven):
        assert "call:cool" not in job.family.checks[proof].requires
        job = job.proved(proof, "pass")
    assert job.plan().steps[0].kind == "stop"


def test_a_short_charge_fails_at_the_scale() -> None:
    family = heat_pump()
    check = family.checks["refrigerant/proof-weighed-in"]
    sound, low = (family.index[(frozenset(c), 0)] for c in ((), ("refrigerant/charge-low",)))
    assert check.table[sound, 0] > 0.95
    assert check.table[low, 1] > 0.95


def test_a_valve_that_leaks_through_fails_in_heating() -> None:
    family = heat_pump()
    check = family.checks["heat-pump/proof-no-leak-through"]
    assert check.requires == {"call:heat"}
    for k in range(len(family.settings)):
        sound = family.index[(frozenset(), k)]
        leaks = family.index[(frozenset({"heat-pump/valve-leaks-through"}), k)]
        assert check.table[sound, 0] > 0.95
        assert check.table[leaks, 1] > 0.95


def test_electrical_work_is_proven_under_the_call_the_outdoor_unit_has() -> None:
    whole, contactor = catalog(), catalog().repairs["electrical/replace-contactor"]
    winter = timely_proofs(contactor, Description(PUMP, season="heating"), whole)
    assert {"electrical/running-amps", "electrical/runs-in-heating"} <= set(winter)
    assert "electrical/runs-in-cooling" not in winter
    furnace = timely_proofs(contactor, Description(FURNACE, season="heating"), whole)
    assert not {"electrical/running-amps", "electrical/coil-volts"} & set(furnace)
    assert timely_proofs(contactor, Description(PUMP, season="cooling"), whole) == contactor.proofs


@pytest.mark.parametrize(
    "repair",
    ["replace-drier", "replace-expansion-valve", "clean-orifice", "evacuate-and-recharge"],
)
def test_whoever_opened_the_circuit_in_winter_owes_the_scale_and_the_discharge_line(
    repair: str,
) -> None:
    entry = catalog().repairs[f"refrigerant/{repair}"]
    owed = timely_proofs(entry, Description(PUMP, season="heating"), catalog())
    assert {"refrigerant/proof-weighed-in", "refrigerant/proof-heating-discharge"} <= set(owed)
    assert not {p for p in owed if catalog().proofs[p].observe.demand == "cool"}


def winter_call() -> CallState:
    book = CallBook(MemoryStore(), StandingClock(), "van-1")
    site: dict[str, str | float | bool] = {"season": "heating", "outdoor_c": -1.0}
    book.open_call({"archetype": PUMP, "site": site, "complaint_words": "no heat"}, call_id="c1")
    book.go("c1", SITE)
    return book.do_repair("c1", RECHARGE, "worked")


def test_what_needs_a_warm_day_is_said_to_be_left_for_one() -> None:
    found = guide(winter_call(), catalog(), lambda _: heat_pump())
    left = left_for_later(found)
    assert left == (
        "refrigerant/proof-subcooling",
        "refrigerant/proof-superheat",
        "air/proof-split",
    )
    told = dict(technician_summary(found))["Left for its weather"]
    assert told[0] == "Subcooling as a sound unit has it today: in cooling weather"
    assert any("left for later: subcooling" in line for line in homeowner_summary(found))


def test_the_limits_in_heating_are_laid_round_a_sound_unit_of_today() -> None:
    found = guide(winter_call(), catalog(), lambda _: heat_pump())
    entry = todays_proof(found, "refrigerant/proof-heating-discharge")
    assert entry.low is not None
    assert entry.high is not None
    assert 320.0 < entry.low < entry.high < 370.0
    assert entry.high - entry.low == pytest.approx(20.0)


def test_the_rise_of_the_strips_tells_how_much_air_moves() -> None:
    """California wants 350 cfm a ton of new ducts; 400 is usual (trade facts)."""
    family = heat_pump()
    check = family.checks["air/airflow-by-strips"]
    names = [outcome.id for outcome in check.outcomes]
    for k in range(len(family.settings)):
        rows = {n: family.index[(frozenset({n} - {""}), k)] for n in ("", "air/filter-clogged")}
        assert check.table[rows[""], names.index("usual")] > 0.8
        low = names.index("none"), names.index("very-low"), names.index("low")
        assert check.table[rows["air/filter-clogged"], low].sum() > 0.8
    assert "call:emergency" in check.requires


def test_a_blower_set_too_fast_is_a_cause_of_its_own() -> None:
    """It moves more air, and with more air the coil's pressure drop goes up."""
    family = heat_pump()
    check, drop = (family.checks[f"air/{n}"] for n in ("airflow-by-strips", "coil-pressure-drop"))
    for k in range(len(family.settings)):
        sound, fast = (family.index[(frozenset(c), k)] for c in ((), ("air/speed-too-high",)))
        assert check.table[fast, -2:].sum() > 0.9
        assert check.table[fast, 4] > 1.5 * check.table[sound, 4]
        assert drop.table[fast, 1] > drop.table[sound, 1]
