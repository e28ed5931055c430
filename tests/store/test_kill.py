"""A writer that is killed at any moment loses nothing it said it had kept."""

import random
import select
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

from catchpan.store.sqlite import SqliteEventStore, open_store

WRITER = Path(__file__).with_name("writer_process.py")
ROUNDS = 12


def killed_writer(path: Path, start: int, patience: float, *, writing: bool = True) -> list[int]:
    """Start a writer, kill it after a while, and return the batches it reported.

    The time runs from its first report, or from when the file appears if ``writing`` is False.
    """
    command = [sys.executable, str(WRITER), str(path), str(start)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as writer:
        assert writer.stdout is not None
        assert writer.stderr is not None
        if writing:
            select.select([writer.stdout], [], [], 30)
        while not path.exists() and writer.poll() is None:
            time.sleep(0.0005)
        try:
            writer.wait(patience)
        except subprocess.TimeoutExpired:
            writer.kill()
        said = writer.stdout.read().decode()
        assert writer.stderr.read() == b""
    whole = said[: said.rfind("\n") + 1]
    return [int(line) for line in whole.split()]


def kept_batches(path: Path) -> Counter[int]:
    """Return how many events of each batch are in the file."""
    store, notice = open_store(path)
    assert notice is None
    with store:
        return Counter(event.seq for event in store.events_of("c1"))


def test_a_killed_writer_loses_no_batch_it_reported_and_keeps_no_half_one(tmp_path: Path) -> None:
    path = tmp_path / "calls.sqlite3"
    chance = random.Random(20251125)  # noqa: S311 - moments to kill at, nothing secret
    reported: list[int] = []
    for _ in range(ROUNDS):
        start = max(reported, default=0) + 2  # the batch after the last may be kept, unreported
        reported += killed_writer(path, start, chance.uniform(0, 0.12))
        kept = kept_batches(path)
        assert set(reported) <= set(kept)
        assert set(kept.values()) <= {3}
    assert len(reported) >= ROUNDS
    assert len(kept) - len(reported) <= ROUNDS


def test_a_writer_killed_while_it_begins_the_file_leaves_one_that_opens(tmp_path: Path) -> None:
    chance = random.Random(7)  # noqa: S311 - moments to kill at, nothing secret
    for n in range(ROUNDS):
        path = tmp_path / f"calls-{n}.sqlite3"
        patience = chance.uniform(0, 0.025)
        reported = killed_writer(path, 1, patience, writing=False)
        assert set(reported) <= set(kept_batches(path))


def test_an_event_acknowledged_is_seen_by_another_reader_at_once(tmp_path: Path) -> None:
    path = tmp_path / "calls.sqlite3"
    killed_writer(path, 1, 0.05)
    with SqliteEventStore(path) as one, SqliteEventStore(path) as other:
        assert one.events_of("c1") == other.events_of("c1") != ()
