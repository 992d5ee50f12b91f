"""The command line: one file a command. No engine knowledge, no arithmetic.

Exit codes: 0 everything asked fits; 1 something clashes; 3 nothing clashes, but something cannot
be told; 2 the input can't be used, or a rule could not be computed.
"""

from fitcheck.cli.main import main

__all__ = ["main"]
