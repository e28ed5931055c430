"""Belief over the worlds, the ranking of causes, conflicts, latent defects."""
