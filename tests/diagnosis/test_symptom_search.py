"""What callers say, and the questions it answers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.catalog.load import catalog
from catchpan.diagnosis.cases.symptom_search import SURE, search_symptoms, sure_matches
from catchpan.diagnosis.cases.symptom_words import clauses, denies, words
from catchpan.diagnosis.cases.usual import usual_answers


@pytest.mark.parametrize(
    ("said", "check", "answer"),
    [
        ("house is hot and the thing outside just hums", "complaint/no-cooling", "yes"),
        ("house is hot and the thing outside just hums", "complaint/outdoor-unit-hums", "hums"),
        ("water coming through the ceiling", "complaint/water-on-ceiling", "yes"),
        ("thermostat screen is blank", "complaint/thermostat-blank", "blank"),
        ("thermostat screen is blank", "phone/display-lit", "blank"),
        ("furnace lights then goes out", "complaint/lights-then-goes-out", "goes-out"),
        ("outdoor fan not spinning", "complaint/outdoor-fan-not-turning", "still"),
        ("puddle under the furnace", "complaint/water-on-floor", "yes"),
        ("ants all over the unit", "history/animals", "insects"),
        ("new thermostat fitted yesterday", "history/thermostat-work", "yes"),
        ("fan will not shut off", "complaint/blower-will-not-stop", "runs"),
        ("only the fan comes on when heat is called", "complaint/heat-blows-cool", "not-warm"),
        ("worked after reset for two days", "history/reset-lasted", "days"),
        ("thermostat scren is blnk", "complaint/thermostat-blank", "blank"),
        ("I smell rotten eggs", "safety/gas-smell", "yes"),
    ],
)
def test_callers_words_find_the_question_and_its_answer(said: str, check: str, answer: str) -> None:
    best = {m.check_id: m.answer_id for m in search_symptoms(said, limit=4)}
    assert best.get(check) == answer


def test_matches_come_best_first_each_question_once() -> None:
    found = search_symptoms("no cooling, thermostat blank, water on the floor", limit=20)
    assert [m.score for m in found] == sorted((m.score for m in found), reverse=True)
    assert len({m.check_id for m in found}) == len(found)
    assert all(0.0 < m.score <= 100.0 for m in found)


def test_a_denial_does_not_pass_for_its_opposite() -> None:
    denied = {m.check_id: m for m in search_symptoms("there is no ice on the pipe")}
    claimed = {m.check_id: m for m in search_symptoms("there is ice on the pipe")}
    assert claimed["phone/coil-ice"].answer_id == "yes"
    assert claimed["phone/coil-ice"].score > 1.5 * denied["phone/coil-ice"].score
    assert denied["phone/coil-ice"].answer_id == "no"


def test_only_what_is_said_clearly_is_taken_as_meant() -> None:
    sure = sure_matches("No heat. Furnace lights then goes out after a few seconds")
    assert {"complaint/no-heat", "complaint/lights-then-goes-out"} <= {m.check_id for m in sure}
    assert all(m.score >= SURE and m.answer_id for m in sure)
    assert sure_matches("hello, is this the repair shop?") == ()


def test_what_only_other_systems_have_can_be_left_out() -> None:
    said = "furnace lights then goes out"
    only_pumps = search_symptoms(said, archetype="heat-pump-air-handler", limit=30)
    for match in only_pumps:
        kinds = catalog().checks[match.check_id].archetypes
        assert not kinds or "heat-pump-air-handler" in kinds


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("The thing outside just hums and won't spin", ("outdoor", "hum", "not", "turn")),
        ("It doesn't turn", ("not", "turn")),
        ("A/C stopped running", ("cool", "stopped", "turn")),
        ("", ()),
    ],
)
def test_words_are_stemmed_and_one_meaning_is_one_word(text: str, wanted: tuple[str, ...]) -> None:
    assert words(text) == wanted


def test_two_denials_are_none() -> None:
    assert denies(words("it will not start"))
    assert not denies(words("nothing is not working"))
    assert not denies(words("it starts"))


def test_what_a_caller_says_is_split_into_statements() -> None:
    assert clauses("No cooling, but the fan runs")[:2] == ["No cooling", "the fan runs"]


def test_a_sound_system_shows_the_usual_answers() -> None:
    usual = usual_answers(catalog())
    assert usual["phone/outdoor-fan"] == "turning"
    assert usual["phone/display-lit"] == "lit"
    assert usual["complaint/no-cooling"] == "no"
    assert usual["capacitor/herm-microfarad"] == "good"
    assert "history/animals" not in usual


@given(st.text(max_size=300))
def test_no_words_break_the_search(text: str) -> None:
    for match in search_symptoms(text):
        assert match.check_id in catalog().checks
