"""Plans: the cheapest work after which a build fits, or why there is none."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace
from time import monotonic

from fitcheck.check import BuildCheck, check_build
from fitcheck.knowledge import Operation, Rule
from fitcheck.model import Position
from fitcheck.plan.amounts import settled
from fitcheck.plan.apply import apply
from fitcheck.plan.course import Course
from fitcheck.plan.less import clashing_at, key_of, reasons, to_ask_less
from fitcheck.plan.made import Plan
from fitcheck.plan.neighbours import OnPaper, as_beside
from fitcheck.plan.prices import NO_PRICES, Prices
from fitcheck.plan.question import Goal, Question, Strictness
from fitcheck.plan.questions import Questions, clashes_of
from fitcheck.plan.repair import Repair
from fitcheck.plan.search import (
    LEAST_SECONDS,
    Clause,
    Cost,
    Judge,
    Point,
    SearchResult,
    Told,
    WorkSearch,
    over,
    time_left,
)
from fitcheck.plan.stages import NOTHING, Objective, Stages, remedies, same_work, whole_library
from fitcheck.plan.unmended import ALONE, mended_together, unmended_alone
from fitcheck.plan.widest import Widest

# The shares of its time in which a plan is sought by cost, and then any that will do: what is left
# after that is for the remedies alone, where the whole library was too large.
_SEARCHING, _ANY = 0.6, 0.75


@dataclass(frozen=True, slots=True)
class PlanOutcome:
    """A plan; or None, and then either proof that there is none or only that time ran out.

    Of the questions in `less` less could be asked than of others. `given_up` are clashes that no
    work mends at all. `whole` tells that every operation of the library was tried, not only the
    remedies that rules name. `why` holds the questions that together leave no plan; `smallest`
    tells that each of them was shown to be needed. `stuck` are those that leave none however little
    is asked of them. `risked` did not clash, and after the plan do so at the figures aimed at.
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
    stuck: tuple[Question, ...]
    risked: tuple[Question, ...]
    looked_at: int

    @property
    def unsure(self) -> tuple[Question, ...]:
        """Clashes, one of each rule, that no work makes surely fit; they only clash no more."""
        if self.plan is None:
            return ()
        after = self.plan.after.undecided
        left = {(one.rule.id, place) for one in after for place in one.positions}
        found = {one.title: one for one in self.less if one.clashed and one.among(left)}
        return tuple(found.values())

    @property
    def unpriced(self) -> list[str]:
        """What was left out because nobody gave its price."""
        return list(self.planner.stages.unpriced)


class Planner:
    """One library of operations on one build at one shop.

    With `like` another planner, the places are grouped as for that one's build. A search ends when
    it learns what `widens` the library.
    """

    def __init__(
        self,
        check: BuildCheck,
        prices: Prices,
        objective: Objective,
        operations: Iterable[Operation],
        told: Told | None = None,
        like: Planner | None = None,
        beside: tuple[OnPaper, ...] = (),
        widens: Callable[[Clause], bool] | None = None,
    ) -> None:
        self.check = check
        self._widens = widens
        self.beside = beside
        grouped = like.check if like is not None else check
        self.stages = Stages(grouped, prices, objective, operations)
        self.told = told
        self.course = Course(check.binding, self.stages.list)
        self._choices = self.stages.choices()

    def questions(
        self,
        goal: Goal,
        rules: Iterable[Rule] | None = None,
    ) -> Questions:
        """The questions about the build, or about some rules only."""
        most = {stage.number: self.stages.most(stage.number) for stage in self.stages.list}
        costs = [choice.cost(1) for choice in self._choices]
        ranks = {cost: rank for rank, cost in enumerate(sorted(set(costs)))}
        cheapest = {number: ranks[cost] for number, cost in enumerate(costs)}
        widest = Widest(most, cheapest, self.stages.rivals)
        return Questions(self.check, self.course, goal, widest, rules)

    def repair(
        self, questions: Questions, point: Point | None = None, without: Collection[int] = ()
    ) -> Repair:
        """A look for some plan, from a point on, without some of the stages."""
        choices = [
            replace(choice, most=0) if number in without else choice
            for number, choice in enumerate(self._choices)
        ]
        start = {} if point is None else {n: s for n, s in point.items() if n not in without}
        return Repair(questions, self.stages, choices, start)

    def search(
        self,
        judge: Judge,
        seconds: float | None = None,
        known: Iterable[Clause] = (),
        told: Told | None = None,
        some: Callable[[], Point | None] | None = None,
        halts: Callable[[Clause], bool] | None = None,
    ) -> SearchResult:
        """The cheapest choice that the judge does not refuse; or `some`, when the time is over."""
        clauses = [*self.stages.clauses, *known]
        return WorkSearch(
            self._choices,
            judge,
            NOTHING,
            seconds,
            told,
            clauses,
            self.stages.rivals,
            some,
            halts,
        ).run()

    def outcome(
        self,
        goal: Goal,
        until: float | None,
        end: float | None,
        *,
        whole: bool,
        hopeless: Collection[tuple[str, Position]] = (),
        before: PlanOutcome | None = None,
    ) -> PlanOutcome:
        """The cheapest plan of this library.

        A clash that nothing makes surely fit is then only asked to fit at the figures aimed at,
        then only to clash no more. Where `whole` tells that this library is all there is, one that
        nothing mends at all stops nothing else: the rest is planned without it, as without those
        that are `hopeless`, by rule and place. The search ends at a time, `until`; without a plan
        then, some plan is sought until the `end`. What was learned `before` from a narrower library
        holds wherever nothing that was added bears on it.
        """
        less: dict[object, Question] = {}
        questions = self.questions(goal)
        if goal is Goal.MENDED:
            less |= {question.key: question for question in questions.give_up(hopeless)}
        known = {} if before is None else self._still_true(before, questions)
        repair = self.repair(questions)
        first: tuple[tuple[Question, ...], bool] = (), True
        stuck: tuple[Question, ...] = ()
        while True:
            found = self.cheapest(questions, repair, known, until)
            if found.halted:
                found = replace(found, point=None)
            elif found.point is None and not found.proven:
                found = self.rescued(found, questions, repair, less, end)
            if found.point is None and found.proven:
                why, smallest = self.core(questions, found.clauses, until)
                first, stuck = first if first[0] else (why, smallest), why
                weakest = to_ask_less(why, give_up=whole and goal is Goal.MENDED)
                if weakest:
                    less |= {question.key: question for question in questions.ask_less(weakest)}
                    known = {clause: None for clause in known if key_of(clause) not in less}
                    continue
            plan = None
            given_up, risked = list[Question](), list[Question]()
            if found.point is not None:
                point = settled(found.point, questions, self.stages)
                plan = self.made(found, point, goal)
                left = clashes_of(plan.after)
                given_up = [one for one in less.values() if one.clashed and one.among(left)]
                risked = [one for one in less.values() if questions.risks(one, point)]
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
                tuple(given_up) if plan is not None else (),
                whole,
                found.clauses,
                first[0] if plan is None else (),
                first[1],
                stuck if plan is None else (),
                tuple(risked) if plan is not None else (),
                found.looked_at,
            )

    def _still_true(self, before: PlanOutcome, questions: Questions) -> dict[Clause, None]:
        """The clauses that a narrower library gave for questions which the rest does not touch."""
        numbers = {same_work(stage): stage.number for stage in self.stages.list}
        now = {question.key: question for question in questions.all}
        number = {one.number: numbers[same_work(one)] for one in before.planner.stages.list}
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

    def cheapest(
        self,
        questions: Questions,
        repair: Repair,
        known: dict[Clause, None],
        until: float | None,
    ) -> SearchResult:
        """The search of all questions, after each clash alone: what is learned there holds."""
        if questions.hopeless:
            clauses = tuple(Clause((), question) for question in questions.hopeless)
            return SearchResult(None, NOTHING, NOTHING, True, clauses, 0)
        for question in questions.clashing:
            seconds = time_left(until)
            if seconds is not None and seconds <= LEAST_SECONDS:
                break
            asked = [question, *questions.figures]
            alone = self.search(
                questions.judge_only(asked),
                ALONE if seconds is None else min(ALONE, seconds / 10),
                [clause for clause in known if clause.reason in asked],
            )
            known |= dict.fromkeys(alone.clauses)
            if alone.point is None and alone.proven:
                return alone

        def some() -> dict[int, int] | None:
            return repair.run(_halfway(until))

        return self.search(questions.judge, time_left(until), known, self.told, some, self._widens)

    def rescued(
        self,
        found: SearchResult,
        questions: Questions,
        repair: Repair,
        less: dict[object, Question],
        end: float | None,
    ) -> SearchResult:
        """Some plan when the time is over: less and less is asked of what stays refused.

        What is only worth a remark is not asked about any more then.
        """
        give_up = questions.refusal.goal is Goal.MENDED
        anew = False
        while True:
            point = None if repair.at_end else repair.run(_halfway(end))
            if point is not None:
                return replace(found, point=point, cost=repair.cost(point))
            if over(end):
                return found
            lowered = list[Question]()
            if give_up:
                remarks = [one for one in (*repair.stuck, *repair.met) if one.is_remark]
                lowered = questions.ask_less(remarks, Strictness.NOTHING)
            for asked in (repair.stuck, repair.met):
                lowered = lowered or questions.ask_less(to_ask_less(asked, give_up=give_up))
            if not lowered:
                if anew:
                    return found
                repair, anew = self.repair(questions), True  # from nothing, by what is asked now
                continue
            repair.at_end = False
            less |= {question.key: question for question in lowered}

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
            found = self.search(lambda point, known: (), time_left(until), left)
            if found.point is not None:  # what is known so far does not tell
                found = self.search(questions.judge_only(rest), time_left(until), left)
            if found.point is None and found.proven:
                kept = rest
                learned = [clause for clause in found.clauses if clause.reason in rest]
            smallest = smallest and (found.proven or found.point is not None)
        return tuple(kept), smallest

    def made(self, found: SearchResult, point: Point, goal: Goal) -> Plan:
        """The plan at a point, by what a search found."""
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
            self.beside,
        )


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
    end = None if seconds is None else monotonic() + seconds
    until = None if seconds is None else monotonic() + _SEARCHING * seconds
    soon = None if seconds is None else monotonic() + _ANY * seconds
    check, paper = as_beside(check)
    knowledge = check.knowledge
    asked = {finding.rule.id for finding in check.conflicts}
    beside: dict[str, Operation] = {}  # what mends together what remedies don't
    hopeless: set[tuple[str, Position]] = set()
    whole: Planner | None = None
    before: PlanOutcome | None = None

    def planned(names: Collection[str]) -> list[Operation]:
        named = remedies(knowledge, (knowledge.rules[name] for name in sorted(names)))
        return list({one.id: one for one in (*named, *beside.values())}.values())

    while True:
        library = planned(asked)
        ids = {one.id for one in library}

        def widens(clause: Clause, ids: Collection[str] = ids) -> bool:
            """Whether a rule speaks against something that names remedies beyond the library."""
            rule = clause.reason.rule if isinstance(clause.reason, Question) else None
            return rule is not None and any(
                one.id not in ids for one in remedies(knowledge, [rule])
            )

        planner = Planner(check, prices, objective, library, told, beside=paper, widens=widens)
        outcome = planner.outcome(goal, until, end, whole=False, hopeless=hopeless, before=before)
        met = {question.rule.id for question in reasons(outcome.clauses) if question.rule}
        wider = planned(asked | met)
        if len(wider) > len(library) and (outcome.proven or not over(until)):
            asked |= met
            before = outcome
            continue
        if not outcome.proven:
            return _the_better(outcome, before)
        if outcome.plan is not None:
            return outcome
        whole = whole or Planner(
            check, prices, objective, whole_library(knowledge), told, beside=paper
        )
        if not outcome.why:  # nothing at all is mended: that is proven over the whole library
            return whole.outcome(goal, until, end, whole=True)
        before, found = outcome, set[tuple[str, Position]]()
        if goal is Goal.MENDED:
            found = unmended_alone(whole.questions(goal), whole.search, outcome.why, until)
        more: dict[str, Operation] = {}
        if found <= hopeless:
            tried = mended_together(whole.questions(goal), whole.search, outcome.stuck, until)
            works = [whole.stages.list[number].operation for number in tried.point or ()]
            more = {one.id: one for one in works if one is not None and one not in library}
            if tried.point is None and tried.proven:
                found = clashing_at(to_ask_less(outcome.stuck, give_up=goal is Goal.MENDED))
        if not more and found <= hopeless:
            widest = whole.outcome(goal, until, soon, whole=True, hopeless=hopeless)
            if widest.proven or widest.plan is not None:
                return widest
            some = planner.outcome(goal, until, end, whole=True, hopeless=hopeless)
            return replace(some, proven=False, least=widest.least, whole=False)
        beside |= more
        hopeless |= found


def _the_better(outcome: PlanOutcome, before: PlanOutcome | None) -> PlanOutcome:
    """What was found when the time ran out, or the cheaper plan of a narrower library."""
    plan = None if before is None else before.plan
    if before is None or plan is None:
        return outcome
    if outcome.plan is not None and outcome.plan.cost <= plan.cost:
        return outcome
    return replace(before, plan=replace(plan, proven=False), proven=False, least=outcome.least)


def _halfway(until: float | None) -> float | None:
    """The time halfway to another."""
    left = time_left(until)
    return None if left is None else monotonic() + left / 2
