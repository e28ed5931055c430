"""Cases from files and callers: reading, matching words, weighing."""
