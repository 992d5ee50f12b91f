"""The questions that a plan must leave answered, and why a choice of works does not.

A question is a rule at some places whose facts the works change alike, or a figure that must stay
within what is plausible. It is judged exactly at a point; where it refuses, the widest box is
sought in which it surely refuses everywhere, and that box becomes a clause for the search.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction

from fitcheck.check import Check, Verdict
from fitcheck.check.needs import missing_in
from fitcheck.check.verdict import verdict_on
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.model import Each, Fact, Position
from fitcheck.plan.course import Course, ExactRun, ReachRun, Stage
from fitcheck.plan.reach import Outlook, Reach
from fitcheck.plan.search import Bound, Clause, Cost, Point
from fitcheck.plan.work import covers, steps_for

CLAIMS = "claims"
# Walks through one point that several questions share, by the remedies done in it.
Runs = dict[tuple[int, ...] | None, ExactRun]


class Goal(Enum):
    """What a plan must reach.

    MENDED: nothing clashes, and what clashed surely fits, or waits for a figure that its own
    remedy leaves to be measured. CLEAR: nothing known clashes any more. DECIDED: everything fits.
    """

    MENDED = "mended"
    CLEAR = "clear"
    DECIDED = "decided"


@dataclass(eq=False)
class Question:
    """A rule (or a figure, `name`) at places that the works change alike.

    `touching` are the stages that change a figure it reads, `acting` those that do so even when
    what is merely undone counts as it was.
    """

    rule: Rule | None
    name: str
    positions: tuple[Position, ...]
    clashed: bool
    touching: tuple[int, ...]
    acting: tuple[int, ...]
    remedies: Mapping[int, int] = field(default_factory=dict)
    _judged: dict[tuple[int, ...], bool] = field(default_factory=dict, repr=False)
    _surely: dict[tuple[tuple[int, int], ...], bool] = field(default_factory=dict, repr=False)

    @property
    def title(self) -> str:
        """The rule, or the figure."""
        return self.rule.id if self.rule is not None else self.name


class Questions:
    """All questions about one build and the stages of work on it."""

    def __init__(self, check: Check, course: Course, goal: Goal, rules: Iterable[Rule],
                 most: Mapping[int, int], cheapest: Mapping[int, Cost]) -> None:  # fmt: skip
        self.check = check
        self.course = course
        self.goal = goal
        self.most = most
        self.cheapest = cheapest
        self.knowledge: Knowledge = course.knowledge
        self._mends = _mends(check)
        self._clashing = {(finding.rule.id, position) for finding in check.conflicts
                          for position in finding.positions}  # fmt: skip
        self._reads: dict[str, frozenset[str]] = {}
        self.all = [*self._rule_questions(rules), *self._figure_questions()]
        self.hopeless = [question for question in self.all
                         if not question.touching and self.refused(question, {})]  # fmt: skip
        self._by_stage: dict[int, list[Question]] = {}
        for question in self.all:
            for stage in question.touching:
                self._by_stage.setdefault(stage, []).append(question)
        self._refused_at_start = [question for question in self.all if question.touching
                                  and self.refused(question, {})]  # fmt: skip

    # Which questions there are.

    def _rule_questions(self, rules: Iterable[Rule]) -> Iterator[Question]:
        for rule in rules:
            if rule.family != CLAIMS:
                for positions in self._groups(rule.inputs, rule.each, rule.id):
                    yield self._question(rule, "", positions)

    def _figure_questions(self) -> Iterator[Question]:
        attributes = self.knowledge.attributes
        effects = {name for stage in self.course.stages
                   for name in (stage.operation.effects if stage.operation else
                                stage.swap.shifts if stage.swap else ())}  # fmt: skip
        for name in self.course.names:
            if name in effects:
                for positions in self._groups((name,), attributes[name].each, ""):
                    question = self._question(None, name, positions)
                    if question.touching:
                        yield question

    def _question(self, rule: Rule | None, name: str, positions: tuple[Position, ...]) -> Question:
        names = rule.inputs if rule else (name,)
        touching = self._touching(names, positions[0])
        acting = touching if self.goal is Goal.DECIDED else \
            self._touching(names, positions[0], self._remedy_of(rule))  # fmt: skip
        if rule is None:
            return Question(None, name, positions, False, touching, acting)
        clashed = any((rule.id, position) in self._clashing for position in positions)
        needed = self._mends.get((rule.id, positions[0]), {})
        remedies = {}
        for number in touching:
            stage = self._stage(number)
            if stage.swap is not None and any(fix.replace == stage.swap.slot for fix in rule.fixes):
                remedies[number] = 1
            elif stage.operation is not None and stage.operation.id in needed:
                remedies[number] = steps_for(stage.operation, needed[stage.operation.id])
        return Question(rule, "", positions, clashed, touching, acting, remedies)

    def _groups(self, names: Iterable[str], each: Each,
                rule: str) -> Iterator[tuple[Position, ...]]:  # fmt: skip
        """Positions that share the facts and the works for all that the names depend on."""
        groups: dict[object, list[Position]] = {}
        read = list(names)
        beyond = [name for name in self._closure(read) if name not in read]
        for position in self.course.binding.build.layout.positions(each):
            key = (position, ) if each in ("engine", "bank") else \
                self._alike(read, beyond, position, rule)  # fmt: skip
            groups.setdefault(key, []).append(position)
        for positions in groups.values():
            yield tuple(positions)

    def _alike(self, names: list[str], beyond: list[str], position: Position,
               rule: str) -> object:  # fmt: skip
        course = self.course
        clash = (rule, position) in self._clashing
        around = Position(position.bank, position.cylinder)
        near = [p for p in course.binding.build.layout.positions("valve") if covers(around, p)]
        facts = [id(course.binding.fact(name, position)) for name in names]
        facts += [id(course.binding.fact(name, p)) for name in beyond for p in near]
        return clash, position.side, tuple(facts), self._touching(names, position)

    def _closure(self, names: Iterable[str]) -> tuple[str, ...]:
        """The names and all that effects on them read."""
        found: dict[str, None] = {}
        stack = list(names)
        while stack:
            name = stack.pop()
            if name not in found:
                found[name] = None
                stack += self._read_by_effects(name)
        return tuple(found)

    def _read_by_effects(self, name: str) -> frozenset[str]:
        known = self._reads.get(name)
        if known is None:
            read = {other for stage in self.course.stages if stage.operation
                    and name in stage.operation.effects
                    for other in self.course.effect(stage, name).reads}  # fmt: skip
            known = self._reads[name] = frozenset(read - {name})
        return known

    def _touching(self, names: Iterable[str], position: Position,
                  forgets: Callable[[Stage], bool] | None = None) -> tuple[int, ...]:  # fmt: skip
        """The stages that change a figure at a position, or one that effects on it read."""
        course = self.course
        found: dict[int, None] = {}
        seen: set[tuple[str, Position]] = set()
        stack = [(name, position) for name in names]
        while stack:
            name, at = stack.pop()
            if name != "side":
                at = course.at_level(self.knowledge.attributes[name], at)
            if (name, at) in seen:
                continue
            seen.add((name, at))
            for _, touch in course.touching(name, at):
                if forgets is not None and touch.how == "undo" and not forgets(touch.stage):
                    continue
                found[touch.stage.number] = None
                if touch.how == "effect" and touch.stage.operation is not None:
                    for other in course.effect(touch.stage, name).reads:
                        if other != name:
                            stack += [(other, place) for place in touch.places]
        return tuple(sorted(found, key=course.numbers.__getitem__))

    # Whether a point is refused.

    def judge(self, point: Point, known: frozenset[object] = frozenset()) -> list[Clause]:
        """A clause for each question, but those known to, that refuses the point."""
        made = [stage for stage, steps in point.items() if steps]
        asked = {id(q): q for stage in made for q in self._by_stage.get(stage, ())}
        asked |= {id(question): question for question in self._refused_at_start}
        runs: Runs = {}
        refusing = [question for question in asked.values()
                    if question not in known and self.refused(question, point, runs)]  # fmt: skip
        return [self.clause(question, point) for question in refusing]

    def refused(self, question: Question, point: Point, runs: Runs | None = None) -> bool:
        """Whether a question refuses a point, exactly; `runs` are those of the same point."""
        key = tuple(point.get(stage, 0) for stage in question.touching)
        found = question._judged.get(key)
        if found is None:
            found = self._refused(question, point, {} if runs is None else runs)
            question._judged[key] = found
        return found

    def _run(self, point: Point, runs: Runs, rule: Rule | None) -> ExactRun:
        """The facts at a point; with a rule, those with what only other stages undo kept."""
        forgets = self._remedy_of(rule)
        key = None if rule is None else tuple(
            number for number, steps in point.items() if steps and forgets(self._stage(number)))
        found = runs.get(key)
        if found is None:
            found = runs[key] = ExactRun(self.course, point, None if rule is None else forgets)
        return found

    def _stage(self, number: int) -> Stage:
        return self.course.stages[self.course.numbers[number]]

    def _refused(self, question: Question, point: Point, runs: Runs) -> bool:
        rule, position = question.rule, question.positions[0]
        if rule is None:
            run = ExactRun(self.course, point, self._remedy_of(None))
            run.at(question.name, position)
            return any(left.attribute.name == question.name for left in run.left)
        known = self._facts(self._run(point, runs, None), rule, position)
        verdict = verdict_on(rule, known, self.knowledge)
        if verdict is Verdict.CONFLICT:
            return True
        if self.goal is Goal.DECIDED and verdict is not None and verdict.undecided:
            return True
        if not question.clashed and not any(point.get(stage) for stage in question.touching):
            return False
        # As if the figures undone stayed what they were: what is only forgotten is not mended.
        kept = self._facts(self._run(point, runs, rule), rule, position)
        verdict = verdict_on(rule, kept, self.knowledge)
        if verdict is Verdict.CONFLICT:
            return True
        if self.goal is Goal.CLEAR or not question.clashed or verdict in (None, Verdict.FITS):
            return False
        return not self._waits(question, point, kept)

    def _facts(self, run: ExactRun, rule: Rule, position: Position) -> dict[str, Fact]:
        return {name: run.at(name, position) for name in rule.inputs}

    def _remedy_of(self, rule: Rule | None) -> Callable[[Stage], bool]:
        """Whether a stage is one of the remedies that a rule names."""
        if rule is None:
            return lambda stage: False
        fixes = {fix.operation for fix in rule.fixes} | {fix.replace for fix in rule.fixes}
        fixes.discard("")

        def forgets(stage: Stage) -> bool:
            name = stage.operation.id if stage.operation else stage.swap.slot if stage.swap else ""
            return name in fixes

        return forgets

    def _waits(self, question: Question, point: Point, facts: dict[str, Fact]) -> bool:
        """Whether all that is open is a figure which a remedy, done far enough, undoes."""
        assert question.rule is not None
        lacking = set(missing_in(question.rule, facts))
        for stage, needed in question.remedies.items():
            if point.get(stage, 0) >= needed and lacking & self._undone(stage):
                return True
        return False

    def _undone(self, number: int) -> set[str]:
        stage = self._stage(number)
        if stage.swap is not None:
            own = self.knowledge.classes[stage.swap.slot].attributes
            return set(own) | stage.swap.undoes
        assert stage.operation is not None
        return set(map(str, stage.operation.file.undoes)) - set(stage.operation.effects)

    # Why it is refused, as widely as can be.

    def clause(self, question: Question, point: Point) -> Clause:
        """The widest box around a refused point in which the question surely refuses."""
        box = {stage: (point.get(stage, 0),) * 2 for stage in question.acting}
        if self._surely_refused(question, box):
            for stage in sorted(question.acting, key=self.cheapest.__getitem__):
                self._widen(question, box, stage)
        else:
            box = {stage: (point.get(stage, 0),) * 2 for stage in question.touching}
        bounds = []
        for stage, (low, high) in box.items():
            if low > 0:
                bounds.append(Bound(stage, low - 1, most=True))
            if high < self.most[stage]:
                bounds.append(Bound(stage, high + 1))
        return Clause(tuple(bounds), question)

    def _widen(self, question: Question, box: dict[int, tuple[int, int]], stage: int) -> None:
        low, high = box[stage]
        box[stage] = (0, self.most[stage])
        if self._surely_refused(question, box):
            return
        box[stage] = (low, high)
        high = self._farthest(question, box, stage, high, self.most[stage], up=True)
        box[stage] = (low, high)
        low = self._farthest(question, box, stage, low, 0, up=False)
        box[stage] = (low, high)

    def _farthest(self, question: Question, box: dict[int, tuple[int, int]], stage: int,
                  good: int, end: int, *, up: bool) -> int:  # fmt: skip
        """How far one side of the box can be moved."""
        kept = box[stage]
        bad = end
        while good != bad:
            middle = (good + bad + (1 if up else 0)) // 2
            box[stage] = (kept[0], middle) if up else (middle, kept[1])
            if self._surely_refused(question, box):
                good = middle
            else:
                bad = middle - 1 if up else middle + 1
        box[stage] = kept
        return good

    def _surely_refused(self, question: Question, box: Mapping[int, tuple[int, int]]) -> bool:
        key = tuple(box.values())
        found = question._surely.get(key)
        if found is None:
            found = question._surely[key] = self._ask_everywhere(question, box)
        return found

    def _ask_everywhere(self, question: Question, box: Mapping[int, tuple[int, int]]) -> bool:
        rule, position = question.rule, question.positions[0]
        if rule is None:
            run = ReachRun(self.course, box, self._remedy_of(None))
            return run.at(question.name, position).out
        outlook = self._outlook(rule)
        if self.goal is Goal.DECIDED:
            run = ReachRun(self.course, box)
            known = outlook.over({name: run.at(name, position) for name in rule.inputs})
            if not known.fits and not known.silent:
                return True
        # What surely clashes with figures forgotten does so with the figures kept.
        kept_run = ReachRun(self.course, box, self._remedy_of(rule))
        facts = {name: kept_run.at(name, position) for name in rule.inputs}
        kept = outlook.over(facts)
        if kept.surely_conflict:
            return True
        if self.goal is Goal.CLEAR or not question.clashed or kept.fits or kept.silent:
            return False
        unsure = {name for name, reach in facts.items() if not reach.given[0]}
        if unsure and all(_same_throughout(reach) for reach in facts.values()):
            corner = {stage: low for stage, (low, _) in box.items()}
            run = ExactRun(self.course, corner, self._remedy_of(rule))
            unsure = set(missing_in(rule, self._facts(run, rule, position)))
        return not any(box[stage][1] >= needed and unsure & self._undone(stage)
                       for stage, needed in question.remedies.items() if stage in box)  # fmt: skip

    def _outlook(self, rule: Rule) -> Outlook:
        key = ("outlook", rule.id)
        found = self.knowledge.figures.get(key)
        if found is None:
            found = self.knowledge.figures[key] = Outlook(self.knowledge.condition(rule))
        outlook: Outlook = found
        return outlook


def _same_throughout(reach: Reach) -> bool:
    """Whether a fact is given, and which options it leaves open, all over a box."""
    if reach.given[0] != reach.given[1]:
        return False
    return not isinstance(reach.lower[0], int) or reach.upper[0] == reach.upper[1]


def _mends(check: Check) -> dict[tuple[str, Position], dict[str, Fraction | None]]:
    """The operations that mend a clash, by its rule and place, and how much of each it takes."""
    found: dict[tuple[str, Position], dict[str, Fraction | None]] = {}
    for finding in check.conflicts:
        amounts = {mend.operation.id: mend.amount.upper if mend.amount else None
                   for mend in finding.mends() if mend.operation is not None}  # fmt: skip
        for position in finding.positions:
            found[finding.rule.id, position] = amounts
    return found
