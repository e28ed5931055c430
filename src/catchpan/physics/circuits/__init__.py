"""Linear alternating-current steady state of line voltage and control wiring together."""
