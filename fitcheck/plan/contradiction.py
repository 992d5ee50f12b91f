"""Why there is no plan: the smallest set of rules and facts that no work can reconcile."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from time import monotonic

from fitcheck.check import check_build
from fitcheck.knowledge import Operation
from fitcheck.model import EngineBuild, Fact, Position
from fitcheck.plan.planner import Planner, PlanOutcome
from fitcheck.plan.question import Goal, Question
from fitcheck.plan.search import time_left


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Rules at places, and facts, that together leave no plan.

    With any one of the rules or of the facts gone there is a plan for the rest; that was tried for
    each where `minimal` says so, else time ran out on the way.
    """

    questions: tuple[Question, ...]
    facts: tuple[Fact, ...]
    minimal: bool


def contradiction(outcome: PlanOutcome, seconds: float | None = None) -> Contradiction | None:
    """What leaves no plan; None where there is one, or nothing is proven."""
    if outcome.plan is not None or not outcome.why:
        return None
    planner, until = outcome.planner, None if seconds is None else monotonic() + seconds
    operations = {
        stage.operation.id: stage.operation
        for stage in planner.stages.list
        if stage.operation is not None
    }
    build, minimal = planner.check.build, outcome.smallest
    if outcome.goal is Goal.DECIDED:
        return Contradiction(outcome.why, (), minimal)
    kept: dict[str, Fact] = {}
    for name, fact in _facts(planner, outcome.why).items():
        less = without(build, name)
        plan = leaves_plan(outcome, less, operations.values(), until)
        if plan is False:
            build = less  # the rest contradicts itself all the same
        else:
            kept[name] = fact
            minimal = minimal and plan is True
    return Contradiction(outcome.why, tuple(kept.values()), minimal)


def leaves_plan(
    outcome: PlanOutcome, build: EngineBuild, operations: Iterable[Operation], until: float | None
) -> bool | None:
    """Whether the rules that stand against a plan leave one for another build; None: not told."""
    planner = outcome.planner
    check = check_build(build, planner.check.knowledge)
    stages = planner.stages
    other = Planner(check, stages.prices, stages.objective, operations, like=planner)
    rules = {question.rule.id: question.rule for question in outcome.why if question.rule}
    questions = other.questions(Goal.CLEAR, rules=rules.values())
    asked = [question for question in questions.all if _same(question, outcome.why)]
    if any(not one.touching and questions.refusal.at(one, {}) for one in asked):
        return False
    searched = other.search(questions.judge_only(asked), time_left(until))
    return True if searched.point is not None else False if searched.proven else None


def _same(question: Question, why: Iterable[Question]) -> bool:
    return any(
        question.title == one.title and not set(question.positions).isdisjoint(one.positions)
        for one in why
    )


def _facts(planner: Planner, why: Iterable[Question]) -> dict[str, Fact]:
    """The facts that somebody gave and that some rules, or effects on what they read, rest on."""
    course, facts = planner.course, dict[str, Fact]()
    for question in why:
        names = list(question.rule.inputs) if question.rule else [question.name]
        seen: set[str] = set()
        while names:
            name = names.pop()
            if name in seen or name == "side":
                continue
            seen.add(name)
            names += filter(None, [course.gathers(name)])
            for stage in course.stages:
                if stage.operation is not None and name in stage.operation.effects:
                    names += course.effect(stage, name).reads
            fact = _given(planner, name, question.positions[0])
            if fact is not None:
                facts.setdefault(name, fact)
    return facts


def _given(planner: Planner, name: str, position: Position) -> Fact | None:
    """What somebody said of an attribute, at a position or else anywhere."""
    attribute = planner.check.knowledge.attributes[name]
    binding = planner.course.binding
    for place in [position, *binding.build.layout.positions(attribute.each)]:
        fact = binding.fact(name, planner.course.at_level(attribute, place))
        if fact.statement is not None:
            return fact
    return None


def without(build: EngineBuild, name: str) -> EngineBuild:
    """A build of which nothing is said about one attribute."""
    parts = {
        slot: tuple(
            replace(part, statements=tuple(s for s in part.statements if s.attribute.name != name))
            for part in listed
        )
        for slot, listed in build.parts.items()
    }
    return replace(build, parts=parts)
