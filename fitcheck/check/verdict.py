"""The verdicts of rules on a build, without explanations: the hot path."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import Enum

from fitcheck.check.bind import Binding
from fitcheck.check.needs import missing_in
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import CONFLICT, FITS, NEAR, SILENT, STRADDLES, Compiled
from fitcheck.model import Fact, Position
from fitcheck.source import Problem, frozen

Facts = Mapping[str, Fact]
_Key = tuple[object, ...]
_CRASHES = (ArithmeticError, ValueError, TypeError)


class Verdict(Enum):
    """What a rule says of a place."""

    FITS = "fits"
    CONFLICT = "conflict"
    STRADDLES = "straddles"
    UNMEASURED = "unmeasured"

    @property
    def undecided(self) -> bool:
        """Whether it cannot be told."""
        return self in (Verdict.STRADDLES, Verdict.UNMEASURED)


_CODES = {None: SILENT, Verdict.FITS: FITS, Verdict.CONFLICT: CONFLICT}


def code_of(verdict: Verdict | None) -> int:
    """The verdict as the language codes it."""
    return _CODES.get(verdict, STRADDLES)


@frozen
class Judged:
    """One rule's verdict at the positions where the same facts hold; None: has nothing to say."""

    rule: Rule
    verdict: Verdict | None
    positions: tuple[Position, ...]
    facts: Facts


class RuleFailed(Exception):
    """A rule that could not be computed: never a pass."""

    def __init__(self, rule: Rule, reason: Exception) -> None:
        super().__init__(f"the rule '{rule.id}' could not be computed: {reason}")
        self.problem = Problem(str(self), rule.place, "report this; it counts as not checked")


def judge(binding: Binding, failures: list[Problem]) -> list[Judged]:
    """Every rule's verdict at every group of positions, all rules of a level in one go."""
    judged: list[Judged] = []
    known = binding.knowledge.rules
    together: set[str] = set()
    for each, (rules, compiled) in binding.knowledge.by_level.items():
        names = list(dict.fromkeys(name for name, _ in compiled.inputs))
        merging = _Merging()
        # Compiled with all others may be a rule that is left out, or had other limits then.
        held = [known.get(rule.id) is rule for rule in rules]
        together |= {rule.id for rule, holds in zip(rules, held, strict=True) if holds}
        for positions in binding.groups(each, names):
            facts = {name: binding.fact(name, positions[0]) for name in names}
            codes = _fast_codes(compiled, facts) or [NEAR] * len(rules)
            for rule, code, holds in zip(rules, codes, held, strict=True):
                if holds:
                    merging.add(rule, code, facts, positions, binding, failures)
        judged += merging.judged()
    alone = [rule for rule in known.values() if rule.id not in together]
    return judged + judge_rules(binding, alone, failures)


def judge_rules(binding: Binding, rules: Iterable[Rule], failures: list[Problem]) -> list[Judged]:
    """The verdicts of some rules only."""
    merging = _Merging()
    for rule in rules:
        for positions in binding.groups(rule.each, rule.inputs):
            facts = {name: binding.fact(name, positions[0]) for name in rule.inputs}
            codes = _fast_codes(binding.knowledge.fast(rule), facts) or [NEAR]
            merging.add(rule, codes[0], facts, positions, binding, failures)
    return merging.judged()


def verdict_on(rule: Rule, facts: Facts, knowledge: Knowledge) -> Verdict | None:
    """A rule's verdict on some facts; None where it has nothing to say. Raises RuleFailed."""
    code = code_on(rule, facts, knowledge)
    return _named(rule, code, {name: facts[name] for name in rule.inputs})


def code_on(rule: Rule, facts: Facts, knowledge: Knowledge) -> int:
    """What a rule says of some facts, as the language codes it. Raises RuleFailed.

    It is silent where one of the facts that it speaks of only if given is not.
    """
    if any(not facts[name].given for name in rule.only_given):
        return SILENT
    codes = _fast_codes(knowledge.fast(rule), facts)
    code = codes[0] if codes else NEAR
    return exact_code(rule, facts, knowledge) if code == NEAR else code


def _fast_codes(compiled: Compiled, facts: Facts) -> tuple[int, ...] | None:
    """The verdicts in floats; None where one of them can't be computed."""
    try:
        return compiled.function([facts[name].end(which) for name, which in compiled.inputs])
    except _CRASHES:
        return None


def exact_code(rule: Rule, facts: Facts, knowledge: Knowledge) -> int:
    """A rule's verdict in fractions, as the language codes it. Raises RuleFailed."""
    try:
        code: int = knowledge.exact(rule).exactly(facts)[0]
    except _CRASHES as error:
        raise RuleFailed(rule, error) from error
    return code


class _Merging:
    """Joins the positions at which a rule reads the same facts and says the same."""

    def __init__(self) -> None:
        self.positions: dict[_Key, list[Position]] = {}
        self.said: dict[_Key, tuple[Rule, int, Facts]] = {}

    def add(
        self,
        rule: Rule,
        code: int,
        facts: Facts,
        positions: list[Position],
        binding: Binding,
        failures: list[Problem],
    ) -> None:
        # A folded branch can leave an input out of the compiled function.
        read = [
            facts[name] if name in facts else binding.fact(name, positions[0])
            for name in rule.inputs
        ]
        if code == NEAR:
            try:
                code = exact_code(rule, _by_name(rule, read), binding.knowledge)
            except RuleFailed as failed:
                failures.append(failed.problem)
                return
        key = (rule.id, code, *read)  # facts are equal only to themselves
        places = self.positions.get(key)
        if places is None:
            self.positions[key] = list(positions)
            self.said[key] = rule, code, _by_name(rule, read)
        else:
            places.extend(positions)

    def judged(self) -> list[Judged]:
        return [
            Judged(rule, _named(rule, code, read), _in_order(self.positions[key]), read)
            for key, (rule, code, read) in self.said.items()
        ]


def _by_name(rule: Rule, read: list[Fact]) -> Facts:
    return dict(zip(rule.inputs, read, strict=True))


def _in_order(positions: list[Position]) -> tuple[Position, ...]:
    return tuple(sorted(positions, key=Position.order))


def _named(rule: Rule, code: int, facts: Facts) -> Verdict | None:
    if code == SILENT or not all(facts[name].given for name in rule.only_given):
        return None
    if rule.ways is not None and code != CONFLICT:
        return None  # that two ways to a figure meet, or may, is nothing to tell
    if code == FITS:
        return Verdict.FITS
    if code == CONFLICT:
        return Verdict.CONFLICT
    if all(fact.given for fact in facts.values()):
        return Verdict.STRADDLES
    if not rule.branching or missing_in(rule, facts):
        return Verdict.UNMEASURED
    return Verdict.STRADDLES
