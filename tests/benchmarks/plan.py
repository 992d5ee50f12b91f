"""How long plans take: against checks, with conflicts, with the catalog, against a solver.

`twelve`: a plan of 12 operations against 1 000 checks of the same build. `conflicts` and `catalog`:
tables of growth. `solver`: the search against HiGHS choosing among the same reasons, on the
invented builds. `builds`: 1 000 random builds, each plan checked again. All without a name.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from random import Random
from time import process_time

from fitcheck.check import check_build, read_build
from fitcheck.check.supposing import suppose_all
from fitcheck.knowledge import Knowledge, load_knowledge
from fitcheck.model import EngineBuild
from fitcheck.plan.planner import Planner, PlanOutcome, make_plan
from fitcheck.plan.prices import Offer, Prices, read_prices
from fitcheck.plan.question import Goal
from fitcheck.plan.questions import Questions
from fitcheck.quantity import Interval
from tests.benchmarks.plan_solver import by_solver
from tests.benchmarks.timing import aim
from tests.plan.test_many_builds import BUILDS, LIBRARIES, tried

AIM = 10.0
CHECKS = 1000
DEMOS = Path(__file__).parents[2] / "catalog_demo"
# Faults beside the boat's own that each take another operation to mend.
FAULTS = (
    "seat.width@intake=0.130 in",
    "guide.bore@2 intake=0.3716 in",
    "valve.stem_diameter@2 intake=0.3715 in",
)


def demo(name: str, knowledge: Knowledge) -> tuple[EngineBuild, Prices]:
    build = read_build(DEMOS / name / "build.yaml", knowledge)
    return build, read_prices(DEMOS / name / "prices.yaml", knowledge, build.layout)


def seconds(run: Callable[[], object]) -> tuple[float, object]:
    """Processor time of one call, and what it gives."""
    start = process_time()
    found = run()
    return process_time() - start, found


# A plan of 12 operations against checks.


def twelve(knowledge: Knowledge) -> list[str]:
    build, prices = demo("service_boat", knowledge)
    build = suppose_all(build, FAULTS, knowledge).build
    check = check_build(build, knowledge)
    make_plan(check, prices)  # warm
    taken, outcome = seconds(lambda: make_plan(check, prices))
    assert isinstance(outcome, PlanOutcome)
    assert outcome.plan is not None
    count = len(outcome.plan.works)
    checks, _ = seconds(lambda: [check_build(build, knowledge) for _ in range(CHECKS // 10)])
    checks *= 10
    print(
        f"\n{len(check.conflicts)} clashes, a plan of {count} operations: {taken:.2f} s "
        f"({outcome.looked_at} looked at, proven: {outcome.proven}); {CHECKS} checks: {checks:.2f} s"
    )
    return [aim(f"a plan of {count} operations over {CHECKS} checks", taken / checks, AIM)]


# Growth.


def conflicts(knowledge: Knowledge) -> list[str]:
    """The boat with its faults, of which only some are asked about: medians of three drawings."""
    build, prices = demo("service_boat", knowledge)
    build = suppose_all(build, FAULTS, knowledge).build
    clashing = sorted({one.rule.id for one in check_build(build, knowledge).conflicts})
    print("\nrules that clash  seconds  operations  stages  looked at  reasons")
    for count in (*range(2, len(clashing), 4), len(clashing)):
        rows = []
        for seed in range(3):
            unasked = set(clashing) - set(Random(seed).sample(clashing, count))
            asked = {id_: rule for id_, rule in knowledge.rules.items() if id_ not in unasked}
            own = knowledge.with_rules(asked)
            check = check_build(build, own)
            taken, outcome = seconds(lambda check=check: make_plan(check, prices, seconds=120))
            assert isinstance(outcome, PlanOutcome)
            assert outcome.plan is not None and outcome.proven
            rows.append((taken, outcome))
        taken, outcome = sorted(rows, key=lambda row: row[0])[1]
        print(
            f"{count:16}  {taken:7.2f}  {len(outcome.plan.works):10}"
            f"  {len(outcome.planner.stages.list):6}  {outcome.looked_at:9}"
            f"  {len(outcome.clauses):7}"
        )
    return []


def catalog(knowledge: Knowledge) -> list[str]:
    """The truck with more and more springs on offer, each a little other than the two there are."""
    build, prices = demo("work_truck", knowledge)
    check = check_build(build, knowledge)
    print("\nparts on offer  seconds  looked at  reasons  cost")
    for count in (3, 10, 30, 100, 300, 1000):
        own = replace(prices, offers=(*prices.offers, *_more(prices, count - 3)))
        taken, outcome = seconds(lambda own=own: make_plan(check, own, seconds=600))
        assert isinstance(outcome, PlanOutcome)
        assert outcome.plan is not None and outcome.proven
        print(
            f"{count:14}  {taken:7.2f}  {outcome.looked_at:9}  {len(outcome.clauses):7}"
            f"  {float(outcome.plan.cost[0]):.2f}"
        )
    return []


def _more(prices: Prices, count: int) -> list[Offer]:
    random, springs = Random(5), [one for one in prices.offers if one.swap.slot == "spring"]
    found = []
    for number in range(count):
        like = random.choice(springs)
        factor = Fraction(random.randint(850, 1150), 1000)
        statements = tuple(
            replace(one, value=replace(one.value, interval=_scaled(one.value.interval, factor)))
            if one.attribute.name in ("spring.load_1", "spring.rate")
            else one
            for one in like.swap.statements
        )
        swap = replace(like.swap, name=f"springs {number} (invented)", statements=statements)
        found.append(Offer(swap, Fraction(random.randint(90, 220))))
    return found


def _scaled(interval: Interval, factor: Fraction) -> Interval:
    return Interval(interval.lower * factor, interval.upper * factor)


# The search against a solver.


def solver(knowledge: Knowledge) -> list[str]:
    """The same judge and the same reasons; HiGHS picks the cheapest point that keeps them all."""
    print("\n                  search s   HiGHS s   cost          looked at by each")
    for name in ("work_truck", "service_boat", "hill_climb_four"):
        build, prices = demo(name, knowledge)
        check = check_build(build, knowledge)
        outcome = make_plan(check, prices)
        stages = outcome.planner.stages.list
        operations = {s.operation.id: s.operation for s in stages if s.operation is not None}
        results = []
        for solve in (_by_search, by_solver):
            planner = Planner(check, prices, "price", operations.values())
            questions = planner.questions(Goal.MENDED)
            less = {question.key: question.asks for question in outcome.less}
            for question in questions.all:
                question.ask(min(question.asks, less.get(question.key, question.asks)))
            questions.give_up(())
            taken, found = seconds(lambda s=solve, p=planner, q=questions: s(p, q))
            results.append((taken, found))
        (one, (cost, looked)), (two, (other, asked)) = results
        print(
            f"{name:16}  {one:8.2f}  {two:8.2f}   {float(cost):8.2f} {float(other):8.2f}   "
            f"{looked} {asked}"
        )
        assert cost == other
    return []


def _by_search(planner: Planner, questions: Questions) -> tuple[Fraction, int]:
    found = planner.search(questions.judge)
    return found.cost[0], found.looked_at


def builds(knowledge: Knowledge) -> list[str]:
    planned = worked = 0
    with tempfile.TemporaryDirectory() as folder:
        for library in range(LIBRARIES):
            found = tried(Path(folder) / str(library), library, BUILDS // LIBRARIES)
            planned, worked = planned + found[0], worked + found[1]
    print(
        f"\n{BUILDS} random builds: {planned} plans, {worked} of them with work, and none left a "
        "clash when its build was checked again"
    )
    return []


PARTS = {one.__name__: one for one in (twelve, conflicts, catalog, solver, builds)}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("part", nargs="?", choices=tuple(PARTS))
    options = parser.parse_args()
    knowledge = load_knowledge(None)
    aims = []
    for name, part in PARTS.items():
        if options.part in (None, name):
            aims += part(knowledge)
    print("\n" + "\n".join(aims) if aims else "")


if __name__ == "__main__":
    main()
