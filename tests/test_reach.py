"""How far a figure can go: just inside an end nothing conflicts, just outside the rule named does."""

from __future__ import annotations

from random import Random

from fitcheck.check import Verdict, check_build
from fitcheck.knowledge import load_knowledge
from fitcheck.plan.howfar import how_far, suppose
from tests.builds import random_builds

BUILDS = 6
ATTRIBUTES = 4


def test_ends_are_where_the_verdicts_turn() -> None:
    knowledge = load_knowledge()
    random = Random(11)
    figures = [
        a
        for a in knowledge.attributes.values()
        if a.kind and len(knowledge.readers.get(a.name, ())) > 1
    ]
    ends = 0
    for build in random_builds(knowledge, seed=3, count=BUILDS):
        for attribute in random.sample(figures, ATTRIBUTES):
            found = how_far(build, knowledge, attribute)
            hopeless = {(one.rule.id, p) for one in found.hopeless for p in one.positions}
            rules = [
                rule
                for rule in knowledge.readers[attribute.name]
                if rule.severity != "advice" and rule.family != "claims" and rule.ways is None
            ]

            def conflicts(
                step: int,
                attribute=attribute,
                build=build,
                rules=rules,
                found=found,
                hopeless=hopeless,
            ) -> set[str]:
                supposed = build.supposing([suppose(attribute, found.values[step])])
                check = check_build(supposed, knowledge, rules)
                clashing = (f for f in check.findings if f.verdict is Verdict.CONFLICT)
                places = {(f.rule.id, p) for f in clashing for p in f.positions}
                return {rule for rule, _ in places - hopeless}

            for stretch in found.possible:
                assert not conflicts(stretch.first), attribute.name
                assert not conflicts(stretch.last), attribute.name
                for step, binders in (
                    (stretch.first - 1, stretch.below),
                    (stretch.last + 1, stretch.above),
                ):
                    if binders:
                        assert {one.rule.id for one in binders} <= conflicts(step), attribute.name
                        ends += 1
    assert ends >= 10
