"""How good the next step is."""
