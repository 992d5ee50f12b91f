"""What is proven of rules of one's own, and what is not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitcheck.check.proofs.proving import Proof
from fitcheck.report.phrases import counted
from fitcheck.report.writer import Writer

if TYPE_CHECKING:
    from fitcheck.report.writer import Output


def write_proof(proof: Proof, output: Output) -> None:
    """One rule: proven, or what is not."""
    writer = Writer(output)
    name = proof.rule.id
    if proof.whole:
        writer.line(
            f"{name}: proven. {counted(proof.examples, 'example')} hold, and notice each of "
            f"{counted(proof.changes, 'small change')}."
        )
    else:
        writer.line(f"{name}: NOT PROVEN", "bold")
    for problem in proof.wrong:
        writer.line(f"- {problem.place}: {problem.what}; {problem.mend}", indent=2)
    for change in proof.unnoticed:
        writer.line(f"- no example notices: {change}", indent=2)
    if proof.unseen:
        limits = ", ".join(proof.unseen)
        writer.line(f"- rests on what nobody can look up: {limits}", indent=2)
