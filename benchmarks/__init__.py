"""How long things take: `make bench`.

Every module named `bench_*` here has a function `measurements()` that yields `Measurement`s.
"""
