"""One rule at one place, asked again and again with some of its facts changed."""

from __future__ import annotations

from collections.abc import Mapping

from fitcheck.check.measuring.outcomes import Reading
from fitcheck.check.verdict import RuleFailed, exact_code
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import CONFLICT, FITS, NEAR, SILENT
from fitcheck.model import Fact

Facts = Mapping[str, Fact]
Changed = Mapping[str, Fact | Reading]
DECIDED = frozenset((FITS, CONFLICT, SILENT))
_CRASHES = (ArithmeticError, ValueError, TypeError)


class Trial:
    """Gives the code of a rule's verdict: FITS, CONFLICT, SILENT or STRADDLES."""

    def __init__(self, rule: Rule, facts: Facts, knowledge: Knowledge) -> None:
        self.rule = rule
        self.facts = dict(facts)
        self.knowledge = knowledge
        compiled = knowledge.fast(rule)
        self._function = compiled.function
        self._ends = [facts[name].end(which) for name, which in compiled.inputs]
        self._at: dict[str, list[tuple[int, str]]] = {}
        for i, (name, which) in enumerate(compiled.inputs):
            self._at.setdefault(name, []).append((i, which))

    def code(self, changed: Changed) -> int:
        """The verdict with these facts in place of those it has; raises RuleFailed."""
        if any(not (changed.get(name) or self.facts[name]).given for name in self.rule.only_given):
            return SILENT
        ends = self._ends.copy()
        for name, fact in changed.items():
            for i, which in self._at.get(name, ()):
                ends[i] = fact.end(which)
        try:
            code: int = self._function(ends)[0]
        except _CRASHES:
            code = NEAR
        if code == NEAR:
            read = {n: f.fact() if isinstance(f, Reading) else f for n, f in changed.items()}
            code = exact_code(self.rule, {**self.facts, **read}, self.knowledge)
        return code

    def answer(self, changed: Changed) -> int | None:
        """FITS, CONFLICT or SILENT; None where there is no answer."""
        try:
            code = self.code(changed)
        except RuleFailed:
            return None
        return code if code in DECIDED else None
