"""One measured time, and how it is taken."""

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Measurement:
    """What was timed, how often, and the median and slowest time in seconds."""

    what: str
    times: int
    median_s: float
    slowest_s: float

    def __str__(self) -> str:
        spans = f"median {self.median_s * 1e3:10.2f} ms   slowest {self.slowest_s * 1e3:10.2f} ms"
        return f"{self.what:<56} {spans}   of {self.times}"


def measure(what: str, act: Callable[[], object], times: int = 5) -> Measurement:
    """Time an act, after one untimed go that warms the caches."""
    act()
    spans = [_span_s(act) for _ in range(times)]
    return Measurement(what, times, statistics.median(spans), max(spans))


def _span_s(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start
