"""The questions that a plan must leave answered: rules at places, and figures within reason."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from fractions import Fraction

from fitcheck.check import BuildCheck, RuleFinding, Verdict, mends
from fitcheck.check.checking import CLAIMS
from fitcheck.knowledge import Knowledge, Operation, Rule
from fitcheck.knowledge.parts import CONTRADICTIONS
from fitcheck.model import Each, Position
from fitcheck.plan.course import Course, Forgets
from fitcheck.plan.question import Goal, Question, Strictness
from fitcheck.plan.refusal import Refusal, Walks
from fitcheck.plan.search import Clause, Judge, Point
from fitcheck.plan.widest import Widest
from fitcheck.plan.work import covers, looks, steps_for


class Questions:
    """All questions about one build and the stages of work on it that such work bears on.

    `hopeless` are refused whatever is done, for nothing touches them.
    """

    def __init__(
        self,
        check: BuildCheck,
        course: Course,
        goal: Goal,
        widest: Widest,
        rules: Iterable[Rule] | None = None,
    ) -> None:
        self.check = check
        self.course = course
        self.knowledge: Knowledge = course.knowledge
        self.refusal = Refusal(course, goal)
        self._widest = widest
        self._mends = _mends(check)
        self._waived = {
            (one.finding.rule.id, position)
            for one in check.waived
            for position in one.finding.positions
        }
        self._clashing = clashes_of(check)
        self._reads: dict[str, frozenset[str]] = {}
        self._in_order: dict[frozenset[int], tuple[int, ...]] = {}
        self.all = [
            *self._rule_questions(self.knowledge.rules.values() if rules is None else rules),
            *self._figure_questions(),
        ]
        self._by_stage: dict[int, list[Question]] = {}
        for question in self.all:
            for stage in question.touching:
                self._by_stage.setdefault(stage, []).append(question)
        self.hopeless: list[Question] = []
        self.refused_at_start: list[Question] = []
        self._sort()

    def _sort(self) -> None:
        refused = [question for question in self.all if self._refused_at_start(question)]
        self.hopeless = [question for question in refused if not question.touching]
        self.refused_at_start = [question for question in refused if question.touching]

    def _refused_at_start(self, question: Question) -> bool:
        """Whether a question refuses that nothing is done: of rules the check knows it."""
        if question.rule is None or self.refusal.goal is Goal.DECIDED:
            return self.refusal.at(question, {})
        return question.among(self._clashing) and question.asks is not Strictness.NOTHING

    def ask_less(self, of: Iterable[Question], only: Strictness | None = None) -> list[Question]:
        """Ask one thing less of these questions, or `only` that, and of their like; returns all.

        A clash that is given up altogether is so at these very places only.
        """
        found: list[Question] = []
        for one, asks in [(one, Strictness(one.asks - 1) if only is None else only) for one in of]:
            for question in self.all:
                alike = (question.title, question.clashed) == (one.title, one.clashed)
                given_up = one.clashed and asks is Strictness.NOTHING
                if (question is one or (alike and not given_up)) and question.asks > asks:
                    question.ask(asks)
                    found.append(question)
        self._sort()
        return found

    def give_up(self, places: Collection[tuple[str, Position]]) -> list[Question]:
        """Ask nothing of clashes that no work mends; returns them."""
        found = [
            question
            for question in self.all
            if question.clashed
            and (
                question.among(places)
                or (question.rule is not None and only_looked_at(question.rule, self.knowledge))
            )
        ]
        for question in found:
            question.ask(Strictness.NOTHING)
        self._sort()
        return found

    def judge(self, point: Point, known: frozenset[object] = frozenset()) -> list[Clause]:
        """A clause for each question, but those known to, that refuses the point."""
        return self._clauses([q for q in self._asked_at(point) if q not in known], point)

    def allows(self, point: Point) -> bool:
        """Whether no question refuses a point."""
        return next(self.refusing(self._asked_at(point), point), None) is None

    def refused_at(self, point: Point) -> list[Question]:
        """The questions that refuse a point."""
        return list(self.refusing(self._asked_at(point), point))

    def touched_by(self, changed: Iterable[int]) -> list[Question]:
        """The questions that some stages touch."""
        return list({id(q): q for stage in changed for q in self._by_stage.get(stage, ())}.values())

    def refusing(self, asked: Iterable[Question], point: Point) -> Iterator[Question]:
        """Those of some questions that refuse a point, one after another."""
        walks = Walks(point)
        return (one for one in asked if self.refusal.at(one, point, walks))

    def refuses(self, question: Question, point: Point) -> bool:
        """Whether one question refuses a point."""
        return self.refusal.at(question, point)

    def risks(self, question: Question, point: Point) -> bool:
        """Whether what did not clash does so at the figures aimed at."""
        rule = question.rule
        if rule is None or question.clashed:
            return False
        return self.refusal.clashes_as_aimed(question, rule, point)

    def clause(self, question: Question, point: Point) -> Clause:
        """What one question that refuses a point asks of others."""
        return self._widest.clause(question, point, self.refusal)

    def _asked_at(self, point: Point) -> Iterable[Question]:
        made = [stage for stage, steps in point.items() if steps]
        asked = {id(q): q for stage in made for q in self._by_stage.get(stage, ())}
        return (asked | {id(question): question for question in self.refused_at_start}).values()

    @property
    def clashing(self) -> list[Question]:
        """The questions that clash before any work."""
        return [question for question in self.all if question.clashed]

    @property
    def figures(self) -> list[Question]:
        """The figures that must stay within what is plausible."""
        return [question for question in self.all if question.rule is None]

    def judge_only(self, questions: Collection[Question]) -> Judge:
        """A judge by some of the questions only."""
        chosen = list(questions)

        def judge(point: Point, known: frozenset[object]) -> list[Clause]:
            return self._clauses([q for q in chosen if q not in known], point)

        return judge

    def _clauses(self, questions: list[Question], point: Point) -> list[Clause]:
        refusing = list(self.refusing(questions, point))
        return [self._widest.clause(question, point, self.refusal) for question in refusing]

    # Which questions there are.

    def _rule_questions(self, rules: Iterable[Rule]) -> Iterator[Question]:
        changed = set(self.course.names)
        clashing = {name for name, _ in self._clashing}
        for rule in rules:
            if (
                self.refusal.goal is not Goal.DECIDED
                and rule.id not in clashing
                and changed.isdisjoint(self._closure(rule.inputs))
            ):
                continue  # nothing that may be done bears on it, and it doesn't clash
            if rule.family not in (CLAIMS, CONTRADICTIONS):
                for positions in self._groups(rule.inputs, rule.each, rule.id):
                    asked = tuple(p for p in positions if (rule.id, p) not in self._waived)
                    if asked:
                        yield self._question(rule, "", asked)

    def _figure_questions(self) -> Iterator[Question]:
        attributes = self.knowledge.attributes
        effects = {
            name
            for stage in self.course.stages
            for name in (
                stage.operation.effects
                if stage.operation
                else stage.swap.shifts
                if stage.swap
                else ()
            )
        }
        for name in self.course.names:
            if name in effects:
                for positions in self._groups((name,), attributes[name].each, ""):
                    question = self._question(None, name, positions)
                    if question.touching:
                        yield question

    def _question(self, rule: Rule | None, name: str, positions: tuple[Position, ...]) -> Question:
        names = rule.inputs if rule else (name,)
        touching = self._touching(names, positions[0])
        acting, forgets = touching, self.refusal.forgets(rule)
        if self.refusal.goal is not Goal.DECIDED:
            acting = self._touching(names, positions[0], forgets)
        if rule is None:
            return Question(None, name, positions, False, Strictness.CLEAR, touching, acting)
        clashed = any((rule.id, position) in self._clashing for position in positions)
        needed = self._mends.get((rule.id, positions[0]), {})
        remedies = {}
        for number in filter(forgets.stages.__contains__, touching):
            stage = self.course.stage(number)
            if stage.operation is None:
                remedies[number] = 1
            elif stage.operation.id in needed:
                amount = needed[stage.operation.id]
                if amount is not None or own_shape(stage.operation, names):
                    remedies[number] = steps_for(stage.operation, amount)
        if self.refusal.goal is Goal.CLEAR or (clashed and rule.severity == "advice"):
            asks = Strictness.CLEAR
        else:
            asks = Strictness.FITS if clashed else Strictness.AIMED
        return Question(rule, "", positions, clashed, asks, touching, acting, remedies)

    def _groups(
        self, names: Iterable[str], each: Each, rule: str
    ) -> Iterator[tuple[Position, ...]]:
        """Positions that share the facts and the works for all that the names depend on."""
        groups: dict[object, list[Position]] = {}
        read = list(names)
        # What a spread is the spread of counts at all places alike: the side tells which.
        beyond = [name for name in self._closure(read, gathered=False) if name not in read]
        for position in self.course.binding.build.layout.positions(each):
            key = (
                (position,)
                if each in ("engine", "bank")
                else self._alike(read, beyond, position, rule)
            )
            groups.setdefault(key, []).append(position)
        for positions in groups.values():
            yield tuple(positions)

    def _alike(self, names: list[str], beyond: list[str], position: Position, rule: str) -> object:
        course = self.course
        clash = (rule, position) in self._clashing
        around = Position(position.bank, position.cylinder)
        near = [p for p in course.binding.build.layout.positions("valve") if covers(around, p)]
        facts = [id(course.binding.fact(name, position)) for name in names]
        facts += [id(course.binding.fact(name, p)) for name in beyond for p in near]
        return clash, position.side, tuple(facts), self._touching(names, position)

    def _closure(self, names: Iterable[str], *, gathered: bool = True) -> tuple[str, ...]:
        """The names and all that effects on them read, and what they are `gathered` from."""
        found: dict[str, None] = {}
        stack = list(names)
        while stack:
            name = stack.pop()
            if name not in found:
                found[name] = None
                stack += self._read_by_effects(name)
                if gathered:
                    stack += filter(None, [self.course.gathers(name)])
        return tuple(found)

    def _read_by_effects(self, name: str) -> frozenset[str]:
        known = self._reads.get(name)
        if known is None:
            read = {
                other
                for stage in self.course.stages
                if stage.operation and name in stage.operation.effects
                for other in self.course.effect(stage, name).reads
            }
            known = self._reads[name] = frozenset(read - {name})
        return known

    def _touching(
        self,
        names: Iterable[str],
        position: Position,
        forgets: Forgets | None = None,
    ) -> tuple[int, ...]:
        """The stages that change a figure at a position, or one that effects on it read."""
        course = self.course
        stages = frozenset[int]().union(
            *(course.reached(name, position) for name in names)
            if forgets is None
            else [course.acting(names, position, forgets)]
        )
        in_order = self._in_order.get(stages)
        if in_order is None:
            in_order = tuple(sorted(stages, key=course.numbers.__getitem__))
            self._in_order[stages] = in_order
        return in_order


def only_looked_at(rule: Rule, knowledge: Knowledge) -> bool:
    """Whether all that a rule names against its fault is to look or measure again."""
    return bool(rule.fixes) and all(
        fix.operation and looks(knowledge.operations[fix.operation]) for fix in rule.fixes
    )


def own_shape(operation: Operation, names: Collection[str]) -> bool:
    """Whether work of which a rule says no amount can mend what it finds at the part worked on.

    A face is cut until it is clean, a seat until it is true. What follows elsewhere needs to be
    predicted.
    """
    undone = set(map(str, operation.file.undoes)) - set(operation.effects)
    own = {name for name in undone if name.startswith(f"{operation.file.on}.")}
    return operation.amount is None or not own.isdisjoint(names)


def clashes_of(check: BuildCheck) -> set[tuple[str, Position]]:
    """What clashes in a check, whoever tells it, by rule and place."""
    return {(one.rule.id, position) for one in _clashes(check) for position in one.positions}


def _clashes(check: BuildCheck) -> list[RuleFinding]:
    """What clashes before any work, whoever tells it."""
    told_elsewhere = [one for one in check.beneath if one.verdict is Verdict.CONFLICT]
    return [*check.conflicts, *told_elsewhere]


def _mends(check: BuildCheck) -> dict[tuple[str, Position], dict[str, Fraction | None]]:
    """The operations that mend a clash, by its rule and place, and how much of each it takes."""
    found: dict[tuple[str, Position], dict[str, Fraction | None]] = {}
    for finding in _clashes(check):
        amounts = {
            mend.operation.id: mend.amount.upper if mend.amount else None
            for mend in mends(finding)
            if mend.operation is not None
        }
        for position in finding.positions:
            found[finding.rule.id, position] = amounts
    return found
