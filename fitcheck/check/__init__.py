"""Checking: a build bound to the knowledge, verdicts, findings, claims."""

from fitcheck.check.checking import BuildCheck, check_build, recheck
from fitcheck.check.claims import ClaimJudged, Works
from fitcheck.check.derivation import Derivation, derivations
from fitcheck.check.finding import Demand, RuleFinding
from fitcheck.check.likely import Likelihood, Likely
from fitcheck.check.mending import Mend, mends
from fitcheck.check.read import read_build
from fitcheck.check.telling import describe_fact
from fitcheck.check.verdict import Verdict

__all__ = [
    "BuildCheck",
    "ClaimJudged",
    "Demand",
    "Derivation",
    "Likelihood",
    "Likely",
    "Mend",
    "RuleFinding",
    "Verdict",
    "Works",
    "check_build",
    "derivations",
    "describe_fact",
    "mends",
    "read_build",
    "recheck",
]
