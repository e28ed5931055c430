"""The compiled call in one file, as the phone takes it along; docs/api.md describes it."""
