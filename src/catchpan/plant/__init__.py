"""Component models put together: circuit, controls, air and water to one state."""
