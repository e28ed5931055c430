"""Steady vapour compression, cooling and heating, many operating points at once."""
