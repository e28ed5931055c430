"""Append batches of three events for ever, printing the number of each batch once it is kept."""

import sys
from datetime import UTC, datetime
from pathlib import Path

from catchpan.calls.event import Event
from catchpan.store.sqlite import open_store

NOW = datetime(2025, 7, 4, 12, 0, tzinfo=UTC)


def batch(number: int) -> list[Event]:
    """Return the three events of a batch."""
    return [
        Event(f"b{number}-{part}", "c1", "van", number, number, NOW, "noted", {"text": "x" * 700})
        for part in range(3)
    ]


def main(path: Path, number: int) -> None:
    """Write batches from ``number`` on."""
    store, notice = open_store(path)
    if notice is not None:
        raise SystemExit(str(notice))
    while True:
        store.append(batch(number))
        sys.stdout.write(f"{number}\n")
        sys.stdout.flush()
        number += 1


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
