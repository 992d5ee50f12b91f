"""Plans: the cheapest work after which a build fits, or why there is none."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from time import monotonic

from fitcheck.check import Check, check_build
from fitcheck.check.bind import Binding
from fitcheck.knowledge import Operation, Rule
from fitcheck.plan.apply import Applied, apply
from fitcheck.plan.course import Course
from fitcheck.plan.prices import NO_PRICES, Prices
from fitcheck.plan.questions import Goal, Question, Questions
from fitcheck.plan.search import Clause, Cost, Found, Judge, Search, Told
from fitcheck.plan.stages import (
    NOTHING, Costs, Objective, Stages, remedies, whole_library,
)  # fmt: skip
from fitcheck.plan.work import Work


@dataclass(frozen=True, slots=True)
class Plan:
    """Works that reach a goal, what they cost, and the build checked again after them.

    `proven` tells that nothing cheaper does, within the operations, their steps, the groups of
    places and the parts on offer; else every plan costs at least `least`.
    """

    goal: Goal
    objective: Objective
    works: tuple[Work, ...]
    costs: tuple[Costs, ...]
    applied: Applied
    before: Check
    after: Check
    proven: bool
    least: Cost
    cost: Cost

    @property
    def total(self) -> Costs:
        """What it costs together; no price where one of its works has none."""
        prices = [one.price for one in self.costs if one.price is not None]
        whole = len(prices) == len(self.costs)
        return Costs(sum(prices, start=NOTHING[0]) if whole else None,
                     sum((one.hours for one in self.costs), start=NOTHING[0]),
                     sum((one.metal for one in self.costs), start=NOTHING[0]),
                     sum(one.parts for one in self.costs))  # fmt: skip


@dataclass(frozen=True, slots=True)
class Outcome:
    """A plan; or None, and then either proof that there is none or only that time ran out.

    `whole` tells that every operation of the library was tried, not only the remedies that rules
    name. `unpriced` names what was left out because nobody gave its price.
    """

    plan: Plan | None
    proven: bool
    least: Cost
    planner: Planner
    goal: Goal
    whole: bool
    clauses: tuple[Clause, ...]
    looked_at: int

    @property
    def unpriced(self) -> list[str]:
        """What has no price."""
        return list(self.planner.stages.unpriced)


class Planner:
    """One library of operations on one build at one shop."""

    def __init__(self, check: Check, prices: Prices, objective: Objective,
                 operations: Iterable[Operation], told: Told | None = None) -> None:  # fmt: skip
        self.check = check
        self.stages = Stages(check, prices, objective, operations)
        self.told = told
        self.course = Course(Binding(check.build, check.knowledge), self.stages.list)
        self._choices = self.stages.choices()

    def questions(self, goal: Goal, rules: Iterable[Rule] | None = None) -> Questions:
        """The questions about the build, or about some rules only."""
        asked = self.check.knowledge.rules.values() if rules is None else rules
        most = {stage.number: self.stages.most(stage.number) for stage in self.stages.list}
        cheapest = {number: choice.cost(1) for number, choice in enumerate(self._choices)}
        return Questions(self.check, self.course, goal, asked, most, cheapest)

    def search(self, judge: Judge, seconds: float | None = None) -> Found:
        """The cheapest choice that the judge does not refuse."""
        return Search(self._choices, judge, NOTHING, seconds, self.told, self.stages.clauses).run()

    def outcome(self, goal: Goal, seconds: float | None, *, whole: bool) -> Outcome:
        """The cheapest plan of this library."""
        questions = self.questions(goal)
        if questions.hopeless:
            clauses = tuple(Clause((), question) for question in questions.hopeless)
            return Outcome(None, True, NOTHING, self, goal, whole, clauses, 0)
        found = self.search(questions.judge, seconds)
        plan = None if found.point is None else self._made(found, goal)
        return Outcome(plan, found.proven, found.least, self, goal, whole, found.clauses,
                       found.looked_at)  # fmt: skip

    def _made(self, found: Found, goal: Goal) -> Plan:
        assert found.point is not None
        works = tuple(self.stages.work(number, steps) for number, steps in found.point.items())
        costs = tuple(self.stages.costs(number, steps) for number, steps in found.point.items())
        applied = apply(self.check.build, self.check.knowledge, works)
        after = check_build(applied.build, self.check.knowledge)
        return Plan(goal, self.stages.objective, works, costs, applied, self.check, after,
                    found.proven, found.least, found.cost)  # fmt: skip


def make_plan(check: Check, prices: Prices = NO_PRICES, objective: Objective = "price",
              goal: Goal = Goal.MENDED, seconds: float | None = None,
              told: Told | None = None) -> Outcome:  # fmt: skip
    """The cheapest plan by remedies, for what clashes and for what they would make clash.

    Where these don't reach the goal, every operation of the library is tried before it is said
    that there is no plan.
    """
    until = None if seconds is None else monotonic() + seconds
    knowledge = check.knowledge
    asked = {finding.rule.id for finding in check.conflicts}
    while True:
        library = remedies(knowledge, (knowledge.rules[name] for name in sorted(asked)))
        planner = Planner(check, prices, objective, library, told)
        outcome = planner.outcome(goal, _left(until), whole=False)
        met = {question.rule.id for question in reasons(outcome.clauses) if question.rule}
        wider = remedies(knowledge, (knowledge.rules[name] for name in sorted(asked | met)))
        if len(wider) == len(library) or not outcome.proven:
            break
        asked |= met
    if outcome.plan is not None or not outcome.proven:
        return outcome
    planner = Planner(check, prices, objective, whole_library(knowledge), told)
    return planner.outcome(goal, _left(until), whole=True)


def _left(until: float | None) -> float | None:
    return None if until is None else max(0.5, until - monotonic())


def reasons(clauses: Iterable[Clause]) -> list[Question]:
    """The questions behind some clauses, each once."""
    found = {id(clause.reason): clause.reason for clause in clauses}
    return [reason for reason in found.values() if isinstance(reason, Question)]
