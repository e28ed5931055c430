"""Worlds, belief, the planner and explanations."""
