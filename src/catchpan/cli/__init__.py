"""The terminal."""
