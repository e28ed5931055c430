"""Homes with something hidden in them, to practise on and to measure the planner with."""
