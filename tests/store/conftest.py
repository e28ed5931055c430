"""Events to keep."""

from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from catchpan.calls.event import Event


@pytest.fixture(scope="session")
def event() -> Callable[..., Event]:
    """Make the ``n``-th event of a call; the same arguments make the same event."""

    def make(n: int, call_id: str = "c1", text: str = "hot") -> Event:
        at_utc = datetime(2025, 7, 4, 12, n % 60, tzinfo=UTC)
        return Event(f"{call_id}-{n}", call_id, "van", n, n, at_utc, "noted", {"text": text})

    return make
