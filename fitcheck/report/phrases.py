"""Phrases that every report shares: findings in a line, margins, evidence, what to measure."""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterable, Sequence
from fractions import Fraction
from typing import TypeVar

from fitcheck.check import BuildCheck, Demand, Likely, RuleFinding, Verdict, describe_fact
from fitcheck.check.records.audit import Audited
from fitcheck.check.telling import options_told, value_text
from fitcheck.model import (
    EVERYWHERE,
    Evidence,
    Fact,
    Layout,
    Position,
    Statement,
    group_name,
)
from fitcheck.quantity import Interval, Kind, Quantity, System, show, show_safe
from fitcheck.source import frozen

# A figure that starts with nought, alone or as the lower end of a range.
_NOUGHT = re.compile(r"0(\.0*)?(?![0-9])(?!\.[0-9])")
MOST_FINER = 6
_RANGE = re.compile(r"(?<=[0-9])\.\.(?=[0-9])")

Words = TypeVar("Words", bound=Hashable)


def places(finding: RuleFinding, layout: Layout) -> str:
    """Where a finding holds; empty for the engine as a whole."""
    if all(position == Position() for position in finding.positions):
        return ""
    return group_name(finding.positions, layout)


def alike(
    findings: Iterable[RuleFinding], layout: Layout, words: Callable[[RuleFinding], Words]
) -> list[tuple[str, Words]]:
    """Where and what, told once for all findings that read the same.

    Facts may differ from place to place by less than what is shown of them.
    """
    told: dict[Words, list[Position]] = {}
    for finding in findings:
        told.setdefault(words(finding), []).extend(finding.positions)
    return [
        (
            ""
            if positions == [Position()]
            else group_name(sorted(positions, key=Position.order), layout),
            text,
        )
        for text, positions in told.items()
    ]


def group_places(findings: list[RuleFinding], layout: Layout) -> str:
    """Where some findings hold together; empty for the engine as a whole."""
    positions = {position for finding in findings for position in finding.positions}
    if positions == {Position()}:
        return ""
    return group_name(sorted(positions, key=Position.order), layout)


def capital(text: str) -> str:
    """The text with a capital first letter."""
    return text[:1].upper() + text[1:]


def lower(text: str) -> str:
    """The text with a small first letter."""
    return text[:1].lower() + text[1:]


def ranges_in_words(text: str) -> str:
    """The text with `to` in its ranges, where it is there to be read and not to be typed back."""
    return _RANGE.sub(" to ", text)


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def summary(check: BuildCheck) -> str:
    """The answer in one sentence, and how much of it the house waived."""
    verdict, rest = _answer(check)
    return " ".join(filter(None, (f"{verdict}{rest and f'; {rest}'}.", _waived(check))))


def verdict_and_rest(check: BuildCheck) -> tuple[str, str]:
    """The same in two: what clashes, and what is open and fits; all in the first if none does."""
    verdict, rest = _answer(check)
    return " ".join(filter(None, (f"{verdict}.", _waived(check)))), rest and f"{capital(rest)}."


def _waived(check: BuildCheck) -> str:
    """How many clashes the house waived; empty for none."""
    waived = len(check.waived)
    stops = sum(one.finding.rule.severity == "stop" for one in check.waived)
    grave = f", {stops} of them to stop for" if stops else ""
    return f"{counted(waived, 'clash', 'clashes')} waived by the house{grave}." if waived else ""


@frozen
class Counts:
    """How many questions clash, are open and fit: each counts once, by its worst place.

    `disputed` are open no more than by what practice disagrees on; they count apart.
    """

    clashes: int
    stops: int
    remarks: int
    open: int
    open_stops: int
    disputed: int
    disputed_stops: int
    fits: int


def counts(check: BuildCheck) -> Counts:
    """How the questions of a check stand."""
    worst = check.worst_by_rule
    clashes = [one.rule.severity for one in worst if one.verdict is Verdict.CONFLICT]
    undecided = [one.rule for one in worst if one.verdict.undecided]
    opened = [rule.severity for rule in undecided if rule.id not in check.disputed]
    disputed = [rule.severity for rule in undecided if rule.id in check.disputed]
    return Counts(
        len(clashes),
        clashes.count("stop"),
        clashes.count("advice"),
        len(opened),
        opened.count("stop"),
        len(disputed),
        disputed.count("stop"),
        len(worst) - len(clashes) - len(undecided),
    )


def _answer(check: BuildCheck) -> tuple[str, str]:
    """How it stands, and where something clashes the rest of it."""
    found = counts(check)
    open_ = f"{counted(found.open, 'question')} cannot be answered yet, " if found.open else ""
    stops = f", {found.disputed_stops} of them to stop for" if found.disputed_stops else ""
    disputed = f"on {found.disputed} practice disagrees{stops}" if found.disputed else ""
    rest = f"{open_}{found.fits} fit{disputed and f'; {disputed}'}"
    if found.clashes == found.remarks and not found.open and not found.disputed_stops:
        noted = f", with {counted(found.remarks, 'remark')}" if found.remarks else ""
        asked = found.fits + found.disputed
        return (
            f"These parts work together, as far as the {asked} questions asked go{noted}"
            f"{disputed and f'; {disputed}'}",
            "",
        )
    if found.clashes == found.remarks:
        noted = f" ({counted(found.remarks, 'remark')})" if found.remarks else ""
        return f"Nothing known clashes so far{noted}, but {rest}", ""
    grave = f", {found.stops} of them to stop for" if found.stops else ""
    noted = f", {counted(found.remarks, 'remark')}" if found.remarks else ""
    return (
        f"These parts do not work together as listed: "
        f"{counted(found.clashes - found.remarks, 'clash', 'clashes')}{grave}{noted}",
        rest,
    )


def open_words(check: BuildCheck, when: str = "yet") -> str:
    """What is undecided, to be told before anything is called right; empty where nothing is."""
    found = counts(check)
    told = []
    if found.open:
        stops = found.open_stops
        grave = f", {stops} of them a matter of STOP" if stops else ""
        told.append(f"{counted(found.open, 'question')} cannot be answered {when}{grave}.")
    if found.disputed_stops:
        told.append(f"On {counted(found.disputed_stops, 'matter')} of STOP practice disagrees.")
    return " ".join(told)


def likely_counts(check: BuildCheck) -> str:
    """What the open questions come to with ordinary parts; empty where none is open."""
    standings: dict[str, set[Likely | None]] = {
        one.rule.id: set()
        for one in check.worst_by_rule
        if one.verdict.undecided and one.rule.id not in check.disputed
    }
    for finding in check.undecided:
        if finding.rule.id in standings:
            standings[finding.rule.id].add(check.likelihoods.standing(finding))
    clash = sum(Likely.CLASHES in found for found in standings.values())
    fit = sum(found == {Likely.FITS} for found in standings.values())
    if not standings or not clash + fit:
        return ""
    of = f" of those {len(standings)}"
    told: list[str] = []
    for number, one, many in ((clash, "clashes", "clash"), (fit, "fits", "fit")):
        if number:
            told.append(f"{number}{'' if told else of} likely {one if number == 1 else many}")
    return f"If the rest is as usual, {' and '.join(told)}."


def margin_line(finding: RuleFinding, system: System) -> str:
    """What is, what is wanted, and what is missing or to spare."""
    if not finding.demands:
        return ""
    demand = finding.demands[0]
    actual = demand.show(demand.actual, system)
    wanted = wanted_words(finding, demand, system)
    return f"{actual}, wanted {wanted}; {missing_words(finding, system)}"


def wanted_words(finding: RuleFinding, demand: Demand, system: System) -> str:
    """What a demand wants; where practice disagrees on the limit, what each side says."""
    direction = "at least" if demand.node.op[0] == ">" else "at most"
    limit = finding.rule.limits.get(getattr(demand.node.right, "name", ""))
    settled = limit and (limit.by is None or not finding.facts[limit.by.name].open)
    if settled and demand.wanted.width:
        ends = (demand.wanted.lower, demand.wanted.upper)
        low, high = (demand.show(Interval.point(end), system) for end in ends)
        return f"{direction} {low} by some and {high} by others"
    return f"{direction} {demand.show(demand.wanted, system)}"


def missing_words(finding: RuleFinding, system: System) -> str:
    """`short by 0.034 in`, `0.012 in to spare`, or what lies between, of the worst demand."""
    return demand_words(finding.demands[0], system) if finding.demands else ""


def demand_words(demand: Demand, system: System) -> str:
    """The same of one demand."""
    low, high = demand.margin.lower, demand.margin.upper
    short = "short" if demand.node.op[0] == ">" else "over"
    if low >= 0 and (low > 0 or "=" in demand.node.op):
        return f"{show(demand.margin, demand.kind, system)} to spare"
    if high < 0:
        return f"{short} by {_amount(-high, -low, demand.kind, system)}"
    if not low:
        return "on the limit to the digit, where that is not enough"
    most = _amount(high, high, demand.kind, system) if high else "nothing"
    return f"anything from {_amount(-low, -low, demand.kind, system)} {short} to {most} to spare"


def _amount(least: Fraction, most: Fraction, kind: Kind, system: System) -> str:
    """How much, where it is more than nothing: no end of it is shown as nought."""
    for finer in range(MOST_FINER):
        ends = [show(Interval.point(end), kind, system, finer=finer) for end in (least, most)]
        if not _NOUGHT.match(ends[1]):
            break
    text = show(Interval(least, most), kind, system, finer=finer)
    return (
        f"up to {show_safe(Interval.point(most), kind, system, up=True)}"
        if _NOUGHT.match(text)
        else text
    )


def fact_value(fact: Fact, system: System) -> str:
    """The figure of a fact, or the options that it leaves open."""
    kind = fact.attribute.kind
    if fact.interval is None or kind is None:
        return options_told(fact)
    return show(fact.interval, kind, system)


def weakest_line(check: BuildCheck, finding: RuleFinding) -> str:
    """The weakest figure that a finding rests on."""
    fact = finding.weakest
    if fact is None:
        return ""
    if fact.given and fact.evidence is Evidence.MEASURED:
        return "everything it rests on is measured or as listed"
    return f"{check.knowledge.title_of(fact.attribute)}, {describe_fact(fact)}"


def disproved_words(check: BuildCheck, found: Sequence[Audited], system: System) -> str:
    """A stated figure that measuring disproves: at which places, what was found, how far off."""
    attribute, layout = found[0].attribute, check.build.layout
    title = check.knowledge.title_of(attribute)
    places = sorted((at for one in found for at in one.positions), key=Position.order)
    whole = len(places) == len(layout.positions(attribute.each))
    where = "" if whole else f", {group_name(places, layout)}"
    stated = " or ".join(dict.fromkeys(value_text(one.said) for one in found))
    read = [one.measured.value for one in found if one.measured is not None]
    offs = [one.off for one in found if one.off is not None]
    kind = attribute.kind
    if kind is None or not offs:
        told = " or ".join(
            dict.fromkeys(value_text(one.measured) for one in found if one.measured is not None)
        )
        return f"{title}{where}: measured {told}, not {stated}"
    seen = [value.interval for value in read if isinstance(value, Quantity)]
    told = show(Interval(min(i.lower for i in seen), max(i.upper for i in seen)), kind, system)
    ends = [abs(end) for off in offs for end in (off.lower, off.upper)]
    over = "over" if offs[0].lower > 0 else "short"
    past = _amount(min(ends), max(ends), kind, system)
    return f"{title}{where}: measured {told}, not {stated}; {over} by {past}"


def twice_words(check: BuildCheck, one: Statement, other: Statement) -> str:
    """A figure that was said twice and can't be both."""
    where = "" if one.selector == EVERYWHERE else f", {one.selector}"
    used = max((other, one), key=lambda statement: statement.strength)
    who = [f" ({said.origin})" if str(said.origin) else "" for said in (one, other)]
    told = f"{value_text(one)}{who[0]} and {value_text(other)}{who[1]}"
    return (
        f"{check.knowledge.title_of(one.attribute)}{where}: {told}, both {one.evidence.word}; "
        f"{value_text(used)} is used. Strike out what is wrong"
    )


def subjects(findings: tuple[RuleFinding, ...], most: int = 4) -> str:
    """The subjects of some findings, each once; past `most` the rest is counted."""
    names = list(dict.fromkeys(str(finding.rule.file.subject) for finding in findings))
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
