"""Rules that prove themselves: their examples run, their limits and comparisons moved."""
