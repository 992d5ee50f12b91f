"""Figures measured at some places only, in words: what is sure, what is open, how many more."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from rich.console import Console

from fitcheck.check import Verdict
from fitcheck.check.records.samples import Sample
from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild, Position, group_name
from fitcheck.quantity import Interval, Kind, System, show
from fitcheck.report.phrases import capital, counted
from fitcheck.report.writer import Writer


def write_samples(
    found: list[Sample], build: EngineBuild, knowledge: Knowledge, console: Console, system: System
) -> None:
    """Write the samples to a console."""
    writer = _Samples(build, knowledge, console, system)
    writer.line(f"Measured in part: {build.title}", "bold")
    if not found:
        writer.line("No figure is measured at some of its places only.")
    for sample in found:
        writer.sample(sample)


class _Samples(Writer):
    def __init__(
        self, build: EngineBuild, knowledge: Knowledge, console: Console, system: System
    ) -> None:
        super().__init__(console)
        self.build = build
        self.knowledge = knowledge
        self.system: System = system

    def sample(self, sample: Sample) -> None:
        attribute = sample.attribute
        self.heading(self.knowledge.title_of(attribute))
        self.line(
            f"Measured at {len(sample.measured)} of {counted(sample.places, 'place')}: "
            f"{self.group(sample.measured)}."
        )
        for at, interval in sample.measured.items():
            self.line(f"{at}: {self.shown(interval, sample)}", indent=2)
        self.line(
            f"Elsewhere ({self.group(sample.open)}) it may be anywhere from "
            f"{self.hull(sample.open.values(), sample)}."
        )
        self.spread(sample)
        self.more(sample)
        for result in sample.results:
            self.line(f"{capital(str(result.derived.file.title))}:", "bold")
            told: dict[str, list[Position]] = defaultdict(list)
            for at, interval in result.at.items():
                mark = "" if at in sample.measured else ", not measured"
                told[show(interval, result.derived.kind, self.system) + mark].append(at)
            for text, positions in told.items():
                self.line(f"{group_name(positions, self.build.layout)}: {text}", indent=2)

    def spread(self, sample: Sample) -> None:
        kind = _kind(sample)
        seen, spread = (show(one, kind, self.system) for one in (sample.seen, sample.spread))
        self.line(f"Largest less smallest of those measured: {seen}. Of all: {spread}.")
        demand = sample.demand
        if sample.finding is None or demand is None:
            self.line("No rule judges this spread.")
            return
        wanted = show(Interval.point(demand.wanted.lower), kind, self.system)
        told = {
            Verdict.CONFLICT: f"It is past {wanted} already, whatever the others are",
            Verdict.FITS: f"It stays within {wanted}, whatever the others are",
        }
        open_ = f"A spread of at most {wanted} is NOT CONFIRMED"
        verdict = told.get(sample.finding.verdict, open_)
        self.line(f"{verdict} ({sample.finding.rule.file.subject}).", "bold")

    def more(self, sample: Sample) -> None:
        self.line("How many more:", "bold")
        if sample.breaking:
            self.line(
                f"- Worst case: {len(sample.breaking)} more ({self.group(sample.breaking)}). "
                "Any of them may lie far enough off to matter; only its own reading rules "
                "that out.",
                indent=2,
            )
        else:
            self.line("- Worst case: none, for this question.", indent=2)
        self.line(
            "- By chance: if those measured were picked blindly, nothing unmeasured lies "
            f"outside them in {percent(sample.chance())} of cases (largest and smallest are "
            "as likely at any place as at another)."
            f"{self.chances(sample)}",
            indent=2,
        )
        if sample.tolerance is not None:
            self.line(
                f"- By statistics: nine in ten such places lie within "
                f"{show(sample.tolerance, _kind(sample), self.system)}, said with 95 % "
                "confidence, if they scatter normally and were picked blindly (tolerance "
                "interval, NIST/SEMATECH e-Handbook 7.2.6.3).",
                indent=2,
            )

    def chances(self, sample: Sample) -> str:
        told = [
            f"with {extra} more {percent(sample.chance(extra))}"
            for extra in range(1, len(sample.open) + 1)
        ]
        return f" {capital('; '.join(told))}."

    def group(self, positions: Iterable[Position]) -> str:
        return group_name(positions, self.build.layout)

    def shown(self, interval: Interval, sample: Sample) -> str:
        return show(interval, _kind(sample), self.system)

    def hull(self, intervals: Iterable[Interval], sample: Sample) -> str:
        found = list(intervals)
        return self.shown(
            Interval(min(one.lower for one in found), max(one.upper for one in found)), sample
        )


def _kind(sample: Sample) -> Kind:
    assert sample.attribute.kind is not None
    return sample.attribute.kind


def percent(share: Fraction) -> str:
    """A share in whole percent, never rounded up to all or down to none."""
    whole = round(share * 100)
    if share < 1 and whole == 100:
        return "over 99 %"
    return "under 1 %" if share > 0 and whole == 0 else f"{whole} %"


def samples_data(found: list[Sample], system: System) -> list[dict[str, Any]]:
    """The samples as plain data."""
    return [
        {
            "attribute": sample.attribute.name,
            "measured": {
                str(at): show(one, _kind(sample), system) for at, one in sample.measured.items()
            },
            "open": {str(at): show(one, _kind(sample), system) for at, one in sample.open.items()},
            "spread_seen": show(sample.seen, _kind(sample), system),
            "spread": show(sample.spread, _kind(sample), system),
            "verdict": sample.finding.verdict.value if sample.finding else None,
            "rule": sample.finding.rule.id if sample.finding else None,
            "more_in_the_worst_case": [str(at) for at in sample.breaking],
            "chance_all_within": [
                float(sample.chance(more)) for more in range(len(sample.open) + 1)
            ],
            "tolerance": show(sample.tolerance, _kind(sample), system)
            if sample.tolerance
            else None,
            "follows": {
                result.derived.id: {
                    str(at): show(one, result.derived.kind, system) for at, one in result.at.items()
                }
                for result in sample.results
            },
        }
        for sample in found
    ]
