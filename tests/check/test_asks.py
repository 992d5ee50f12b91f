"""What to ask first: nothing useless is asked for, and the first ask is worth its minutes.

The rules themselves are the judges: each way to settle a question is asked of them again, and what
a set of figures settles for its minutes is reckoned by trying true values, drawn without a look at
how the ranking came about.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from pathlib import Path
from random import Random
from types import SimpleNamespace

import pytest

from fitcheck.check import BuildCheck, RuleFinding, check_build, read_build, recheck
from fitcheck.check.bind import Binding
from fitcheck.check.likely import Likely
from fitcheck.check.measuring.asks import Ask, MissingFigures, Reason, asks, single
from fitcheck.check.measuring.fineness import DRAWS
from fitcheck.check.measuring.outcomes import Outcomes, outcomes_of
from fitcheck.check.measuring.places import minutes
from fitcheck.check.verdict import verdict_on
from fitcheck.knowledge.load import load_anew
from fitcheck.model import EngineBuild, Evidence, Fact, Origin, Part, Position, Selector, Statement
from fitcheck.quantity import Interval, Quantity
from tests.builds import random_build
from tests.knowledge.small import changed, written
from tests.plan.long import LONG

DEMOS = Path(__file__).parents[2] / "catalog_demo"
FEW_FIGURES = 6
PLACES = (0.0, 0.2, 0.5, 0.8, 1.0)


def undecided(finding: RuleFinding, readings: dict[str, Fact]) -> bool:
    """Whether the rule, asked anew, gives no answer with these readings."""
    facts = {**finding.facts, **readings}
    verdict = verdict_on(finding.rule, facts, finding.knowledge)
    return verdict is not None and verdict.undecided


def proved(found: MissingFigures) -> int:
    """Every way decides, and leaves the answer open without any one of its readings."""
    ways = {id(way): way for ask in found.ranked for way in ask.ways}
    for way in ways.values():
        readings = {name: reading.fact() for name, reading in way.readings.items()}
        assert not undecided(way.finding, readings)
        for name, fact in readings.items():
            rest = {other: one for other, one in readings.items() if other != name}
            assert undecided(way.finding, rest)
            assert possible(outcomes_of(way.finding.facts[name], way.finding.knowledge), fact)
    return len(ways)


def possible(outcomes: Outcomes | None, reading: Fact) -> bool:
    """Whether a reading lies within what is open and is no finer than the procedure tells."""
    assert outcomes is not None
    if outcomes.fact.interval is None:
        return reading.mask & ~outcomes.fact.mask == 0
    width = float(reading.interval.width)
    return reading.interval.within(outcomes.fact.interval) and (
        outcomes.relative
        or outcomes.attribute.kind.name == "count"
        or width >= 2 * outcomes.spread * (1 - 1e-9)
    )


# Small rules: every figure that some readings on a grid show to settle something is in the list.


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    return load_anew(written(tmp_path_factory.mktemp("small")))


def of_parts(knowledge, *parts: str) -> BuildCheck:
    text = "build: b\ncylinders: '1'\ncomplete: 'yes'\nparts:\n" + "".join(
        f"  {part}\n" for part in parts
    )
    return check_build(read_build("b.yaml", knowledge, text), knowledge)


SMALL_BUILDS = [
    ("spring: {}", "cam: {}"),
    ("spring: {claimed: {installed_height: 1.700 in}}", "cam: {}"),
    ("spring: {measured: {solid_height: 1.240 in}}", "cam: {measured: {lobe_lift: 0.400 in}}"),
    ("spring: {claimed: {rate: 210 lbf/in, shape: straight}}", "cam: {}"),
    ("spring: {claimed: {rate: 250 lbf/in}}", "cam: {claimed: {lobe_type: flat}}"),
    ("spring: {measured: {shape: conical}}", "cam: {}", "shim: {measured: {thickness: 0.060 in}}"),
    (
        "spring: {measured: {installed_height: 1.700 in, solid_height: 1.235..1.245 in}}",
        "cam: {claimed: {lobe_lift: 0.400 in}}",
        "shim: {}",
    ),
]


@pytest.mark.parametrize("parts", SMALL_BUILDS, ids=str)
def test_on_small_rules_just_what_settles_something_is_asked_for(small, parts):
    check = of_parts(small, *parts)
    found = MissingFigures(check)
    assert proved(found)
    for finding in check.all_findings:
        if finding.verdict.undecided:
            asked = {name for ask in found.ranked for name in names_for(ask, finding)}
            assert asked <= on_a_grid(finding)
            assert asked


RULE = """\
title: {figure} is out
subject: {figure}
severity: {severity}
requires: {figure} <= most
limits: {{most: {{value: {most}, source: practice, why: as is common}}}}
message: It is {{{figure}}}.
why: A rule with one figure.
fixes: [{{replace: spring, note: another}}]
examples:
  fits: [{{{figure}: {most}}}]
  conflict: [{{{figure}: {over}}}]
  unmeasured: [{{}}]
"""
BENCH = """\
card: {title: card, tool: card, setup: desk, steps: [Read it.], resolution: none, minutes: 2, source: practice}
scale: {title: scale, tool: scale, setup: desk, steps: [Read it.], resolution: 1 lbf/in, minutes: 3, source: practice}
height_micrometer: {title: micrometer, tool: micrometer, setup: desk, steps: [Read it.], resolution: none,
                    minutes: 2, source: practice}
"""


def first_asked(folder: Path, tall: str, stiff: str, spring: str, bench: str = "card") -> str:
    """The first figure asked for, of two rules that read one each, as grave as is told."""
    tall_rule = RULE.format(
        figure="spring.solid_height", severity=tall, most="1.250 in", over="1.251 in"
    )
    stiff_rule = RULE.format(
        figure="spring.rate", severity=stiff, most="525 lbf/in", over="526 lbf/in"
    )
    spring_file = changed(
        "classes/spring.yaml", "claim: +-5 %, measure: card", f"claim: +-5 %, measure: {bench}"
    )
    own = {
        "fits/springs/tall.yaml": tall_rule,
        "fits/springs/stiff.yaml": stiff_rule,
        "measuring/bench.yaml": BENCH,
        **spring_file,
    }
    knowledge = load_anew(written(folder, own))
    text = f"build: b\ncylinders: '1'\ncomplete: 'yes'\nparts:\n  spring: {spring}\n"
    rules = [knowledge.rules[name] for name in ("tall", "stiff")]
    found = asks(check_build(read_build("b.yaml", knowledge, text), knowledge, rules))
    assert {one.attribute.name for one in found} == {"spring.solid_height", "spring.rate"}
    return found[0].attribute.name


def test_the_figure_of_the_graver_rule_is_asked_for_first(tmp_path):
    assert first_asked(tmp_path / "a", "serious", "advice", "{}") == "spring.solid_height"
    assert first_asked(tmp_path / "b", "advice", "serious", "{}") == "spring.rate"


def test_a_rule_weighs_no_more_where_its_valves_differ(tmp_path):
    """Two groups of a valve each are as many places as one group of both: the quicker comes first."""
    apart = "{claimed: {rate: {intake: 400..600 lbf/in, exhaust: 410..600 lbf/in}}}"
    asked = first_asked(tmp_path, "serious", "serious", apart, bench="scale")
    assert asked == "spring.solid_height"


def names_for(ask: Ask, finding: RuleFinding) -> set[str]:
    return {name for way in ask.ways if way.finding is finding for name in way.readings}


def inputs_of(finding: RuleFinding) -> dict[str, Outcomes]:
    """What can be learnt for it; a maker's own figure silences the rule and says nothing."""
    found = {n: outcomes_of(fact, finding.knowledge) for n, fact in finding.facts.items()}
    silencing = finding.rule.unless_given
    return {n: one for n, one in found.items() if one is not None and n not in silencing}


def on_a_grid(finding: RuleFinding) -> set[str]:
    """The inputs that some readings need to decide."""
    names: set[str] = set()
    inputs = inputs_of(finding)
    random = Random(finding.rule.id)
    for _ in range(400):
        read = {n: at(one, random) for n, one in inputs.items() if random.random() < 0.7}
        if not undecided(finding, read):
            names |= {n for n in read if undecided(finding, {o: read[o] for o in read if o != n})}
    return names


def at(one: Outcomes, random: Random) -> Fact:
    return one.at(random.random() if one.choices else random.choice(PLACES)).fact()


# Random builds.


def small_build(knowledge, random: Random, rules, title: str) -> EngineBuild:
    """A random build of the parts that some rules read, and the engine."""
    slots = {slot for rule in rules for slot in rule.slots}
    classes = {name: one for name, one in knowledge.classes.items() if name in slots}
    return random_build(
        SimpleNamespace(classes=classes), random, random.choice([0.2, 0.5, 0.8]), title
    )


@pytest.mark.parametrize("few", [pytest.param(True, marks=LONG), False])
def test_on_random_builds_every_ask_can_change_an_answer(knowledge, few):
    random = Random(few)
    rules = [
        rule
        for rule in knowledge.rules.values()
        if (len(rule.inputs) <= FEW_FIGURES) is few
        and rule.id != "valve_near_piston"  # each answer of that one takes long
    ]
    ways = 0
    for number in range(40 if few else 10):
        some = random.sample(rules, 4)
        build = small_build(knowledge, random, some, f"{few}/{number}")
        ways += proved(MissingFigures(check_build(build, knowledge, some)))
    assert ways > 25


@LONG
def test_no_figures_settle_more_stops_for_their_minutes_than_those_asked_for_first(knowledge):
    # True values are drawn for all figures; of every one and every two of them it is counted how
    # many open STOPs they settle, over many truths, for each minute that they take.
    random = Random(7)
    stops = [
        rule
        for rule in knowledge.rules.values()
        if rule.severity == "stop"
        and len(rule.inputs) <= FEW_FIGURES
        and not (rule.by_work or rule.by_look)
    ]
    nearly = judged = 0
    for number in range(32):
        some = random.sample(stops, 4)
        build = with_every_part(small_build(knowledge, random, some, f"{number}"), knowledge)
        check = check_build(build, knowledge, some)
        ranked = [ask for ask in MissingFigures(check).ranked if ask.reason is Reason.STOP]
        worth = settled_a_minute(check, random)
        if ranked and max(worth.values(), default=0.0) > 0:
            first = max(worth[names] for names in worth if ranked[0].attribute.name in names)
            nearly += first > 0.7 * max(worth.values())
            judged += 1
    assert judged > 12
    assert nearly >= 0.9 * judged


def settled_a_minute(check: BuildCheck, random: Random) -> dict[frozenset[str], float]:
    """For one or two figures at all places the share of STOPs open even so that they settle."""
    findings = [
        finding
        for finding in check.findings
        if finding.verdict.undecided and check.likelihoods.standing(finding) is Likely.OPEN
    ]
    truths = [truth(check, findings, random) for _ in range(30)]
    names = sorted({single(check.knowledge, name) for name in truths[0]} if findings else ())
    sets = [frozenset(some) for count in (1, 2) for some in combinations(names, count)]
    return {some: settles(check, findings, truths, some) for some in sets}


def truth(
    check: BuildCheck, findings: list[RuleFinding], random: Random
) -> dict[str, dict[Fact, Fact]]:
    """A true value for each thing that is known or not: within what is usual, else possible."""
    drawn: dict[str, dict[Fact, Fact]] = {}
    for finding in findings:
        for name, fact in finding.facts.items():
            usual = check.likelihoods.fact(name, finding.positions[0])
            outcomes = outcomes_of(fact, check.knowledge, usual)
            if outcomes is not None and fact not in drawn.get(name, {}):
                drawn.setdefault(name, {})[fact] = outcomes.usually(random.random()).fact()
    return drawn


def settles(check: BuildCheck, findings: list[RuleFinding], truths, some: frozenset[str]) -> float:
    knowledge, gain = check.knowledge, 0.0
    took: dict[str, dict] = {name: {} for name in some}
    for finding in findings:
        own = {n for n in finding.facts if single(knowledge, n) in some and "." in n}
        places = len(check.build.layout.positions(finding.rule.each))
        settled = 0
        for drawn in truths:
            facts = {n: drawn.get(n, {}).get(finding.facts[n]) for n in own}
            read = {n: fact for n, fact in facts.items() if fact is not None}
            settled += bool(read) and not undecided(finding, read)
        if settled:
            gain += settled / len(truths) * len(finding.positions) / places
        for name in {single(knowledge, n) for n in own}:
            each = knowledge.attributes[name].each
            took[name] |= dict.fromkeys(within(check, each, name, finding))
    work = sum(
        minutes(
            knowledge.attributes[name],
            knowledge.procedures.get(knowledge.attributes[name].measure),
            places,
        )
        for name, places in took.items()
    )
    return gain / max(1, work)


def within(check: BuildCheck, each: str, name: str, finding: RuleFinding) -> list[Position]:
    """Where a figure is found for a finding; what is a spread's, everywhere."""
    everywhere = check.build.layout.positions(each)
    if name not in finding.facts:
        return everywhere
    own = {"engine": "", "bank": "bank", "cylinder": "cylinder", "valve": "cylinder side"}[each]
    keys = {tuple(getattr(p, field) for field in own.split()) for p in finding.positions}
    return [p for p in everywhere if tuple(getattr(p, field) for field in own.split()) in keys]


# The invented builds: learn what is asked for until nothing more can be settled.


@pytest.mark.parametrize(
    "name",
    [
        "hill_climb_four",
        pytest.param("service_boat", marks=LONG),
        pytest.param("work_truck", marks=LONG),
    ],
)
def test_learning_what_is_asked_for_answers_what_can_be_answered(knowledge, name):
    rules = [rule for rule in knowledge.rules.values() if len(rule.inputs) <= FEW_FIGURES]
    only = knowledge.with_rules({rule.id: rule for rule in rules})
    build = with_every_part(read_build(DEMOS / name / "build.yaml", knowledge), only)
    check = check_build(build, only)
    random = Random(name)
    before = len(check.undecided)
    applied = 0
    for _ in range(20):
        found = MissingFigures(check)
        if not found.ranked:
            break
        for ask in found.ranked:
            still = {id(finding) for finding in check.all_findings if finding.verdict.undecided}
            if any(id(way.finding) in still for way in ask.ways):
                build = build.supposing(invented(ask, build, only, random))
                check = recheck(check, build, [ask.attribute.name])
                applied += 1
    assert not found.ranked and applied and before > 20
    assert not found.waiting
    left = [finding for finding in check.all_findings if finding.verdict.undecided]
    assert {id(finding) for finding in left} == {id(finding) for finding in found.beyond}
    for finding in left:
        assert disputed(finding) or not on_a_grid(finding)
    assert len(left) < before / 2


def with_every_part(build: EngineBuild, knowledge) -> EngineBuild:
    """The build with every part listed that it cannot do without, of which nothing is known.

    Without what makers ask: most of the rules that it is about are not among those asked here.
    """
    listed = {
        slot: tuple(replace(part, asked=()) for part in parts)
        for slot, parts in build.parts.items()
    }
    unlisted = {
        slot: (Part(slot, "", "", ()),)
        for slot, part_class in knowledge.classes.items()
        if not part_class.optional and slot not in build.parts
    }
    absent = build.absent - set(unlisted)
    return replace(build, parts={**unlisted, **listed}, absent=absent)


def invented(ask: Ask, build: EngineBuild, knowledge, random: Random) -> list[Statement]:
    """A reading at each place asked for, somewhere within what is possible there."""
    binding = Binding(build, knowledge)
    attribute = ask.attribute
    statements = []
    for position in ask.positions:
        outcomes = outcomes_of(binding.fact(attribute.name, position), knowledge)
        if outcomes is None:
            continue
        share = random.random() if outcomes.choices else random.uniform(0.3, 0.7)
        fact = outcomes.at(share).fact()
        value = Quantity(attribute.kind, fact.interval, "invented") if fact.interval else fact.mask
        where = Selector(position.bank, position.cylinder, position.side)
        statements.append(Statement(attribute, where, Evidence.MEASURED, value, Origin()))
    return statements


def disputed(finding: RuleFinding) -> bool:
    """Whether practice disagrees on a limit of the rule."""
    entries = [entry for limit in finding.rule.limits.values() for entry in limit.entries.values()]
    return any(entry.interval.width > 0 for entry in entries)


# The order.


def test_the_reasons_come_in_order_and_each_says_what_it_is_about(knowledge):
    build = read_build(DEMOS / "hill_climb_four" / "build.yaml", knowledge)
    found = asks(check_build(build, knowledge))
    assert [ask.reason for ask in found] == sorted(ask.reason for ask in found)
    assert {Reason.STOP, Reason.REST} <= {ask.reason for ask in found}
    for ask in found:
        assert ask.about and {rule.id for rule in ask.about} <= {rule.id for rule in ask.rules}
        assert ask.why.startswith(ask.reason.words)
    assert len({ask.attribute.name for ask in found}) == len(found)
    assert [ask.attribute.name for ask in asks(check_build(build, knowledge), 3)] == [
        ask.attribute.name for ask in found[:3]
    ]


def test_graver_and_quicker_comes_first(small):
    check = of_parts(
        small,
        "spring: {measured: {shape: straight, installed_height: 1.700 in}}",
        "cam: {measured: {lobe_lift: 0.400 in, lobe_type: flat}}",
    )
    found = asks(check)
    # Both are read once on the card; coil bind is to stop for, a weak spring is serious.
    assert [ask.attribute.name for ask in found] == ["spring.solid_height", "spring.rate"]
    assert [ask.reason for ask in found] == [Reason.STOP, Reason.REST]
    assert [ask.minutes for ask in found] == [2, 2]


def test_what_the_figures_above_settle_already_comes_last(small):
    # The shim is of no account once the height over it is known to be enough.
    check = of_parts(
        small,
        "spring: {measured: {shape: conical, solid_height: 1.000 in}}",
        "cam: {measured: {lobe_lift: 0.200 in, lobe_type: flat}}",
    )
    assert [ask.attribute.name for ask in asks(check)] == ["spring.installed_height"]


def test_what_paper_can_tell_is_asked_of_the_seller(knowledge):
    build = read_build(DEMOS / "work_truck" / "build.yaml", knowledge)
    found = {ask.attribute.name: ask for ask in asks(check_build(build, knowledge))}
    assert found["locks.stem_diameter"].asked_of == "seller"
    assert found["gear.teeth"].asked_of == "" if "gear.teeth" in found else True
    for ask in found.values():
        papers = ask.procedure is not None and ask.procedure.file.setup == "papers on the table"
        assert (ask.asked_of == "seller") is papers


def test_what_hangs_on_a_saying_that_nobody_made_is_not_asked_for(knowledge):
    # A spring's greatest speed matters once its maker states one.
    rule = knowledge.rules["spring_past_its_speed"]
    assert rule.only_given == ("spring.greatest_speed",)
    text = "build: b\ncylinders: '6'\nparts: {{spring: {{{}}}, engine: {{}}}}\n"

    def found(said: str) -> list[Ask]:
        build = read_build("b.yaml", knowledge, text.format(said))
        return asks(check_build(build, knowledge, [rule]))

    assert not found("")
    assert found("claimed: {greatest_speed: 7000 rpm}")


# How finely.


@pytest.mark.parametrize("known", ["", "claimed: {installed_height: 1.700 in}, "])
def test_as_finely_as_nearly_all_answers_need(small, known):
    build = read_build(
        "b.yaml",
        small,
        "build: b\ncylinders: '1'\ncomplete: 'yes'\nparts: {spring: {"
        + known
        + "measured: {solid_height: 1.2400..1.2402 in}}, "
        "cam: {measured: {lobe_lift: 0.3995..0.4000 in}}}",
    )
    check = check_build(build, small, [small.rules["coil_bind"]])
    found = {ask.attribute.name: ask for ask in asks(check)}
    ask = found["spring.installed_height"]
    (way,) = ask.alone
    fact = way.finding.facts["spring.installed_height"]
    whole = fact.interval

    def settled(width: float) -> float:
        """The share of readings, evenly over the range, that a reading so wide decides."""
        readings = [whole.lower + whole.width * i / 1000 for i in range(1001)]
        ranges = [
            Interval(max(whole.lower, one - width / 2), min(whole.upper, one + width / 2))
            for one in readings
        ]
        read = [
            Fact.quantity(fact.attribute, Evidence.MEASURED, one, text="read") for one in ranges
        ]
        return sum(not undecided(way.finding, {fact.attribute.name: one}) for one in read) / 1001

    error = 2 * (0.1 * 0.9 / DRAWS) ** 0.5  # of a share of nine in ten, counted on so few draws
    assert settled(ask.finely) > 0.9 - error
    assert settled(ask.finely * 5) < 0.9
    inches = f"{float(ask.finely / Fraction(254, 10)):e}"
    assert inches[0] in "125" and inches[1:].startswith(".000000e")


def test_how_finely_is_said_only_where_a_scale_is_read(small):
    build = read_build(
        "b.yaml",
        small,
        "build: b\ncylinders: '1'\nparts: {spring: {measured: "
        "{shape: straight}}, cam: {measured: {lobe_type: flat}}}",
    )
    (ask,) = asks(check_build(build, small, [small.rules["weak_spring"]]))
    assert ask.procedure.resolution is None and ask.finely is None


def test_what_is_known_as_finely_as_its_procedure_tells_is_not_measured_again(knowledge):
    attribute = knowledge.attributes["spring.installed_height"]
    resolution = knowledge.procedures[attribute.measure].resolution.interval.middle
    middle = attribute.plausible.middle
    for width, again in ((resolution, False), (resolution * 2, True)):
        known = Interval(middle - width / 2, middle + width / 2)
        fact = Fact.quantity(attribute, Evidence.MEASURED, known, text="read")
        assert (outcomes_of(fact, knowledge) is not None) is again


def test_a_figure_from_paper_is_as_good_as_paper(knowledge):
    attribute = knowledge.attributes["spring.rated_lift"]
    assert knowledge.procedures[attribute.measure].resolution is None
    outcomes = outcomes_of(Fact.unknown(attribute), knowledge)
    assert outcomes is not None
    claimed = outcomes.at(0.5).fact()
    assert claimed.evidence is Evidence.CLAIMED
    assert float(claimed.interval.width) == pytest.approx(float(2 * attribute.claim.amount))
    assert outcomes_of(claimed, knowledge) is None
