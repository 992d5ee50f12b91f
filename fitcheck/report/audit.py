"""The claim audit: each figure in a line, and a text to send back with a part that is off."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from rich.console import Console

from fitcheck.check.records.audit import Audited, ClaimOutcome
from fitcheck.check.telling import value_text
from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild, Evidence, Position, Statement, group_name
from fitcheck.quantity import Interval, Quantity, System, show
from fitcheck.report.phrases import capital, counted
from fitcheck.report.sections import Claimed
from fitcheck.report.writer import Writer
from fitcheck.source import frozen

_TITLES = {
    Evidence.CLAIMED: "Claimed against measured",
    Evidence.PREDICTED: "Ordered against measured",
}


def write_audit(
    found: list[Audited],
    build: EngineBuild,
    knowledge: Knowledge,
    console: Console,
    system: System,
    claims: Sequence[Claimed] = (),
    *,
    everything: bool = False,
) -> None:
    """Write the audit to a console; with `everything`, also what is not measured."""
    writer = _Audit(build, knowledge, console, system, everything)
    writer.line(f"Claim audit: {build.title}", "bold")
    writer.line(audit_answer(found, claims), "bold")
    for evidence, title in _TITLES.items():
        own = [one for one in found if one.said.evidence is evidence]
        if own:
            writer.table(title, own)
    letters = list(writer.letters(found))
    if letters:
        writer.heading("To send with the part")
    writer.to_send(letters)


def audit_answer(found: Sequence[Audited], claims: Sequence[Claimed]) -> str:
    """Of how many figures an audit speaks, how many are off, and which claims of the whole fail."""
    told = []
    measured = sum(one.measured is not None for one in found)
    outside = sum(one.outcome is ClaimOutcome.OUTSIDE for one in found)
    stated = counted(len(found), "figure") + " claimed or ordered"
    if not found:
        told.append("No figure is claimed or ordered here")
    elif not measured:
        told.append(f"Of {stated} none is measured yet")
    else:
        off = f"{outside} not as stated" if outside else "none of them is off"
        told.append(f"{measured} of {stated} {'is' if measured == 1 else 'are'} measured; {off}")
    failing = [one.subject for one in claims if one.fails]
    if len(failing) == 1:
        told.append(f"the claim on {failing[0]} fails")
    elif failing:
        told.append(f"{len(failing)} claims fail: {', '.join(failing)}")
    return "; ".join(told) + "."


@frozen
class Letter:
    """What is to be sent back with one part; `named` tells whether it begins with a name."""

    about: str
    named: bool
    lead: str
    points: tuple[str, ...]


class AuditWords:
    """The words for audited figures, for every kind of report."""

    def __init__(self, build: EngineBuild, knowledge: Knowledge, system: System) -> None:
        self.build = build
        self.knowledge = knowledge
        self.system: System = system

    def figure(self, one: Audited) -> str:
        """What is claimed or ordered of which part, and where."""
        title = self.knowledge.title_of(one.attribute)
        return f"{title}{self.where(one)} {value_text(one.said)}"

    def where(self, one: Audited) -> str:
        """The places, where they are not all."""
        if one.positions[0] == Position():
            return ""
        name = group_name(one.positions, self.build.layout)
        return (
            ""
            if name.startswith("all ")
            and len(one.positions) == len(self.build.layout.positions(one.attribute.each))
            else f" ({name})"
        )

    def words(self, one: Audited) -> str:
        """What was said beside what was measured."""
        assert one.measured is not None
        said = _SAID[one.said.evidence]
        return (
            f"{self.figure(one)} {said}{self.tolerance(one.said)}; "
            f"{value_text(one.measured)} measured{self.range(one.measured)}"
            f"{self.off(one)}"
        )

    def tolerance(self, said: Statement) -> str:
        """What the claim allows, and whose tolerance that is."""
        value = said.value
        if not isinstance(value, Quantity):
            return ""
        allowed = show(value.interval, value.kind, self.system)
        if value.stated:
            return f", so {allowed}"
        if said.evidence is Evidence.CLAIMED and said.attribute.claim is not None:
            return f", {allowed} with the tolerance usual for it"
        return f", {allowed} by the digits given"

    def range(self, measured: Statement) -> str:
        """What a reading stands for, by the instrument's resolution."""
        value = measured.value
        if not isinstance(value, Quantity) or value.interval.width == 0:
            return ""
        return f", that is {show(value.interval, value.kind, self.system)}"

    def off(self, one: Audited) -> str:
        """By how much it is outside; empty where it is not."""
        if one.off is None:
            return ""
        kind = one.attribute.kind
        assert kind is not None
        low, high = sorted((abs(one.off.lower), abs(one.off.upper)))
        least, most = (show(Interval.point(end), kind, self.system) for end in (low, high))
        size = "over" if one.off.lower > 0 else "under"
        return f": {size} by {least} at least" + (f", {most} at most" if most != least else "")

    def claim(self, one: Audited) -> str:
        """A figure that is off, with who says what, to be sent to whoever stated it."""
        assert one.measured is not None
        said, measured = one.said.origin, one.measured.origin
        verb = "Stated" if one.said.evidence is Evidence.CLAIMED else "Ordered"
        stated = f" ({said})" if str(said) else ""
        found = f" ({measured})" if str(measured) else ""
        return (
            f"{capital(one.attribute.title)}{self.where(one)}. {verb}{stated}: "
            f"{value_text(one.said)}{self.tolerance(one.said)}. Measured{found}: "
            f"{value_text(one.measured)}{self.range(one.measured)}{self.off(one)}."
        )

    def letters(self, found: Iterable[Audited]) -> Iterator[Letter]:
        """What is to be sent back with each part that is not as stated."""
        outside = [one for one in found if one.outcome is ClaimOutcome.OUTSIDE]
        parts = {id(one.part): one.part for one in outside}
        for part in parts.values():
            own = [one for one in outside if one.part is part]
            title = self.knowledge.classes[part.slot].title
            seller = f"; sold by {part.seller}" if part.seller else ""
            verb = "is" if len(own) == 1 else "are"
            yield Letter(
                f"{part.name}, {title}{seller}" if part.name else f"{title}{seller}",
                bool(part.name),
                f"{counted(len(own), 'figure')} {verb} not as stated, with the tolerance of what "
                "is stated and the instrument's resolution allowed for:",
                tuple(map(self.claim, own)),
            )


class _Audit(AuditWords, Writer):
    def __init__(
        self,
        build: EngineBuild,
        knowledge: Knowledge,
        console: Console,
        system: System,
        everything: bool,
    ) -> None:
        Writer.__init__(self, console)
        AuditWords.__init__(self, build, knowledge, system)
        self.everything = everything

    def table(self, title: str, found: list[Audited]) -> None:
        self.heading(title)
        counts = {outcome: sum(one.outcome is outcome for one in found) for outcome in ClaimOutcome}
        self.line(
            ", ".join(f"{number} {outcome.value}" for outcome, number in counts.items() if number)
            + "."
        )
        for outcome in ClaimOutcome:
            own = [one for one in found if one.outcome is outcome]
            if own and outcome is ClaimOutcome.UNMEASURED:
                told = "; ".join(self.figure(one) for one in own)
                self.labelled(
                    "Not measured:", told if self.everything else f"{len(own)}; --all lists them", 0
                )
            elif own:
                self.line(f"{capital(outcome.value)}:", "bold")
                for one in own:
                    self.line(f"- {self.words(one)}", indent=2)

    # To send back.

    def to_send(self, letters: Iterable[Letter]) -> None:
        for letter in letters:
            self.line(f"About: {letter.about}", "bold")
            self.line(letter.lead)
            for number, point in enumerate(letter.points, 1):
                self.line(f"{number}. {point}", indent=2)
            self.line("Please say whether the part is as meant, or put it right.")
            self.console.print()


_SAID = {Evidence.CLAIMED: "claimed", Evidence.PREDICTED: "ordered"}


def audit_data(found: list[Audited], build: EngineBuild, system: System) -> list[dict[str, Any]]:
    """The audit as plain data."""
    return [
        {
            "attribute": one.attribute.name,
            "where": group_name(one.positions, build.layout)
            if one.positions[0] != Position()
            else "the engine",
            "kind": _SAID[one.said.evidence],
            "said": _value_data(one.said, system),
            "measured": _value_data(one.measured, system) if one.measured else None,
            "outcome": one.outcome.value,
            "off": show(one.off, one.attribute.kind, system, sign=True)
            if one.off is not None and one.attribute.kind is not None
            else None,
            "seller": one.part.seller or None,
        }
        for one in found
    ]


def _value_data(statement: Statement, system: System) -> dict[str, Any]:
    value, origin = statement.value, statement.origin
    shown = show(value.interval, value.kind, system) if isinstance(value, Quantity) else None
    return {
        "text": value_text(statement),
        "range": shown,
        "by": origin.by or None,
        "when": origin.when.isoformat() if origin.when else None,
        "with": origin.with_ or None,
        "place": str(statement.place),
    }
