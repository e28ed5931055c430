"""The component types, by what they belong to."""
