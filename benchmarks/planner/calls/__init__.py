"""How good the next step is: simulated calls, played by every policy."""
