"""The next step: expected costs, what must come first, explanations."""
