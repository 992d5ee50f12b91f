"""A shop's own limits: read strictly, in place everywhere, counted; waivers' dates and places."""

from datetime import date

import pytest

from fitcheck.check.proofs.examples import examples_of, outcome
from fitcheck.check.proofs.mutants import survivors
from fitcheck.knowledge.house import with_house
from fitcheck.knowledge.load import load_anew
from fitcheck.language import Known, walk
from fitcheck.quantity import KINDS, read_quantity
from fitcheck.source import BadInput
from tests.knowledge.small import written

TODAY = date(2026, 6, 1)
ANSWER = "reason: tried and good, name: A. Foreman"


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    return load_anew(written(tmp_path_factory.mktemp("rules")))


def _house(small, text, today=TODAY):
    return with_house(small, "house.yaml", today, f"house: a shop (invented)\n{text}")


def _problems(small, text):
    with pytest.raises(BadInput) as caught:
        _house(small, text)
    return [
        (f"{problem.place.line}:{problem.place.column}", problem.what)
        for problem in caught.value.problems
    ]


def _inch(text):
    return read_quantity(f"{text} in", KINDS["length"]).interval.middle


def test_a_limit_is_set_everywhere_in_its_rule(small):
    made = _house(small, f"limits:\n  coil_bind.least: {{value: 0.045 in, {ANSWER}}}\n")
    rule, old = made.rules["coil_bind"], small.rules["coil_bind"]
    look_for = rule.fixes[1].look_for
    trees = [
        rule.requires,
        rule.limits["least"].node,
        *rule.message.nodes.values(),
        *look_for.nodes.values(),
    ]
    found = {
        node.interval.lower
        for tree in trees
        for node in walk(tree)
        if isinstance(node, Known) and node.name == "least"
    }
    assert found == {_inch("0.045")}
    # The knowledge it was made from is as before.
    assert {node.interval.lower for node in walk(old.requires) if isinstance(node, Known)} == {
        _inch("0.060")
    }
    assert made.digest != small.digest
    assert "A. Foreman: tried and good" in made.sources[rule.limits["least"].source].words


def test_the_rule_judges_by_the_houses_limit(small):
    made = _house(small, f"limits:\n  coil_bind.least: {{value: 0.050 in, {ANSWER}}}\n")
    told = {}
    for name, knowledge in (("rule", small), ("house", made)):
        rule = knowledge.rules["coil_bind"]
        problems = []
        told[name] = [outcome(rule, example, knowledge, problems) for example in examples_of(rule)]
        assert not problems
    # 1.700 - 0.400 - 1.241 leaves 0.059 in: a clash by the rule, none by the house.
    assert told["rule"] == ["fits", "conflict", "straddles", "unmeasured"]
    assert told["house"] == ["fits", "fits", "fits", "unmeasured"]
    # Its own examples no longer prove it, as they do for the rule as it was.
    assert survivors(small.rules["coil_bind"], small) == []


def test_a_limit_by_choice_is_set_for_the_option_named_only(small):
    made = _house(
        small, f"limits:\n  weak_spring.least: {{values: {{roller: 250 lbf/in}}, {ANSWER}}}\n"
    )
    rule = made.rules["weak_spring"]
    verdicts = [outcome(rule, example, made, []) for example in examples_of(rule)]
    # flat 200, roller 300; flat 199, roller 299; nothing; conical.
    assert verdicts == ["fits", "fits", "conflict", "fits", "unmeasured", "not_applicable"]
    (own,) = made.house.limits
    assert set(own.values) == {"roller"} and own.before["roller"].text == "300 lbf/in"


def test_one_value_for_all_options(small):
    made = _house(small, f"limits:\n  weak_spring.least: {{value: 100 lbf/in, {ANSWER}}}\n")
    rule = made.rules["weak_spring"]
    assert [outcome(rule, example, made, []) for example in examples_of(rule)][:4] == ["fits"] * 4


@pytest.mark.parametrize(
    ("until", "expired"),
    [
        ("2026-06-01", ""),
        ("2026-12-31", ""),
        ("2026-05-31", "expired on 2026-05-31"),
        ("soon", "'soon' is no date as in 2026-03-09, so it counts as expired"),
        ("31.12.2026", "'31.12.2026' is no date as in 2026-03-09, so it counts as expired"),
        ("2026-13-01", "'2026-13-01' is no date as in 2026-03-09, so it counts as expired"),
        ("", "'' is no date as in 2026-03-09, so it counts as expired"),
    ],
)
def test_an_expired_or_malformed_date_ends_a_limit_and_a_waiver(small, until, expired):
    made = _house(
        small,
        f"limits:\n  coil_bind.least: {{value: 0.045 in, {ANSWER}, until: '{until}'}}\n"
        f"waivers:\n  - {{rule: coil_bind, {ANSWER}, until: '{until}'}}\n",
    )
    (limit,), (waiver,) = made.house.limits, made.house.waivers
    assert (limit.answer.expired, waiver.answer.expired) == (expired, expired)
    value = made.rules["coil_bind"].limits["least"].entries[""].interval.lower
    assert value == _inch("0.060" if expired else "0.045")
    assert made.house.counts == f"house limits: 1, waivers: 1, expired: {2 if expired else 0}"


MISTAKES = {
    "no such rule": (
        f"limits:\n  coil_bund.least: {{value: 1 in, {ANSWER}}}",
        "3:3",
        "there is no rule 'coil_bund'",
    ),
    "no such limit": (
        f"limits:\n  coil_bind.most: {{value: 1 in, {ANSWER}}}",
        "3:3",
        "'most' is no limit of 'coil_bind'",
    ),
    "another kind": (
        f"limits:\n  coil_bind.least: {{value: 1 lbf, {ANSWER}}}",
        "3:30",
        "'lbf' is a unit of force, and length is wanted here",
    ),
    "no value": (f"limits:\n  coil_bind.least: {{{ANSWER}}}", "3:3", "a house limit has 'value'"),
    "options where there are none": (
        f"limits:\n  coil_bind.least: {{values: {{flat: 1 in}}, {ANSWER}}}",
        "3:3",
        "a house limit has 'value'",
    ),
    "no such option": (
        f"limits:\n  weak_spring.least: {{values: {{conical: 1 lbf/in}}, {ANSWER}}}",
        "3:32",
        "'conical' is no option of 'least'",
    ),
    "no reason": (
        "limits:\n  coil_bind.least: {value: 1 in, name: me}",
        "3:20",
        "the key 'reason' is missing",
    ),
    "empty reason": (
        "limits:\n  coil_bind.least: {value: 1 in, reason: ' ', name: me}",
        "3:42",
        "the reason is empty",
    ),
    "no name": (
        "waivers:\n  - {rule: coil_bind, reason: x, until: 2027-01-01}",
        "3:5",
        "the key 'name' is missing",
    ),
    "no expiry": (
        f"waivers:\n  - {{rule: coil_bind, {ANSWER}}}",
        "3:5",
        "the key 'until' is missing",
    ),
    "unknown key": (
        f"waivers:\n  - {{rule: coil_bind, {ANSWER}, until: x, wher: y}}",
        None,
        "the key 'wher' is not known here",
    ),
    "waiver of no rule": (
        f"waivers:\n  - {{rule: coil, {ANSWER}, until: 2027-01-01}}",
        "3:12",
        "there is no rule 'coil'",
    ),
    "no position": (
        f"waivers:\n  - {{rule: coil_bind, at: left hand, {ANSWER}, until: 2027-01-01}}",
        "3:27",
        "'left hand' names no position",
    ),
    "no house": ("limits: {}\nhause: x", None, "the key 'hause' is not known here"),
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_told_at_its_place(small, mistake):
    text, place, what = MISTAKES[mistake]
    problems = _problems(small, text)
    assert what in [found for _, found in problems]
    if place is not None:
        assert (place, what) in problems


def test_what_a_seller_says_is_no_clash_to_waive(knowledge):
    claim = next(rule.id for rule in knowledge.rules.values() if rule.family == "claims")
    text = f"house: x\nwaivers:\n  - {{rule: {claim}, {ANSWER}, until: 2027-01-01}}\n"
    with pytest.raises(BadInput, match="judges what a seller says: that is no clash to waive"):
        with_house(knowledge, "house.yaml", TODAY, text)


def test_each_limit_of_the_real_rules_can_be_set(knowledge):
    """Set to the value it has: nothing changes but the source."""
    lines = []
    for rule in knowledge.rules.values():
        for limit in rule.limits.values():
            entries = {option: quantity.text for option, quantity in limit.entries.items()}
            given = (
                f'value: "{entries[""]}"'
                if limit.by is None
                else "values: {"
                + ", ".join(f'{option}: "{text}"' for option, text in entries.items())
                + "}"
            )
            lines.append(f"  {rule.id}.{limit.name}: {{{given}, {ANSWER}}}\n")
    assert len(lines) > 100
    made = with_house(knowledge, "house.yaml", TODAY, "house: x\nlimits:\n" + "".join(lines))
    for rule in knowledge.rules.values():
        for name, limit in rule.limits.items():
            new = made.rules[rule.id].limits[name]
            assert {o: q.interval for o, q in new.entries.items()} == {
                o: q.interval for o, q in limit.entries.items()
            }
            assert new.source == f"house {rule.id}.{name}"
