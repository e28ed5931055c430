"""How the property tests run.

`steady` (the default) tries the same examples every time and does not judge how long they take, so
a slow machine gives the same verdict as a fast one. To look for new counterexamples:
`pytest --hypothesis-profile=search`.

Tables of refrigerants are kept in the checkout's own cache. A process has one browser at most,
started by the first test that wants it.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

from tests.web.browsing import chromium

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser

settings.register_profile(
    "steady", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile(
    "search", settings.get_profile("steady"), derandomize=False, max_examples=1000
)
settings.load_profile("steady")


@pytest.fixture(autouse=True, scope="session")
def _tables_in_the_checkout() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(Path(__file__).parents[1] / ".cache"))
        yield


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started
