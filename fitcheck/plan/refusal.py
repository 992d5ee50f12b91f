"""Whether a choice of works leaves a question badly answered: at a point, or all over a box."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from fitcheck.check.needs import missing_in
from fitcheck.check.verdict import code_on
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.knowledge.limits import with_limit
from fitcheck.language import CONFLICT, FITS, SILENT
from fitcheck.model import Fact
from fitcheck.plan.course import Aimed, Course, Forgets, Stage
from fitcheck.plan.question import Goal, Question, Strictness
from fitcheck.plan.reach import Outlook, Reach
from fitcheck.plan.runs import ExactRun, ReachRun
from fitcheck.plan.search import Point
from fitcheck.plan.walk import Run, Shared, V
from fitcheck.plan.work import looks
from fitcheck.quantity import Interval

Box = Mapping[int, tuple[int, int]]
NOTHING_FORGOTTEN = Forgets()


class Walks:
    """The walks through one point, for the questions that share them.

    They are told apart by what is forgotten: all that is undone (None), nothing (""), or what a
    rule's own remedies undo (its name); and by whether they are at the figures aimed at.
    """

    def __init__(self, point: Point) -> None:
        self.point = point
        self.runs: dict[tuple[str | None, bool], ExactRun] = {}
        self._done: dict[frozenset[int], frozenset[tuple[int, int]]] = {}

    def done(self, reached: frozenset[int]) -> frozenset[tuple[int, int]]:
        """The stages done among some, each with its steps."""
        done = self._done.get(reached)
        if done is None:
            made = (one for one in self.point.items() if one[1] and one[0] in reached)
            done = self._done[reached] = frozenset(made)
        return done


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
        self._forgets: dict[str, Forgets] = {}
        self._named: dict[str, list[Stage]] = {}  # by the operation, or the slot of the part
        for stage in course.stages:
            name = stage.swap.slot if stage.swap is not None else ""
            name = stage.operation.id if stage.operation is not None else name
            self._named.setdefault(name, []).append(stage)
        self._exact: dict[bool, Shared[Fact]] = {False: {}, True: {}}
        self._reaches: dict[bool, Shared[Reach]] = {False: {}, True: {}}

    def at(self, question: Question, point: Point, walks: Walks | None = None) -> bool:
        """Whether a point is refused, exactly; `walks` are those of the same point."""
        walks = walks or Walks(point)
        done = walks.done(question.reached)
        verdict = question.judged.get(done)
        if verdict is None:
            refused = self._at(question, walks)
            verdict = question.judged[done] = refused, question.by_aim
        refused, question.by_aim = verdict
        return refused

    def _at(self, question: Question, walks: Walks) -> bool:
        rule, position = question.rule, question.positions[0]
        question.by_aim = False
        if question.asks is Strictness.NOTHING:
            return False
        if rule is None:
            run = ExactRun(self.course, walks.point, self.forgets(None))
            run.at(question.name, position)
            return any(left.attribute.name == question.name for left in run.left)
        touched = bool(walks.done(question.reached))
        plain = not question.clashed and question.asks is Strictness.AIMED
        if (
            plain
            and touched
            and self.goal is not Goal.DECIDED
            and not self._clashes_as_aimed(question, rule, walks)
        ):
            return False  # what surely clashes does so at the figures aimed at too
        code = self._code(question, self._run(walks, None), rule)[0]
        if code == CONFLICT or (self.goal is Goal.DECIDED and code not in (FITS, SILENT)):
            return True
        if not question.clashed and not touched:
            return False
        aimed = self._asked_as_aimed(question)
        if question.must_fit or not aimed:
            code, kept = self._code(question, self._run(walks, rule), rule)
            if code == CONFLICT:
                return True
            unsaid = {name for name in rule.only_given if not kept[name].given}
            if (
                question.must_fit
                and code != FITS
                and (code != SILENT or unsaid)
                and not self._waits(question, walks.point, unsaid or set(missing_in(rule, kept)))
            ):
                return True
        if aimed:
            question.by_aim = self._clashes_as_aimed(question, rule, walks)
        return question.by_aim

    def clashes_as_aimed(self, question: Question, rule: Rule, point: Point) -> bool:
        """Whether a question's rule clashes at the figures aimed at."""
        return self._clashes_as_aimed(question, rule, Walks(point))

    def _clashes_as_aimed(self, question: Question, rule: Rule, walks: Walks) -> bool:
        run = self._run(walks, rule, aimed=True)
        return self._code(question, run, self.middling(rule))[0] == CONFLICT

    def _asked_as_aimed(self, question: Question) -> bool:
        """Whether a question must not clash at the figures aimed at."""
        if question.asks < Strictness.AIMED:
            return False
        if question.doubtful is None:
            assert question.rule is not None
            facts = {
                name: self.aimed.binding.fact(name, question.positions[0])
                for name in question.rule.inputs
            }
            code = code_on(self.middling(question.rule), facts, self.knowledge)
            question.doubtful = code == CONFLICT
        return question.clashed or not question.doubtful

    def _code(self, question: Question, run: ExactRun, rule: Rule) -> tuple[int, dict[str, Fact]]:
        facts = self._facts(question, run)
        return code_on(rule, facts, self.knowledge), facts

    def _facts(self, question: Question, run: Run[V]) -> dict[str, V]:
        """What a question reads, and what of it has not changed since it was last asked for.

        That is what no stage reaches of which more or less is done now.
        """
        assert question.rule is not None
        key = type(run), run.course.aimed, run.forgetting
        last, facts = question.facts.get(key, ({}, {}))
        now = run.amounts
        changed = [stage for stage, _ in now.items() ^ last.items()]
        position = question.positions[0]
        after_work = {
            name: facts[name]
            if name in facts and self.course.reached(name, position).isdisjoint(changed)
            else run.at(name, position)
            for name in question.rule.inputs
        }
        question.facts[key] = dict(now), after_work
        return after_work

    def _run(self, walks: Walks, rule: Rule | None, *, aimed: bool = False) -> ExactRun:
        """The facts at a point; with a rule, those with what only other stages undo kept."""
        forgets = None if rule is None else self.forgets(rule)
        key = None if forgets is None else forgets.name
        if forgets is not None and not walks.done(forgets.stages):
            key = ""
        run = walks.runs.get((key, aimed))
        if run is None:
            course = self.aimed if aimed else self.course
            run = ExactRun(course, walks.point, forgets, self._exact[aimed])
            walks.runs[key, aimed] = run
        return run

    def forgets(self, rule: Rule | None) -> Forgets:
        """Which stage makes which figure count as not known: a remedy, what the rule reads."""
        if rule is None:
            return NOTHING_FORGOTTEN
        forgotten = self._forgets.get(rule.id)
        if forgotten is None:
            read = {*rule.inputs, *filter(None, map(self.course.gathers, rule.inputs))}
            named = {fix.operation or fix.replace for fix in rule.fixes}
            near = (one for name in named for one in self._named.get(name, ()))
            stages = frozenset(one.number for one in near if is_remedy(rule, one))
            forgotten = self._forgets[rule.id] = Forgets(rule.id, stages, frozenset(read))
        return forgotten

    def _reach(self, box: Box, forgets: Forgets | None = None, *, aimed: bool = False) -> ReachRun:
        course = self.aimed if aimed else self.course
        return ReachRun(course, box, forgets, self._reaches[aimed])

    def _waits(self, question: Question, point: Point, lacking: set[str]) -> bool:
        """Whether all that is open is a figure which a remedy, done far enough, undoes."""
        return any(
            point.get(stage, 0) >= needed and lacking & self._undone(stage)
            for stage, needed in question.remedies.items()
        )

    def _undone(self, number: int) -> set[str]:
        stage = self.course.stage(number)
        if stage.swap is not None:
            attributes = self.knowledge.classes[stage.swap.slot].attributes
            return set(attributes) | stage.swap.undoes
        assert stage.operation is not None
        return set(map(str, stage.operation.file.undoes)) - set(stage.operation.effects)

    def brings(self, question: Question, number: int) -> object:
        """What a part on offer does to a question: the same for parts that it can't tell apart."""
        swap = self.course.stage(number).swap
        if swap is None or question.rule is None:
            return number
        attributes = self.knowledge.classes[swap.slot].attributes
        read = self.course.read_by_effects.union(question.rule.inputs)
        facts = [
            self.course.swapped(self.course.stage(number), name, question.positions[0])
            for name in attributes
            if name in read
        ]
        ends = [(one.given, one.end("lower"), one.end("upper"), one.rank) for one in facts]
        return (
            swap.slot,
            swap.side,
            swap.keeps,
            swap.undoes,
            tuple(swap.shifts.items()),
            tuple(ends),
        )

    def everywhere(self, question: Question, box: Box) -> bool:
        """Whether every point of a box is surely refused; `box` bounds the acting stages.

        One that is not in it, or up to nothing, is not done.
        """
        box = {stage: span for stage, span in box.items() if span[1]}
        key = question.by_aim, frozenset(box.items())
        refused = question.surely.get(key)
        if refused is None:
            refused = question.surely[key] = self._everywhere(question, box)
        return refused

    def _everywhere(self, question: Question, box: Box) -> bool:
        rule, position = question.rule, question.positions[0]
        if question.asks is Strictness.NOTHING:
            return False
        if rule is None:
            return self._reach(box, self.forgets(None)).at(question.name, position).out
        outlook = self._outlook(rule)
        if self.goal is Goal.DECIDED:
            run = self._reach(box)
            facts = self._facts(question, run)
            known = outlook.over(facts)
            said = all(facts[name].given[0] for name in rule.only_given)
            if said and not known.fits and not known.silent:
                return True
        if (question.by_aim or not question.must_fit) and self._asked_as_aimed(question):
            run = self._reach(box, self.forgets(rule), aimed=True)
            facts = self._facts(question, run)
            said = all(facts[name].given[0] for name in rule.only_given)
            return self._outlook(self.middling(rule)).over(facts).surely_conflict and said
        run = self._reach(box, self.forgets(rule))
        facts = self._facts(question, run)
        kept = outlook.over(facts)
        unsaid = {name for name in rule.only_given if not facts[name].given[0]}
        if kept.surely_conflict and not unsaid:
            return True
        if not question.must_fit or kept.fits or kept.silent:
            return False
        unsure = {name for name, reach in facts.items() if not reach.given[0]}
        if unsure and not unsaid and all(map(_same_throughout, facts.values())):
            corner = {stage: low for stage, (low, _) in box.items()}
            exact = ExactRun(self.course, corner, self.forgets(rule), self._exact[False])
            unsure = set(missing_in(rule, self._facts(question, exact)))
        return not any(
            box[stage][1] >= needed and unsure & self._undone(stage)
            for stage, needed in question.remedies.items()
            if stage in box
        )

    def middling(self, rule: Rule) -> Rule:
        """The rule with each limit on which practice disagrees at the middle of what it may be."""
        key = ("middling", rule.id)
        at_middle: Rule | None = self.knowledge.figures.get(key)
        if at_middle is None:
            at_middle = rule
            for name, limit in rule.limits.items():
                if any(one.interval.width for one in limit.entries.values()):
                    middles = {
                        option: replace(one, interval=Interval.point(one.interval.middle))
                        for option, one in limit.entries.items()
                    }
                    at_middle = with_limit(
                        at_middle, name, middles, limit.source, limit.why, limit.maker
                    )
            if at_middle is not rule:
                at_middle = replace(at_middle, id=f"{rule.id} at the middle")
            self.knowledge.figures[key] = at_middle
        return at_middle

    def _outlook(self, rule: Rule) -> Outlook:
        key = ("outlook", rule.id)
        kept = self.knowledge.figures.get(key)
        if kept is None:
            kept = self.knowledge.figures[key] = Outlook(self.knowledge.condition(rule))
        outlook: Outlook = kept
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
