"""What `import catchpan` offers."""

import subprocess
import sys

import pytest

import catchpan

OFFERED = {
    "Belief", "Case", "Description", "Reading", "Situation", "Tried", "Weighing",
    "compile_family", "load_catalog", "log_score", "next_steps", "read_case", "weigh",
}  # fmt: skip


def test_exactly_these_names_are_offered() -> None:
    assert set(catchpan.__all__) == OFFERED
    assert set(dir(catchpan)) >= OFFERED


@pytest.mark.parametrize("name", sorted(OFFERED))
def test_every_name_leads_to_the_thing_of_that_name(name: str) -> None:
    found = getattr(catchpan, name)
    assert found.__name__ == {"load_catalog": "catalog"}.get(name, name)
    assert found.__doc__


def test_nothing_is_imported_before_it_is_used() -> None:
    code = (
        "import sys, catchpan; print('numpy' in sys.modules, 'catchpan.diagnosis' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


def test_another_name_is_refused() -> None:
    with pytest.raises(AttributeError, match="no attribute 'brands'"):
        _ = catchpan.brands
