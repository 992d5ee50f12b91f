"""Reports: pure functions from findings to something a person or a program reads."""
