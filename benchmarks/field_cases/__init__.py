"""How well causes are named on real calls that other people wrote about.

``python -m benchmarks.field_cases`` weighs every call of ``tests/cases`` and writes
``RESULTS.md`` beside this file.
"""
