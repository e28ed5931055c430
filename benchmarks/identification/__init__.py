"""Simulated visits to running units, and how well the panel names what is wrong with them."""
