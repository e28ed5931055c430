"""Quantities at the edges and the base class of every error."""
