"""The verdicts of all rules on a build, without explanations: the hot path."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from fitcheck.check.bind import Binding
from fitcheck.check.needs import missing_in
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import CONFLICT, FITS, NEAR, SILENT, Compiled
from fitcheck.model import Each, Fact, Position
from fitcheck.source import Problem


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


@dataclass(frozen=True, slots=True)
class Judged:
    """One rule's verdict at the positions where the same facts hold; None: has nothing to say."""

    rule: Rule
    verdict: Verdict | None
    positions: tuple[Position, ...]
    facts: tuple[Fact, ...]


def judge(binding: Binding, failures: list[Problem]) -> list[Judged]:
    """Every rule's verdict at every group of positions; a rule that crashes is a failure."""
    judged: list[Judged] = []
    for each, (rules, compiled) in binding.knowledge.by_level.items():
        judged += _judge_level(binding, each, rules, compiled, failures)
    return judged


def judge_rules(binding: Binding, rules: Sequence[Rule], failures: list[Problem]) -> list[Judged]:
    """The verdicts of some rules only, each evaluated on its own."""
    judged: list[Judged] = []
    for rule in rules:
        compiled = binding.knowledge.exact(rule)
        judged += _judge_level(binding, rule.each, [rule], compiled, failures)
    return judged


def _judge_level(binding: Binding, each: Each, rules: list[Rule], compiled: Compiled,
                 failures: list[Problem]) -> list[Judged]:  # fmt: skip
    exact = len(rules) == 1
    names = list(dict.fromkeys(name for name, _ in compiled.inputs))
    merged: dict[tuple[object, ...], list[Position]] = {}
    kept: dict[tuple[object, ...], tuple[Rule, int, tuple[Fact, ...]]] = {}
    for positions in binding.groups(each, names):
        facts = {name: binding.fact(name, positions[0]) for name in names}
        codes = _codes(compiled, facts, rules, binding.knowledge, failures, exact=exact)
        for rule, code in zip(rules, codes, strict=True):
            if code is None:
                continue
            own = tuple(facts[name] if name in facts else binding.fact(name, positions[0])
                        for name in rule.inputs)  # fmt: skip
            key = (rule.id, code, *map(id, own))
            merged.setdefault(key, []).extend(positions)
            kept[key] = rule, code, own
    return [Judged(rule, _named(rule, code, own), tuple(merged[key]), own)
            for key, (rule, code, own) in kept.items()]  # fmt: skip


def _codes(compiled: Compiled, facts: dict[str, Fact], rules: list[Rule], knowledge: Knowledge,
           failures: list[Problem], *, exact: bool) -> list[int | None]:  # fmt: skip
    try:
        end = Fact.exact_end if exact else Fact.end
        codes = compiled.function([end(facts[name], which) for name, which in compiled.inputs])
    except (ArithmeticError, ValueError, TypeError) as error:
        if exact:
            rule = rules[0]
            failures.append(Problem(f"the rule '{rule.id}' could not be computed: {error}",
                                    rule.place, "report this; it counts as not checked"))  # fmt: skip
            return [None]
        return [_exact_code(rule, facts, knowledge, failures) for rule in rules]
    return [_exact_code(rule, facts, knowledge, failures) if code == NEAR else code
            for rule, code in zip(rules, codes, strict=True)]  # fmt: skip


def _exact_code(rule: Rule, facts: dict[str, Fact], knowledge: Knowledge,
                failures: list[Problem]) -> int | None:  # fmt: skip
    compiled = knowledge.exact(rule)
    return _codes(compiled, facts, [rule], knowledge, failures, exact=True)[0]


def _named(rule: Rule, code: int, facts: Sequence[Fact]) -> Verdict | None:
    if code == FITS:
        return Verdict.FITS
    if code == CONFLICT:
        return Verdict.CONFLICT
    if code == SILENT:
        return None
    if all(fact.given for fact in facts):
        return Verdict.STRADDLES
    missing = missing_in(rule, dict(zip(rule.inputs, facts, strict=True)))
    return Verdict.UNMEASURED if missing else Verdict.STRADDLES
