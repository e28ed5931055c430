"""The data: archetypes, faults, checks, repairs, hazards and prices, with their schema."""
