"""Persistence: the SQLite event store and trail files."""
