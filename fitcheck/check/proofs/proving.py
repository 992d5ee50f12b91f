"""Proves a shop's own rules: by their examples, and by the small changes these must notice."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from fitcheck.check.proofs.examples import examples_of, prove
from fitcheck.check.proofs.mutants import mutants, survivors
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.source import Problem, frozen

# Sources that nobody can look up: a limit that rests on one is right as far as somebody knows.
_UNSEEN = ("practice", "memory")


@frozen
class Proof:
    """What is proven of a rule: how many examples and changes hold, and what is not proven.

    `wrong` are examples that go wrong or lack; `unnoticed` the small changes that no example
    notices; `unseen` the limits whose source nobody can look up.
    """

    rule: Rule
    examples: int
    changes: int
    wrong: tuple[Problem, ...]
    unnoticed: tuple[str, ...]
    unseen: tuple[str, ...]

    @property
    def whole(self) -> bool:
        """Whether the examples hold and notice every change."""
        return not self.wrong and not self.unnoticed


def prove_rules(knowledge: Knowledge, folder: Path) -> Iterator[Proof]:
    """The proof of each rule whose file is in a folder, by a knowledge with places in it."""
    home = folder.resolve()
    for rule in knowledge.rules.values():
        if not Path(rule.place.source.name).resolve().is_relative_to(home):
            continue
        wrong = prove(rule, knowledge)
        # Changes are told apart by examples that hold.
        unnoticed = [] if wrong else survivors(rule, knowledge)
        yield Proof(
            rule,
            sum(1 for _ in examples_of(rule)),
            sum(1 for _ in mutants(rule)),
            tuple(wrong),
            tuple(unnoticed),
            tuple(
                limit.name
                for limit in rule.limits.values()
                if knowledge.sources[limit.source].file.kind in _UNSEEN
            ),
        )
