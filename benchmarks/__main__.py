"""Run every benchmark and print its times."""

import importlib
from pathlib import Path


def main() -> None:
    """Print the measurements of every `bench_*` module of this folder, in order of name."""
    for file in sorted(Path(__file__).parent.glob("bench_*.py")):
        for measurement in importlib.import_module(f"benchmarks.{file.stem}").measurements():
            print(measurement, flush=True)


if __name__ == "__main__":
    main()
