"""The face for Python: what a notebook or a script asks, in the units that the build is written in.

Its functions stand in `fitcheck` itself; what they give is described here. No engine knowledge, no
arithmetic: it joins what checks, plans and screens find with the reports that show it.
"""

from fitcheck.face.answers import Answer, Build, Check, Figure, Finding
from fitcheck.face.asking import measure, plan, reach, read, screen, suppose

__all__ = [
    "Answer",
    "Build",
    "Check",
    "Figure",
    "Finding",
    "measure",
    "plan",
    "reach",
    "read",
    "screen",
    "suppose",
]
