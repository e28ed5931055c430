"""Reading a case: everything wrong is told at once, with its entry and field."""

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catchpan.catalog.load import catalog
from catchpan.diagnosis.cases.case import BrokenCase, ContradictoryCase, Tried, read_case
from catchpan.diagnosis.inference.belief import Reading
from catchpan.units.errors import EXIT_BAD_INPUT, EXIT_CONFLICT

GOOD = """\
schema: 1
complaint: "outside unit hums"
system:
  archetype: air-conditioner-furnace
  age_years: 9
  climate: humid
  outdoor: "95 °F"
  indoor: "27 °C"
  indoor_humidity: "60 %"
  options: {metering: txv, drain: unknown}
readings:
  - {check: complaint/no-cooling, answer: yes, by: caller}
  - {check: capacitor/herm-microfarad, value: 9, unit: µF}
  - {check: capacitor/herm-microfarad, value: "9.5 uF"}
  - {check: phone/outdoor-fan, answer: unknown}
  - {repair: electrical/replace-run-capacitor, worked: no}
"""


def problems(text: str) -> list[str]:
    with pytest.raises(BrokenCase) as caught:
        read_case(text)
    return [str(p) for p in caught.value.problems]


def test_a_good_case_is_read_whole_and_in_order() -> None:
    case = read_case(GOOD)
    ((description, share),) = case.systems
    assert share == 1.0
    assert description.options == {"metering": "txv"}
    assert description.outdoor_c == pytest.approx(35.0)
    assert description.indoor_c == pytest.approx(27.0)
    assert description.indoor_rh == pytest.approx(0.6)
    assert case.history[0] == Reading("complaint/no-cooling", "yes", reporter="caller")
    assert isinstance(case.history[1], Reading)
    assert case.history[1].value_si == pytest.approx(9e-6)
    assert isinstance(case.history[2], Reading)
    assert case.history[2].value_si == pytest.approx(9.5e-6)
    assert case.history[3] == Tried("electrical/replace-run-capacitor", worked=False)
    assert case.unanswered == ("phone/outdoor-fan",)


def test_json_says_the_same_as_yaml(tmp_path: Path) -> None:
    data = {
        "schema": 1,
        "system": {"archetype": "heat-pump-air-handler"},
        "readings": [{"check": "complaint/no-cooling", "answer": True}],
    }
    file = tmp_path / "case.json"
    file.write_text(json.dumps(data, indent="\t"), encoding="utf-8")
    yaml = "schema: 1\nsystem: {archetype: heat-pump-air-handler}\n"
    assert read_case(file) == read_case(
        f"{yaml}readings: [{{check: complaint/no-cooling, answer: yes}}]\n"
    )


def test_a_case_needs_nothing_but_its_schema() -> None:
    case = read_case("schema: 1\n\n")
    assert {d.archetype for d, _ in case.systems} == set(catalog().archetypes)
    assert sum(share for _, share in case.systems) == pytest.approx(1.0)


def test_words_narrow_down_the_kind_of_system() -> None:
    case = read_case("schema: 1\nsystem: {text: split AC with a high efficiency furnace}\n")
    assert [d.archetype for d, _ in case.systems] == ["air-conditioner-condensing-furnace"]
    case = read_case("schema: 1\nsystem: {text: split AC}\n")
    assert "heat-pump-air-handler" not in {d.archetype for d, _ in case.systems}


def test_candidates_may_have_shares() -> None:
    shares = "{air-conditioner-furnace: 3, heat-pump-air-handler: 1}"
    case = read_case(f"schema: 1\nsystem:\n  archetype: {shares}\n")
    assert {d.archetype: share for d, share in case.systems} == pytest.approx(
        {"air-conditioner-furnace": 0.75, "heat-pump-air-handler": 0.25}
    )


def test_an_option_rules_out_the_kinds_that_do_not_have_it() -> None:
    case = read_case("schema: 1\nsystem: {options: {ignition: pilot}}\n")
    assert [d.archetype for d, _ in case.systems] == ["air-conditioner-furnace"]
    assert any("heat-pump-air-handler is ruled out" in note for note in case.notes)


def test_the_season_comes_from_the_complaint_where_the_case_does_not_say() -> None:
    start = "schema: 1\nsystem: {archetype: air-conditioner-furnace%s}\nreadings:\n"
    cold = "  - {check: complaint/no-heat, answer: yes}\n"
    warm = "  - {check: complaint/no-cooling, answer: yes}\n"
    assert read_case(start % "" + cold).systems[0][0].season == "heating"
    assert read_case(start % "" + warm).systems[0][0].season == "cooling"
    assert read_case(start % "" + warm + cold).systems[0][0].season is None
    assert read_case(start % ", season: heating" + warm).systems[0][0].season == "heating"


def test_all_problems_are_told_at_once_with_entry_and_field() -> None:
    found = problems(
        """\
schema: 2
colour: red
system:
  archetype: air-conditioner-furnace
  age_years: 900
  outdoor: "95"
  climte: dry
readings:
  - {check: capacitor/herm-microfarat, value: 9}
  - {check: capacitor/herm-microfarad, value: "24 V"}
  - {check: capacitor/herm-microfarad, value: 3000}
  - {check: capacitor/herm-microfarad, value: high}
  - {check: phone/outdoor-fan, answer: spinning}
  - {check: phone/outdoor-fan, value: 3}
  - {check: phone/outdoor-fan}
  - {check: phone/outdoor-fan, answer: still, by: neighbour}
  - {repair: electrical/replace-run-capacitors, worked: perhaps}
  - {repair: electrical/replace-run-capacitors}
  - hums
"""
    )
    text = "\n".join(found)
    wanted = [
        "case · schema: 2 is not 1",
        "case · colour: no such field",
        "system.age_years: 900 is out of the sensible span",
        "system.climte: no such field; did you mean 'climate'?",
        "readings 1 · check: unknown check 'capacitor/herm-microfarat'; did you mean",
        "readings 2 · value: '24 V' is a voltage, not a capacitance",
        "readings 3 · value: Run capacitor, compressor section 3000 µF is outside 0 to 1000 µF",
        "readings 4 · value: 'high' does not begin with a number",
        "readings 5 · answer: unknown answer 'spinning'",
        "(answers of phone/outdoor-fan: still, humming, turning)",
        "readings 6 · value: phone/outdoor-fan takes no number",
        "readings 7: give either an answer or a value",
        "readings 8 · by: 'neighbour' is not 'caller' or 'technician'",
        "readings 9 · worked: 'perhaps' is not 'yes', 'no' or 'unknown'",
        "readings 10 · repair: unknown repair 'electrical/replace-run-capacitors'",
        "readings 11: wanted 'check:' or 'repair:'",
    ]
    assert [w for w in wanted if w not in text] == []


def test_a_system_is_checked_field_by_field() -> None:
    found = problems(
        """\
schema: 1
system:
  archetype: air-conditioner-furnaces
  outdoor: "95"
  indoor: "300 °F"
  indoor_humidity: "130 %"
  options: {metring: txv, drain: uphill}
"""
    )
    wanted = [
        "archetype: unknown archetype 'air-conditioner-furnaces'; did you mean",
        "outdoor: '95' has no unit; wanted such as '95 °F'",
        "indoor: indoor temperature 148.889 °C is outside",
        "indoor_humidity: relative humidity 130 % is outside 0 to 100 %",
        "options: unknown option 'metring'; did you mean 'metering'",
        "options.drain: 'uphill' is not one of its values; wanted gravity or",
    ]
    assert [w for w in wanted if not any(w in line for line in found)] == []


FURNACE = "schema: 1\nsystem: {archetype: air-conditioner-furnace, options: {%s}}\nreadings:\n"
GRAVITY = "  - {check: option/drain, answer: gravity}\n"
PUMP = "  - {check: option/drain, answer: pump_wired}\n"


@pytest.mark.parametrize(
    "text",
    [
        "schema: 1\nsystem: {archetype: heat-pump-air-handler, options: {ignition: pilot}}\n",
        FURNACE % "drain: gravity" + PUMP,
        FURNACE % "" + GRAVITY + PUMP,
    ],
)
def test_statements_that_exclude_each_other_are_a_contradiction(text: str) -> None:
    with pytest.raises(ContradictoryCase) as caught:
        read_case(text)
    assert caught.value.exit_code == EXIT_CONFLICT


def test_an_answer_about_how_it_is_built_settles_the_option() -> None:
    case = read_case(
        "schema: 1\nsystem: {archetype: air-conditioner-furnace}\n"
        "readings: [{check: option/drain, answer: pump_wired}]\n"
    )
    assert case.systems[0][0].options == {"drain": "pump_wired"}


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("schema: 1\nschema: 1\n", "line 2: 'schema' is given twice"),
        ('{"schema": 1,\n "schema": 1}', "'schema' is given twice"),
        ("schema: [1\n", "not readable as YAML"),
        ('{"schema": 1,\n', "not readable as JSON"),
        ("- 1\n- 2\n", "holds no fields"),
        ("\n\n", "holds no fields"),
        ("just words\n", "holds no fields"),
        ("a: &x [1]\nb: *x\n", "an alias is not used here"),
        ("schema: !!python/name:os.system 1\n", "not readable as YAML"),
        ("schema: " + "[" * 4000 + "\n", "nested too deeply"),
        ("schema: " + "9" * 5000 + "\n", "digits or more is no reading"),
        ("x: " + "y" * 1_100_000 + "\n", "characters are too many"),
        ("schema: 1\n\x00\n", "not readable as YAML"),
    ],
)
def test_what_is_no_case_is_told_in_one_sentence(text: str, wanted: str) -> None:
    assert any(wanted in line for line in problems(text))


def test_a_file_that_is_not_there_or_not_text_is_told(tmp_path: Path) -> None:
    with pytest.raises(BrokenCase, match="cannot be read: No such file"):
        read_case(tmp_path / "none.yaml")
    file = tmp_path / "noise.yaml"
    file.write_bytes(b"schema: 1\n\xff\xfe")
    with pytest.raises(BrokenCase, match="no UTF-8") as caught:
        read_case(file)
    assert caught.value.exit_code == EXIT_BAD_INPUT


_LEAVES = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=20)
    | st.sampled_from(["unknown", "capacitor/herm-microfarad", "OL", "9 µF", "phone/outdoor-fan"])
)
_KEYS = st.sampled_from(
    ["schema", "system", "readings", "check", "answer", "value", "unit", "repair", "worked",
     "archetype", "options", "outdoor", "indoor_humidity", "age_years", "by"]
)  # fmt: skip
_TREES = st.recursive(
    _LEAVES, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_KEYS, inner, max_size=5)
)


@given(st.dictionaries(_KEYS, _TREES, max_size=6))
@settings(max_examples=200)
def test_nothing_written_into_a_case_breaks_the_reader(tree: dict[str, object]) -> None:
    text = json.dumps({**tree, "schema": 1}, indent=1)
    try:
        case = read_case(f"{text}\n")
    except BrokenCase as error:
        assert error.problems  # noqa: PT017 - either outcome is right
    else:
        assert case.systems


@given(st.text(max_size=200))
@settings(max_examples=200)
def test_no_text_breaks_the_reader(text: str) -> None:
    with pytest.raises(BrokenCase):
        read_case(f"{text}\n\x07: [")
