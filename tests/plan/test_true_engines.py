"""Plans judged by the truth: carried out on engines whose true figures are known.

Each engine is a sound one of tests/engines spoilt by earlier work that went too far. It is
planned from what someone read within each figure's tolerance, the work is done to the shop's
tolerance, and the true engine is checked then. A few here; FITCHECK_TRUE_ENGINES=500 tries as many.
"""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import dataclass, field
from random import Random
from time import monotonic

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.knowledge import Operation
from fitcheck.plan.apply import apply
from fitcheck.plan.planner import make_plan
from fitcheck.plan.work import Work, amount_of, most_steps
from fitcheck.source import BadInput
from tests.engines.judging import engines
from tests.plan.long import LONG
from tests.plan.true_engine import WORKS, Truth

COUNT = int(os.environ.get("FITCHECK_TRUE_ENGINES", "2"))
SECONDS = 20
INCH = 25.4
# Earlier work that went too far, and how far it may have gone: (operation, turned round, most).
SPOILT = (
    ("shim_spring", False, 0.060), ("fit_lower_retainer", False, 0.060),
    ("cut_guide_height", True, 0.150), ("hone_guide", True, 0.0012), ("mill_deck", False, 0.040),
    ("fit_thinner_gasket", False, 0.020), ("deck_block", False, 0.030), ("cut_seat", False, 0.050),
    ("notch_piston", True, 0.080), ("narrow_seat", True, 0.040), ("file_rings", True, 0.010),
    ("fit_longer_pushrod", False, 0.120), ("hone_lifter_bores", True, 0.0012),
)  # fmt: skip
# Rounding of the simulator's floats, as a share.
NEAR = 1e-6


@dataclass
class Verdicts:
    """What came of the plans."""

    tried: int = 0
    planned: int = 0
    sure: int = 0
    late: int = 0
    clashes: list[str] = field(default_factory=list)
    mispredicted: Counter[str] = field(default_factory=Counter)
    unsaid: Counter[str] = field(default_factory=Counter)


def compared(truth: Truth, applied, verdicts: Verdicts, told: str) -> None:
    """Holds every true figure against what is said to hold after the work."""
    for (name, position), value in truth.figures.items():
        if name not in applied.changed and (name, position) not in truth.changed:
            continue
        fact = applied.run.at(name, position)
        if not fact.given or fact.interval is None:
            continue
        changed = (name, position) in truth.changed
        same = fact.statement is not None
        if changed and same:
            verdicts.unsaid[f"{name} by {told}"] += 1
        elif value is not None and not same and _plausible(fact, value):
            slack = NEAR * max(abs(value), 1.0)
            if not fact.interval.lower - slack <= value <= fact.interval.upper + slack:
                verdicts.mispredicted[f"{name} by {told}"] += 1


def _plausible(fact, value: float) -> bool:
    """Whether a true figure is one that such parts have: what is predicted is cut to that."""
    span = fact.attribute.plausible
    return bool(span.lower <= value <= span.upper)


def done(truth: Truth, works, random: Random) -> bool:
    """Carries works out on the true engine; False where one is not simulated."""
    for work in works:
        operation = work.operation
        if operation is None or operation.id not in WORKS:
            return False
        for place in work.positions:
            if operation.amount is None:  # a new insert stands up to 0.010 in too deep
                amount = random.uniform(0, 0.010) * INCH
            else:
                held = float(operation.amount.tolerance)
                amount = float(work.amount) + random.uniform(-held, held)
            WORKS[operation.id](truth, place, amount)
    return True


@pytest.fixture(scope="module")
def sound(knowledge):
    return [read_build(path, knowledge) for path in engines("healthy")]


@LONG
def test_each_operation_alone_leaves_nothing_wrong_unsaid(sound, knowledge):
    """A quarter of its most, everywhere, on an engine of one cylinder and on a four."""
    random, verdicts = Random(3), Verdicts()
    refused = []
    small = sorted(sound, key=lambda build: build.layout.cylinders)[:2]
    for build in small:
        for name in WORKS:
            operation: Operation = knowledge.operations[name]
            truth = Truth.of(build, knowledge)
            read = truth.written(random)
            places = tuple(build.layout.positions(operation.each))
            work = Work(operation, places, amount_of(operation, most_steps(operation) // 4 + 1))
            try:
                applied = apply(read, knowledge, [work])
            except BadInput:
                refused.append(name)  # it would leave what is plausible
                continue
            assert done(truth, applied.works, random)
            compared(truth, applied, verdicts, name)
    assert len(refused) < len(WORKS) // 2
    print(verdicts)
    assert not verdicts.unsaid and not verdicts.mispredicted


def spoilt(build, knowledge, random: Random) -> Truth:
    truth = Truth.of(build, knowledge)
    for name, turned, most in random.sample(SPOILT, random.randint(1, 4)):
        operation = knowledge.operations[name]
        places = build.layout.positions(operation.each)
        chosen = places if random.random() < 0.5 else [random.choice(places)]
        amount = random.uniform(0.4, 1.0) * most * INCH
        for place in chosen:
            WORKS[name](truth, place, -amount if turned else amount)
    for key in [key for key, value in truth.figures.items() if value is None]:
        before = truth.stated[key].value.interval.middle  # measured again, and set right
        truth.figures[key] = float(before)
    truth.changed.clear()
    return truth


def judged(build, knowledge, random: Random, verdicts: Verdicts) -> None:
    truth = spoilt(build, knowledge, random)
    whole = check_build(truth.written(None), knowledge)
    if any(finding.rule.ways for finding in whole.conflicts):
        return  # what was set right belongs to another part: no engine measures so
    check = check_build(truth.written(random), knowledge)
    if not check.conflicts:
        return
    verdicts.tried += 1
    start = monotonic()
    outcome = make_plan(check, objective="hours", seconds=SECONDS)
    verdicts.late += not outcome.proven and outcome.plan is None
    if monotonic() - start > 1.6 * SECONDS:
        verdicts.late += 1
    plan = outcome.plan
    if plan is None or not done(truth, plan.applied.works, random):
        return
    verdicts.planned += 1
    compared(truth, plan.applied, verdicts, "+".join(w.operation.id for w in plan.applied.works))
    if plan.conditions or outcome.less:
        return
    verdicts.sure += 1
    after = check_build(truth.written(None), knowledge)
    open_before = {finding.rule.id for finding in plan.after.undecided}
    for finding in after.conflicts:
        if finding.rule.severity != "advice" and finding.rule.id not in open_before:
            verdicts.clashes.append(f"{build.title}: {finding.rule.id}")


@LONG
def test_plans_end_as_they_say(sound, knowledge):
    random, verdicts = Random(29), Verdicts()
    number, small = 0, sorted(sound, key=lambda build: build.layout.cylinders)
    chosen = sound if COUNT > 10 else small[2:6]
    while verdicts.planned < COUNT and number < 6 * COUNT:
        judged(chosen[number % len(chosen)], knowledge, Random(random.random()), verdicts)
        number += 1
    print(verdicts)
    assert verdicts.planned
    assert not verdicts.clashes and not verdicts.mispredicted and not verdicts.unsaid
    if COUNT >= 50:
        assert verdicts.late <= COUNT // 50
