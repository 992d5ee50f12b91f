"""Ranges: trees walked with ranges hold what the rules say at any figures within them."""

from __future__ import annotations

from random import Random

from fitcheck.check.verdict import CONFLICT, FITS, SILENT, code_on
from fitcheck.model import Evidence, Fact
from fitcheck.plan.reach import Outlook, Reach
from fitcheck.quantity import Interval


def random_fact(attribute, random):
    """A figure or an option, as wide as it comes, given or not."""
    if attribute.kind is None:
        mask = random.randrange(1, 2 ** len(attribute.option_words))
        return Fact(attribute, Evidence.MEASURED, given=True, mask=mask, sure=mask)
    span = attribute.plausible
    steps = sorted(random.randint(0, 64) for _ in range(2))
    low, high = (span.lower + (span.upper - span.lower) * step / 64 for step in steps)
    return Fact.quantity(attribute, random.choice(list(Evidence)[:3]), Interval(low, high))


def test_a_walk_that_is_compiled_says_what_it_said_before(knowledge):
    """And neither ever calls impossible what a rule says of one of the figures themselves."""
    random = Random(5)
    rules = [rule for rule in knowledge.rules.values() if "side" not in rule.inputs]
    clashes = compared = 0
    for rule in random.sample(rules, 40):
        outlook = Outlook(knowledge.condition(rule))
        asked, before = [], []
        for _ in range(30):
            facts = {name: random_fact(knowledge.attributes[name], random) for name in rule.inputs}
            reaches = {name: Reach.of(fact) for name, fact in facts.items()}
            other = {name: random_fact(fact.attribute, random) for name, fact in facts.items()}
            joined = {name: reaches[name].joined(Reach.of(fact)) for name, fact in other.items()}
            asked.append(joined)
            before.append(outlook.over(joined))
            code = code_on(rule, facts, knowledge)
            said = before[-1]
            assert code != FITS or said.fits, rule.id
            if all(facts[name].given for name in rule.only_given):
                assert code != SILENT or said.silent, rule.id
                assert not said.surely_conflict or code == CONFLICT, rule.id
            clashes += said.surely_conflict
        assert outlook._walk._compiled is not None  # walked often enough
        assert [outlook.over(joined) for joined in asked] == before, rule.id
        compared += 1
    assert compared == 40
    assert clashes > 20, "the ranges say too little"
