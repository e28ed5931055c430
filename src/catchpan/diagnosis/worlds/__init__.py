"""The compiled family of worlds: what could be wrong and what every check would show."""
