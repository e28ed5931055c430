"""How good the next step is: exact solver, open benchmark, distances, exactness, speed."""
