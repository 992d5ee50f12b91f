"""Whether a choice of works leaves a question badly answered: at a point, or all over a box."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from fitcheck.check import Verdict
from fitcheck.check.needs import missing_in
from fitcheck.check.verdict import verdict_on
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.knowledge.limits import with_limit
from fitcheck.model import Fact, Position
from fitcheck.plan.course import Aimed, Course, Stage
from fitcheck.plan.question import Asks, Goal, Question
from fitcheck.plan.reach import Outlook, Reach
from fitcheck.plan.runs import ExactRun, Forgets, ReachRun
from fitcheck.plan.search import Point
from fitcheck.plan.work import looks
from fitcheck.quantity import Interval

# Walks through one point that several questions share: with all that is undone forgotten (None),
# with it kept (""), or with what a rule's own remedies undo forgotten (its name); and whether at
# the figures aimed at.
Runs = dict[tuple[str | None, bool], ExactRun]
Box = Mapping[int, tuple[int, int]]


class Refusal:
    """Refuses what leaves a question clashing, or only forgotten.

    A clash is not mended by work that merely undoes the figure it was found by. So each rule is
    also asked as if such figures stayed what they were, but for those that it reads and that a
    remedy of its own undoes. Nor is a likely clash made of what was none: each is asked at the
    figures aimed at too, unless it clashed at the middle of what was known before.
    """

    def __init__(self, course: Course, goal: Goal) -> None:
        self.course = course
        self.aimed = Course(Aimed(course.binding.build, course.knowledge), course.stages)
        self.goal = goal
        self.knowledge: Knowledge = course.knowledge

    def at(self, question: Question, point: Point, runs: Runs | None = None) -> bool:
        """Whether a point is refused, exactly; `runs` are those of the same point."""
        key = tuple(point.get(stage, 0) for stage in question.touching)
        found = question.judged.get(key)
        if found is None:
            refused = self._at(question, point, {} if runs is None else runs)
            found = question.judged[key] = refused, question.by_aim
        refused, question.by_aim = found
        return refused

    def _at(self, question: Question, point: Point, runs: Runs) -> bool:
        rule, position = question.rule, question.positions[0]
        question.by_aim = False
        if question.asks is Asks.NOTHING:
            return False
        if rule is None:
            run = ExactRun(self.course, point, self.forgets(None))
            run.at(question.name, position)
            return any(left.attribute.name == question.name for left in run.left)
        verdict = self._verdict(self._run(point, runs, None), rule, position)[0]
        if verdict is Verdict.CONFLICT:
            return True
        if self.goal is Goal.DECIDED and verdict is not None and verdict.undecided:
            return True
        if not question.clashed and not any(point.get(stage) for stage in question.touching):
            return False
        if question.must_fit or question.asks is Asks.CLEAR or not self._asked_as_aimed(question):
            verdict, kept = self._verdict(self._run(point, runs, rule), rule, position)
            if verdict is Verdict.CONFLICT:
                return True
            unsaid = {name for name in rule.only_given if not kept[name].given}
            if (
                question.must_fit
                and verdict is not Verdict.FITS
                and (verdict is not None or unsaid)
                and not self._waits(question, point, unsaid or set(missing_in(rule, kept)))
            ):
                return True
        if not self._asked_as_aimed(question):
            return False
        run = self._run(point, runs, rule, aimed=True)
        question.by_aim = self._verdict(run, self.middling(rule), position)[0] is Verdict.CONFLICT
        return question.by_aim

    def _asked_as_aimed(self, question: Question) -> bool:
        """Whether a question must not clash at the figures aimed at."""
        if question.asks < Asks.AIMED:
            return False
        if question.doubtful is None:
            assert question.rule is not None
            facts = {
                name: self.aimed.binding.fact(name, question.positions[0])
                for name in question.rule.inputs
            }
            verdict = verdict_on(self.middling(question.rule), facts, self.knowledge)
            question.doubtful = verdict is Verdict.CONFLICT
        return question.clashed or not question.doubtful

    def _verdict(
        self, run: ExactRun, rule: Rule, position: Position
    ) -> tuple[Verdict | None, dict[str, Fact]]:
        facts = {name: run.at(name, position) for name in rule.inputs}
        return verdict_on(rule, facts, self.knowledge), facts

    def _run(self, point: Point, runs: Runs, rule: Rule | None, *, aimed: bool = False) -> ExactRun:
        """The facts at a point; with a rule, those with what only other stages undo kept."""
        key = None if rule is None else ""
        if rule is not None and any(
            steps and is_remedy(rule, self.course.stage(number)) for number, steps in point.items()
        ):
            key = rule.id
        found = runs.get((key, aimed))
        if found is None:
            forgets = None if rule is None else self.forgets(rule)
            course = self.aimed if aimed else self.course
            found = runs[key, aimed] = ExactRun(course, point, forgets)
        return found

    def forgets(self, rule: Rule | None) -> Forgets:
        """Which stage makes which figure count as not known: a remedy, what the rule reads."""
        if rule is None:
            return lambda stage, name: False
        read = set(filter(None, map(self.course.gathers, rule.inputs)))
        read |= rule.inputs.keys()
        return lambda stage, name: name in read and is_remedy(rule, stage)

    def _waits(self, question: Question, point: Point, lacking: set[str]) -> bool:
        """Whether all that is open is a figure which a remedy, done far enough, undoes."""
        return any(
            point.get(stage, 0) >= needed and lacking & self._undone(stage)
            for stage, needed in question.remedies.items()
        )

    def _undone(self, number: int) -> set[str]:
        stage = self.course.stage(number)
        if stage.swap is not None:
            own = self.knowledge.classes[stage.swap.slot].attributes
            return set(own) | stage.swap.undoes
        assert stage.operation is not None
        return set(map(str, stage.operation.file.undoes)) - set(stage.operation.effects)

    def everywhere(self, question: Question, box: Box) -> bool:
        """Whether every point of a box is surely refused; `box` bounds the acting stages."""
        key = question.by_aim, *box.values()
        found = question.surely.get(key)
        if found is None:
            found = question.surely[key] = self._everywhere(question, box)
        return found

    def _everywhere(self, question: Question, box: Box) -> bool:
        rule, position = question.rule, question.positions[0]
        if question.asks is Asks.NOTHING:
            return False
        if rule is None:
            return ReachRun(self.course, box, self.forgets(None)).at(question.name, position).out
        outlook = self._outlook(rule)
        if self.goal is Goal.DECIDED:
            run = ReachRun(self.course, box)
            facts = {name: run.at(name, position) for name in rule.inputs}
            known = outlook.over(facts)
            said = all(facts[name].given[0] for name in rule.only_given)
            if said and not known.fits and not known.silent:
                return True
        # What surely clashes with figures forgotten does so with the figures kept, and what does
        # whatever they are does so at their middle.
        if (question.by_aim or not question.must_fit) and self._asked_as_aimed(question):
            run = ReachRun(self.aimed, box, self.forgets(rule))
            facts = {name: run.at(name, position) for name in rule.inputs}
            said = all(facts[name].given[0] for name in rule.only_given)
            return self._outlook(self.middling(rule)).over(facts).surely_conflict and said
        run = ReachRun(self.course, box, self.forgets(rule))
        facts = {name: run.at(name, position) for name in rule.inputs}
        kept = outlook.over(facts)
        unsaid = {name for name in rule.only_given if not facts[name].given[0]}
        if kept.surely_conflict and not unsaid:
            return True
        if not question.must_fit or kept.fits or kept.silent:
            return False
        unsure = {name for name, reach in facts.items() if not reach.given[0]}
        if unsure and not unsaid and all(map(_same_throughout, facts.values())):
            corner = {stage: low for stage, (low, _) in box.items()}
            exact = ExactRun(self.course, corner, self.forgets(rule))
            unsure = set(missing_in(rule, self._verdict(exact, rule, position)[1]))
        return not any(
            box[stage][1] >= needed and unsure & self._undone(stage)
            for stage, needed in question.remedies.items()
            if stage in box
        )

    def middling(self, rule: Rule) -> Rule:
        """The rule with each limit on which practice disagrees at the middle of what it may be."""
        key = ("middling", rule.id)
        found: Rule | None = self.knowledge.figures.get(key)
        if found is None:
            found = rule
            for name, limit in rule.limits.items():
                if any(one.interval.width for one in limit.entries.values()):
                    middles = {
                        option: replace(one, interval=Interval.point(one.interval.middle))
                        for option, one in limit.entries.items()
                    }
                    found = with_limit(found, name, middles, limit.source, limit.why, limit.maker)
            if found is not rule:
                found = replace(found, id=f"{rule.id} at the middle")
            self.knowledge.figures[key] = found
        return found

    def _outlook(self, rule: Rule) -> Outlook:
        key = ("outlook", rule.id)
        found = self.knowledge.figures.get(key)
        if found is None:
            found = self.knowledge.figures[key] = Outlook(self.knowledge.condition(rule))
        outlook: Outlook = found
        return outlook


def is_remedy(rule: Rule, stage: Stage) -> bool:
    """Whether a stage is one of the remedies that a rule names; to look at it mends nothing."""
    if stage.swap is not None:
        return any(fix.replace == stage.swap.slot for fix in rule.fixes)
    assert stage.operation is not None
    return not looks(stage.operation) and any(
        fix.operation == stage.operation.id for fix in rule.fixes
    )


def _same_throughout(reach: Reach) -> bool:
    """Whether a fact is given, and which options it leaves open, all over a box."""
    if reach.given[0] != reach.given[1]:
        return False
    return not isinstance(reach.lower[0], int) or reach.upper[0] == reach.upper[1]
