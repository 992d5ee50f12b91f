"""Whole engines reduced to what a seller's page and a cam card say, and how much is told of them.

A question is a rule of which the full measurements decide, and on which the few figures raise a
question at all. It is told where the few figures, with what is usual, answer it at every place;
rightly, where the answer is that of the full measurements.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from fitcheck.check import BuildCheck, Likely, RuleFinding, Verdict, check_build
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.model import EVERYWHERE, EngineBuild, Evidence, Origin, Part, Statement
from fitcheck.quantity import Interval, Quantity

# What the page of a head, the card of a cam and the box of its lifters say, fourteen figures; the
# fifteenth is that the head is new, or as a shop makes it new.
PAGE = (
    "engine.use",
    "block.bore",
    "crankshaft.stroke",
    "head.material",
    "head.rocker_mounting",
    "valve.head_diameter",
    "spring.load_1",
    "spring.load_1_height",
    "spring.rated_lift",
    "cam.lobe_type",
    "cam.rated_valve_lift",
    "cam.rated_ratio",
    "cam.speed_to",
    "lifter.type",
)
# What no page leaves unmentioned where it is not the ordinary: in the place of another figure.
NAMED = {
    "engine.induction": ("natural", "crankshaft.stroke"),
    "fuel.kind": ("petrol", "cam.speed_to"),
}
MOST_FIGURES = 15
# Set, tried or looked at as the engine goes together, beside what the rules themselves say is
# answered by work or by one look.
AT_ASSEMBLY = {
    "adjuster_runs_out",  # tried with the pushrods
    "contact_runs_off_tip",  # tried with the pushrods
    "pushrod_of_wrong_length",  # tried with an adjustable pushrod
    "rocker_touches_retainer",  # watched over a full turn
    "rockers_meet_cover",  # tried with the cover
    "valve_meets_piston_at_tdc",  # clay
    "valve_near_piston",  # clay
    "valve_near_pocket_wall",  # clay
}


@dataclass
class Told:
    """How the questions of one engine, or of several, came out; by rule where something is off."""

    asked: int = 0
    sure: int = 0
    likely: int = 0
    silent: int = 0
    wrong: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)

    @property
    def told(self) -> int:
        """How many were answered."""
        return self.sure + self.likely

    @property
    def share_told(self) -> float:
        """The share of the questions answered."""
        return self.told / self.asked

    @property
    def share_right(self) -> float:
        """The share of the answers that are right."""
        return 1 - len(self.wrong) / self.told

    def add(self, other: Told) -> None:
        """Count another engine's questions in."""
        for name in vars(self):
            setattr(self, name, getattr(self, name) + getattr(other, name))


def page_of(
    build: EngineBuild,
    knowledge: Knowledge,
    also: Iterable[str] = (),
    absent: Iterable[str] = (),
    *,
    new: bool = True,
) -> EngineBuild:
    """The build as a seller's page and a cam card tell it: a few claims, one for each side.

    `also` names what the page states besides, wherever it differs, and `absent` what it says is
    left out; `new` whether the head is new, or as a shop makes it new.
    """
    names, more = _stated_by(build), set(also)
    said: dict[str, list[Statement]] = {}
    for one in sorted(build.statements(), key=lambda one: one.strength, reverse=True):
        name = one.attribute.name
        if name in more or (name in names and one.selector.cylinder is None):
            of_it = said.setdefault(name, [])
            if not any(_covers(other, one) for other in of_it):
                of_it.append(replace(one, evidence=Evidence.CLAIMED, origin=Origin("page")))
    is_new = knowledge.attributes["head.is_new"]
    first = next(iter(said.values()))[0]
    answer = 0b10 if new else 0b01
    said[is_new.name] = [replace(first, attribute=is_new, selector=EVERYWHERE, value=answer)]
    assert len(said.keys() - more) <= MOST_FIGURES
    slots: dict[str, list[Statement]] = {}
    for name, statements in said.items():
        slots.setdefault(name.partition(".")[0], []).extend(map(_as_claimed, statements))
    parts = {slot: (Part(slot, "", "", tuple(said)),) for slot, said in slots.items()}
    title = f"{build.title}, its page"
    return EngineBuild(title, "", build.layout, parts, frozenset(absent) - parts.keys())


def _stated_by(build: EngineBuild) -> set[str]:
    """The figures of a page about this engine."""
    names = set(PAGE)
    for one in build.statements():
        if one.attribute.name in NAMED and isinstance(one.value, int):
            ordinary, instead = NAMED[one.attribute.name]
            if one.value != 1 << one.attribute.options.index(ordinary):
                names = names - {instead} | {one.attribute.name}
    return names


def _covers(stronger: Statement, weaker: Statement) -> bool:
    """Whether a statement holds wherever another one would."""
    mine, theirs = stronger.selector, weaker.selector
    return (
        mine.side in (None, theirs.side)
        and mine.bank in (None, theirs.bank)
        and mine.cylinder in (None, theirs.cylinder)
    )


def _as_claimed(statement: Statement) -> Statement:
    """The same figure as wide as such claims are."""
    value, attribute = statement.value, statement.attribute
    if not isinstance(value, Quantity) or attribute.claim is None:
        return statement
    middle = value.interval.middle
    half = attribute.claim.around(middle)
    assert attribute.plausible is not None
    wide = Interval(middle - half, middle + half).clipped(attribute.plausible)
    return replace(statement, value=replace(value, interval=wide))


def compare(full: BuildCheck, page: BuildCheck) -> Told:
    """What a page tells, held against the full measurements."""
    truth, told = _by_rule(full), _by_rule(page)
    found = Told()
    for rule, findings in truth.items():
        answer = _certain(findings)
        if answer is None or _left_out(findings[0].rule):
            continue
        if rule not in told:
            found.silent += 1
            continue
        found.asked += 1
        sure = _certain(told[rule])
        likely = sure or _likely(page, told[rule])
        if likely is None:
            found.open.append(rule)
            continue
        found.sure += sure is not None
        found.likely += sure is None
        if likely is not answer:
            found.wrong.append(f"{rule}: {likely.value}, {answer.value} in truth")
    return found


def _left_out(rule: Rule) -> bool:
    return rule.by_work or rule.by_look or rule.id in AT_ASSEMBLY


def _by_rule(check: BuildCheck) -> dict[str, list[RuleFinding]]:
    found: dict[str, list[RuleFinding]] = {}
    for finding in check.findings:
        if finding.rule.family != "contradictions":
            found.setdefault(finding.rule.id, []).append(finding)
    return found


def _certain(findings: list[RuleFinding]) -> Verdict | None:
    """What is known for certain of a rule: a clash anywhere, or that it fits everywhere."""
    verdicts = {finding.verdict for finding in findings}
    if Verdict.CONFLICT in verdicts:
        return Verdict.CONFLICT
    return Verdict.FITS if verdicts == {Verdict.FITS} else None


def _likely(check: BuildCheck, findings: list[RuleFinding]) -> Verdict | None:
    standings = {check.likelihoods.standing(finding) for finding in findings}
    if Likely.CLASHES in standings:
        return Verdict.CONFLICT
    return None if Likely.OPEN in standings else Verdict.FITS


def judged(full: EngineBuild, knowledge: Knowledge) -> Told:
    """How much of an engine its page tells, and how rightly."""
    page = page_of(full, knowledge)
    return compare(check_build(full, knowledge), check_build(page, knowledge))
