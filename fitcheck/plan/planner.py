"""Plans: the cheapest work after which a build fits, or why there is none."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from time import monotonic

from fitcheck.check import BuildCheck, check_build
from fitcheck.check.bind import Binding
from fitcheck.knowledge import SEVERITIES, Operation, Rule
from fitcheck.model import Position
from fitcheck.plan.apply import apply
from fitcheck.plan.course import Course, Stage
from fitcheck.plan.made import Plan
from fitcheck.plan.prices import NO_PRICES, Prices
from fitcheck.plan.question import Goal, Question, Strictness
from fitcheck.plan.questions import Questions
from fitcheck.plan.search import Clause, Cost, Judge, SearchResult, Told, WorkSearch
from fitcheck.plan.stages import NOTHING, Objective, Stages, remedies, whole_library
from fitcheck.plan.widest import Widest
from fitcheck.plan.work import removes_metal, step_of

# Seconds for which one clash is looked at alone before all are together.
_ALONE = 2.0
# Seconds that are given however late it is.
_LEAST = 0.1


@dataclass(frozen=True, slots=True)
class PlanOutcome:
    """A plan; or None, and then either proof that there is none or only that time ran out.

    Of the questions in `less` less could be asked than of others. `given_up` are clashes that no
    work mends at all. `whole` tells that every operation of the library was tried, not only the
    remedies that rules name. `why` holds the questions that together leave no plan; `smallest`
    tells that each of them was shown to be needed.
    """

    plan: Plan | None
    proven: bool
    least: Cost
    goal: Goal
    planner: Planner
    questions: Questions
    less: tuple[Question, ...]
    given_up: tuple[Question, ...]
    whole: bool
    clauses: tuple[Clause, ...]
    why: tuple[Question, ...]
    smallest: bool
    looked_at: int

    @property
    def unsure(self) -> tuple[Question, ...]:
        """Clashes, one of each rule, that no work makes surely fit; they only clash no more."""
        found = {q.title: q for q in self.less if q.clashed and q.asks is not Strictness.NOTHING}
        return tuple(found.values())

    @property
    def unpriced(self) -> list[str]:
        """What was left out because nobody gave its price."""
        return list(self.planner.stages.unpriced)


class Planner:
    """One library of operations on one build at one shop.

    With `like` another planner, the places are grouped as for that one's build.
    """

    def __init__(
        self,
        check: BuildCheck,
        prices: Prices,
        objective: Objective,
        operations: Iterable[Operation],
        told: Told | None = None,
        like: Planner | None = None,
    ) -> None:
        self.check = check
        grouped = like.check if like is not None else check
        self.stages = Stages(grouped, prices, objective, operations)
        self.told = told
        self.course = Course(Binding(check.build, check.knowledge), self.stages.list)
        self._choices = self.stages.choices()

    def questions(
        self,
        goal: Goal,
        rules: Iterable[Rule] | None = None,
    ) -> Questions:
        """The questions about the build, or about some rules only."""
        most = {stage.number: self.stages.most(stage.number) for stage in self.stages.list}
        cheapest = {number: choice.cost(1) for number, choice in enumerate(self._choices)}
        widest = Widest(most, cheapest, self.stages.rivals)
        return Questions(self.check, self.course, goal, widest, rules)

    def search(
        self,
        judge: Judge,
        seconds: float | None = None,
        known: Iterable[Clause] = (),
        told: Told | None = None,
        *,
        dives: bool = False,
    ) -> SearchResult:
        """The cheapest choice that the judge does not refuse."""
        clauses = [*self.stages.clauses, *known]
        return WorkSearch(
            self._choices,
            judge,
            NOTHING,
            seconds,
            told,
            clauses,
            self.stages.rivals,
            dives=dives,
        ).run()

    def outcome(
        self,
        goal: Goal,
        until: float | None,
        *,
        whole: bool,
        hopeless: Collection[tuple[str, Position]] = (),
        before: PlanOutcome | None = None,
    ) -> PlanOutcome:
        """The cheapest plan of this library.

        A clash that nothing makes surely fit is then only asked to fit at the figures aimed at,
        then only to clash no more. Where `whole` tells that this library is all there is, one that
        nothing mends at all stops nothing else: the rest is planned without it, as without those
        that are `hopeless`, by rule and place. What was learned `before` from a narrower library
        holds wherever nothing that was added bears on it.
        """
        less: dict[object, Question] = {}
        questions = self.questions(goal)
        if goal is Goal.MENDED:
            less |= {question.key: question for question in questions.give_up(hopeless)}
        known = {} if before is None else self._still_true(before, questions)
        first: tuple[tuple[Question, ...], bool] = (), True
        while True:
            found = self.cheapest(questions, known, until)
            if found.point is None and found.proven:
                why, smallest = self.core(questions, found.clauses, until)
                first = first if first[0] else (why, smallest)
                weakest = _to_ask_less(why, give_up=whole and goal is Goal.MENDED)
                if weakest:
                    less |= {question.key: question for question in questions.ask_less(weakest)}
                    known = {clause: None for clause in known if _key(clause) not in less}
                    continue
            given_up = tuple(q for q in less.values() if q.asks is Strictness.NOTHING)
            plan = None if found.point is None else self.made(found, questions, goal)
            if plan is not None and given_up and not plan.works:
                plan = None
            return PlanOutcome(
                plan,
                found.proven,
                found.least,
                goal,
                self,
                questions,
                tuple(less.values()),
                given_up if plan is not None else (),
                whole,
                found.clauses,
                first[0] if plan is None else (),
                first[1],
                found.looked_at,
            )

    def _still_true(self, before: PlanOutcome, questions: Questions) -> dict[Clause, None]:
        """The clauses that a narrower library gave for questions which the rest does not touch."""
        numbers = {_what(stage): stage.number for stage in self.stages.list}
        now = {question.key: question for question in questions.all}
        number = {one.number: numbers[_what(one)] for one in before.planner.stages.list}
        found: dict[Clause, None] = {}
        for clause in before.clauses:
            old = clause.reason
            new = now.get(old.key) if isinstance(old, Question) else None
            if not isinstance(old, Question) or new is None or new.asks < old.asks:
                continue
            if {number[stage] for stage in old.touching} == new.reached:
                bounds = [replace(one, choice=number[one.choice]) for one in clause.bounds]
                found[Clause(tuple(bounds), new)] = None
        return found

    def hopeless(
        self, why: Iterable[Question], goal: Goal, until: float | None
    ) -> set[tuple[str, Position]]:
        """The clashes among some questions that this library does not mend even one by one."""
        asked = {(one.title, place) for one in why if one.clashed for place in one.positions}
        found: set[tuple[str, Position]] = set()
        questions = self.questions(goal)
        for question in questions.clashing:
            places = {(question.title, place) for place in question.positions}
            if asked.isdisjoint(places):
                continue
            while question.asks > Strictness.CLEAR:
                question.ask(Strictness(question.asks - 1))
            judge = questions.judge_only([question, *questions.figures])
            alone = self.search(judge, min(_ALONE, time_left(until) or _ALONE))
            if alone.point is None and alone.proven:
                found |= places
        return found

    def cheapest(
        self, questions: Questions, known: dict[Clause, None], until: float | None
    ) -> SearchResult:
        """The search of all questions, after each clash alone: what is learned there holds."""
        if questions.hopeless:
            clauses = tuple(Clause((), question) for question in questions.hopeless)
            return SearchResult(None, NOTHING, NOTHING, True, clauses, 0)
        for question in questions.clashing:
            seconds = time_left(until)
            if seconds is not None and seconds <= _LEAST:
                break
            alone = self.search(
                questions.judge_only([question, *questions.figures]),
                _ALONE if seconds is None else min(_ALONE, seconds / 10),
                known,
            )
            known |= dict.fromkeys(alone.clauses)
            if alone.point is None and alone.proven:
                return alone
        return self.search(questions.judge, time_left(until), known, self.told, dives=True)

    def core(
        self, questions: Questions, clauses: Iterable[Clause], until: float | None
    ) -> tuple[tuple[Question, ...], bool]:
        """The smallest set of questions, by leaving out one after another, that leaves no plan.

        Each that is left out is proven not to be needed; for each that stays a plan is found
        without it, or else it is told that time ran out on it.
        """
        if questions.hopeless:
            return (questions.hopeless[0],), True
        learned, smallest = list(clauses), True
        kept = reasons(learned)
        for question in list(kept):
            rest = [other for other in kept if other != question]
            left = [clause for clause in learned if clause.reason in rest]
            found = self.search(questions.judge_only(rest), time_left(until), left)
            if found.point is None and found.proven:
                kept = rest
                learned = [clause for clause in found.clauses if clause.reason in rest]
            smallest = smallest and (found.proven or found.point is not None)
        return tuple(kept), smallest

    def made(self, found: SearchResult, questions: Questions, goal: Goal) -> Plan:
        """The plan at the point that a search found, no work of it much deeper than it must be."""
        assert found.point is not None
        point = self._with_room(self._trimmed(found.point, questions), questions)
        works = tuple(self.stages.work(number, steps) for number, steps in point.items())
        costs = tuple(self.stages.costs(number, steps) for number, steps in point.items())
        applied = apply(self.check.build, self.check.knowledge, works)
        after = check_build(applied.build, self.check.knowledge)
        return Plan(
            goal,
            self.stages.objective,
            works,
            costs,
            applied,
            self.check,
            after,
            found.proven,
            found.least,
            found.cost,
        )

    def _trimmed(self, point: Mapping[int, int], questions: Questions) -> dict[int, int]:
        """The point with each amount as small as the others allow: a cost often hides it."""
        kept = dict(point)
        for number in sorted(kept, key=lambda one: self.stages.costs(one, 1).metal, reverse=True):
            refused, good = 0, kept[number]
            while good - refused > 1:
                middle = (refused + good) // 2
                if questions.allows({**kept, number: middle}):
                    good = middle
                else:
                    refused = middle
            kept[number] = good
        return kept

    def _with_room(self, point: Mapping[int, int], questions: Questions) -> dict[int, int]:
        """The point with each amount off the edge of what is allowed, where that costs nothing.

        What can be undone is set to the middle. Metal is cut deeper by twice the work's tolerance
        at most, and never past the middle.
        """
        found = dict(point)
        for number, least in point.items():
            operation = self.stages.list[number].operation
            if operation is None or operation.amount is None or least == self.stages.most(number):
                continue
            room = (self.stages.most(number) - least) // 2
            if removes_metal(operation):
                room = min(room, int(-(-2 * operation.amount.tolerance // step_of(operation))))
            cost = self._choices[number].cost
            while room and not (
                cost(least) == cost(least + room)
                and questions.allows({**found, number: least + 2 * room})
                and questions.allows({**found, number: least + room})
            ):
                room //= 2
            found[number] = least + room
        return found


def make_plan(
    check: BuildCheck,
    prices: Prices = NO_PRICES,
    objective: Objective = "price",
    goal: Goal = Goal.MENDED,
    seconds: float | None = None,
    told: Told | None = None,
) -> PlanOutcome:
    """The cheapest plan by remedies, for what clashes and for what they would make clash.

    Where these don't reach the goal, every operation of the library is tried before it is said
    that there is no plan.
    """
    until = None if seconds is None else monotonic() + seconds
    knowledge = check.knowledge
    asked = {finding.rule.id for finding in check.conflicts}
    hopeless: set[tuple[str, Position]] = set()
    whole: Planner | None = None
    before: PlanOutcome | None = None
    while True:
        library = remedies(knowledge, (knowledge.rules[name] for name in sorted(asked)))
        planner = Planner(check, prices, objective, library, told)
        outcome = planner.outcome(goal, until, whole=False, hopeless=hopeless, before=before)
        met = {question.rule.id for question in reasons(outcome.clauses) if question.rule}
        wider = remedies(knowledge, (knowledge.rules[name] for name in sorted(asked | met)))
        if not outcome.proven:
            return outcome
        if len(wider) > len(library):
            asked |= met
            before = outcome
            continue
        if outcome.plan is not None:
            return outcome
        whole = whole or Planner(check, prices, objective, whole_library(knowledge), told)
        if not outcome.why:  # nothing at all is mended: that is proven over the whole library
            return whole.outcome(goal, until, whole=True)
        found = whole.hopeless(outcome.why, goal, until) if goal is Goal.MENDED else set()
        if found <= hopeless:
            return whole.outcome(goal, until, whole=True, hopeless=hopeless)
        hopeless |= found


def _what(stage: Stage) -> object:
    """The same for the same work in another library; the parts on offer always come first."""
    return stage.number if stage.operation is None else (stage.operation.id, stage.positions)


def _to_ask_less(why: Iterable[Question], *, give_up: bool) -> list[Question]:
    """Of questions that leave no plan those of which less can be asked, the least matter first."""
    asked = list(why)
    strict = [question for question in asked if question.must_fit]
    if strict:
        return strict
    for asks in (Strictness.AIMED, Strictness.CLEAR) if give_up else (Strictness.AIMED,):
        for severity in reversed(SEVERITIES):
            found = [
                question
                for question in asked
                if question.asks is asks
                and question.rule is not None
                and question.rule.severity == severity
                and (question.clashed or (asks is Strictness.AIMED and severity == "advice"))
            ]
            if found:
                return found
    return []


def time_left(until: float | None) -> float | None:
    """The seconds until a time, never quite none."""
    return None if until is None else max(_LEAST, until - monotonic())


def _key(clause: Clause) -> object:
    return clause.reason.key if isinstance(clause.reason, Question) else None


def reasons(clauses: Iterable[Clause]) -> list[Question]:
    """The questions behind some clauses, each once."""
    found = dict.fromkeys(clause.reason for clause in clauses)
    return [reason for reason in found if isinstance(reason, Question)]
