"""What leaves no plan is truly contradictory, and with any one piece gone it is not.

Each proof is put to the reckoning that tries every plan, which shares no code with the planner.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

from fitcheck.knowledge.load import load_anew
from fitcheck.plan.contradiction import contradiction
from fitcheck.plan.question import Goal
from fitcheck.plan.work import order_of
from tests.plan.library import random_demands, random_works, written
from tests.plan.long import LONG
from tests.plan.reckoned import Case, cheapest
from tests.plan.test_exhaustive import planned, random_case

CASES = 60


@LONG
def test_proofs_are_true_and_smallest(tmp_path_factory):
    random, shown = Random(3), 0
    for seed in range(20, 24):
        works = random_works(Random(seed), 8)
        demands = random_demands(Random(seed), 14, works, linear=False)
        knowledge = load_anew(written(tmp_path_factory.mktemp(f"proof{seed}"), works, demands))
        for _ in range(CASES // 4):
            case = random_case(random, works, demands, order_of(knowledge))
            _, planner, *_ = planned(knowledge, case, Goal.MENDED)
            outcome = planner.outcome(Goal.MENDED, None, None, whole=True)
            proof = contradiction(outcome)
            if proof is None:
                continue
            assert proof.minimal
            only = {(q.title, p.side or "") for q in proof.questions for p in q.positions}
            told = {fact.attribute.name for fact in proof.facts}
            assert impossible(case, only, told)
            for question in proof.questions:
                gone = {(question.title, p.side or "") for p in question.positions}
                assert not impossible(case, only - gone, set_of_all(case)), question.title
            for name in told:
                assert not impossible(case, only, told - {name}), name
            shown += 1
    assert shown > 10, "the cases say too little"


def set_of_all(case: Case) -> set[str]:
    return {name for name, _ in case.facts} | {"valve.r"}


def impossible(case: Case, only: set[tuple[str, str]], told: set[str]) -> bool:
    facts = {key: value for key, value in case.facts.items() if key[0] in told}
    ratios = case.ratios if "valve.r" in told else {}
    return cheapest(replace(case, facts=facts, ratios=ratios, only=only), "clear") is None
