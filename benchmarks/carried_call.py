"""How large the compiled calls are that a phone takes along: `python -m benchmarks.carried_call`.

For every kind of system in either season, nothing else known: the largest there are. The last
table written is `benchmarks/carried_call.md`.
"""

import gzip
import time
from datetime import UTC, datetime
from typing import Literal

from catchpan.calls.carried.carried_call import carried_call
from catchpan.calls.guide import SIZE
from catchpan.catalog.load import catalog
from catchpan.diagnosis.worlds.compile_family import compile_family
from catchpan.diagnosis.worlds.description import Description

SEASONS: tuple[Literal["cooling", "heating"], ...] = ("cooling", "heating")


def row(kind: str, season: Literal["cooling", "heating"]) -> str:
    """Measure one kind of system and return its line of the table."""
    data, known = catalog(), Description(kind, season=season)
    start = time.process_time()
    family = compile_family(known, data, size=SIZE)
    compiled_s = time.process_time() - start
    content = carried_call(known, family, data, "", datetime.now(UTC))
    packed_s = time.process_time() - start - compiled_s
    sent = len(gzip.compress(content, 9))
    size = f"{len(content) / 1e6:.2f} MB | {sent / 1e3:.0f} kB"
    took = f"{compiled_s:.0f} s | {packed_s:.1f} s"
    held = f"{len(family.worlds):,} | {len(family.checks)}"
    return f"| {kind} | {season} | {held} | {size} | {took} |"


def main() -> None:
    """Print the table."""
    print("| system | season | worlds | checks | as held | as sent (gzip) | compiling | packing |")
    print("|---|---|---|---|---|---|---|---|")
    for kind in sorted(catalog().archetypes):
        for season in SEASONS:
            print(row(kind, season), flush=True)


if __name__ == "__main__":
    main()
