"""Calls and their trails of events."""
