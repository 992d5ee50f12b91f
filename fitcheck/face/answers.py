"""What the face gives: a build, its check, findings and figures, other answers."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from fitcheck.check import Verdict, check_build

if TYPE_CHECKING:
    from fitcheck.check import BuildCheck, RuleFinding
    from fitcheck.knowledge import Knowledge
    from fitcheck.model import EngineBuild
    from fitcheck.quantity import System


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with its unit, as it is known: `low` and `high` are numbers in `unit`.

    `evidence` is measured, supposed, predicted, claimed, usual, assumed, or unmeasured where nobody
    said anything.
    """

    name: str
    low: float
    high: float
    unit: str
    text: str
    evidence: str

    def __repr__(self) -> str:
        return f"<{self.name}: {self.text}, {self.evidence}>"


@dataclass(frozen=True, eq=False)
class Build:
    """A build as read, with the knowledge it is asked by; `units` is inch or metric."""

    listed: EngineBuild = field(repr=False)
    knowledge: Knowledge = field(repr=False)
    units: System

    @property
    def title(self) -> str:
        """What the build is called."""
        return self.listed.title

    @property
    def parts(self) -> tuple[str, ...]:
        """The slots that are filled."""
        return tuple(self.listed.parts)

    @property
    def read_as(self) -> dict[str, str]:
        """What was understood from words and figures as a page prints them, by what was typed."""
        return {one.typed: one.understood for one in self.listed.readings}

    @cached_property
    def check(self) -> Check:
        """Its check."""
        return Check(self, check_build(self.listed, self.knowledge))

    def __repr__(self) -> str:
        cylinders = self.listed.layout.cylinders
        return f"<Build '{self.title}': {cylinders} cylinders, {len(self.parts)} parts>"


@dataclass(frozen=True, eq=False)
class Check:
    """Whether the parts of a build work together."""

    build: Build
    checked: BuildCheck = field(repr=False)

    @property
    def answer(self) -> str:
        """The answer in a sentence or two."""
        from fitcheck.report.story import Story  # noqa: PLC0415  reports are slow to import

        return Story(self.checked, self.build.units).summary

    @cached_property
    def findings(self) -> list[Finding]:
        """All that the rules say, what clashes first and the gravest of it before the rest."""
        return [Finding(self, found) for found in self.checked.findings]

    def _of(self, *verdicts: Verdict) -> list[Finding]:
        return [one for one in self.findings if one.found.verdict in verdicts]

    @property
    def clashes(self) -> list[Finding]:
        """What clashes."""
        return self._of(Verdict.CONFLICT)

    @property
    def open(self) -> list[Finding]:
        """What cannot be told."""
        return self._of(Verdict.STRADDLES, Verdict.UNMEASURED)

    @property
    def fits(self) -> list[Finding]:
        """What fits."""
        return self._of(Verdict.FITS)

    def __getitem__(self, rule: str) -> list[Finding]:
        """What one rule says, by its name; an empty list where it has nothing to say."""
        if rule not in self.build.knowledge.rules:
            raise KeyError(rule)
        return [one for one in self.findings if one.rule == rule]

    def __repr__(self) -> str:
        counts = f"{len(self.clashes)} clash, {len(self.open)} are open, {len(self.fits)} fit"
        return f"<Check of '{self.build.title}': {counts}>"

    def _repr_html_(self) -> str:
        from fitcheck.report.notebook import check_html  # noqa: PLC0415

        return check_html(self.checked, self.build.units)


@dataclass(frozen=True, eq=False)
class Finding:
    """What one rule says of some places that share their figures."""

    check: Check = field(repr=False)
    found: RuleFinding = field(repr=False)

    @property
    def rule(self) -> str:
        """The rule's name."""
        return self.found.rule.id

    @property
    def verdict(self) -> str:
        """conflict, straddles (either way), unmeasured or fits."""
        return self.found.verdict.value

    @property
    def where(self) -> str:
        """Its places in words; empty for the whole engine."""
        from fitcheck.report.phrases import places  # noqa: PLC0415

        return places(self.found, self.check.build.listed.layout)

    @property
    def says(self) -> str:
        """What it says, with the figures in place."""
        return self.found.message(self.check.build.units)

    @property
    def figures(self) -> list[Figure]:
        """The figures it rests on."""
        made = []
        for name, fact in self.found.facts.items():
            kind = fact.attribute.kind
            if kind is None or fact.interval is None:
                continue
            from fitcheck.quantity import show  # noqa: PLC0415
            from fitcheck.quantity.units import in_unit  # noqa: PLC0415

            units = self.check.build.units
            unit = (kind.inch if units == "inch" else kind.metric)[0]
            made.append(
                Figure(
                    name,
                    in_unit(fact.interval.lower, unit, kind),
                    in_unit(fact.interval.upper, unit, kind),
                    unit,
                    show(fact.interval, kind, units),
                    fact.word if fact.given else "unmeasured",
                )
            )
        return made

    def __repr__(self) -> str:
        where = f" at {self.where}" if self.where else ""
        return f"<{self.rule}{where}: {self.verdict}>"

    def _repr_html_(self) -> str:
        from fitcheck.report.notebook import finding_html  # noqa: PLC0415

        return finding_html(self.found, self.check.build.units)


@dataclass(frozen=True, eq=False)
class Answer:
    """An answer as text, as the command of that name prints it, and as its plain data."""

    asked: str
    text: str = field(repr=False)
    data: Any = field(repr=False)

    def __str__(self) -> str:
        return self.text

    def __repr__(self) -> str:
        first = next((line for line in self.text.splitlines() if line.strip()), "")
        return f"<{self.asked}: {first.strip()}>"

    def _repr_html_(self) -> str:
        from fitcheck.report.drawings.svg import safe  # noqa: PLC0415

        return f"<pre>{safe(self.text)}</pre>"
