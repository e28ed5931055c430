"""The tables these tests make are kept in the checkout's own cache, not in the person's."""

from collections.abc import Iterator
from pathlib import Path

import pytest


@pytest.fixture(autouse=True, scope="session")
def _tables_in_the_checkout() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(Path(__file__).parents[3] / ".cache"))
        yield
