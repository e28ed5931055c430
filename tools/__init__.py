"""What sets the project up on a machine that has only Python and make."""
