"""What to measure next, how finely, and what can never settle anything."""
