"""The spring stack of one valve at any lift from its seat on, and what each gap is there."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from fitcheck.model import Position
from fitcheck.quantity import Interval, show
from fitcheck.report.drawings.numbers import DrawnFigure, Numbers
from fitcheck.report.drawings.stack import GAPS, TITLE, Stack
from fitcheck.report.drawings.svg import Drawing, cannot
from fitcheck.source import frozen

STANDINGS = {"fits": "enough", "open": "may be too little", "clash": "too little", "": ""}


@frozen
class GapThere:
    """A gap at a lift: its width, what is wanted of it, and the state it is in."""

    title: str
    width: str
    wanted: str
    state: str

    @property
    def standing(self) -> str:
        """Whether it is wide enough, in words."""
        return STANDINGS[self.state]


class Lifted(Stack):
    """The stack with its valve so far open; what is open is no more sure than what is closed."""

    def __init__(self, numbers: Numbers, at: Position, lift: Fraction) -> None:
        super().__init__(numbers, at)
        self.full = self.lift
        bind = numbers.of("bind_height", at)
        room = Interval(
            self.closed.interval.lower - bind.interval.upper,
            self.closed.interval.upper - bind.interval.lower,
        )
        lacks = tuple(dict.fromkeys((*self.closed.lacks, *bind.lacks)))
        coils = replace(self.gaps["coil_bind_clearance"], interval=room, lacks=lacks)
        seal = replace(self.gap, title=self.gaps["retainer_clearance"].title)
        self.gaps = {
            "coil_bind_clearance": self._less(coils, lift),
            "retainer_clearance": self._less(seal, lift),
        }
        self.open = self._less(replace(self.closed, title="spring height so far open"), lift)
        shown = show(Interval.point(lift), self.full.kind, numbers.system)
        self.lift = replace(self.full, interval=Interval.point(lift), lacks=(), text=shown)
        self.when = f"{shown} open"
        self.tight = ""

    def _less(self, number: DrawnFigure, lift: Fraction) -> DrawnFigure:
        """A figure of the closed valve, less the lift."""
        left = Interval(number.interval.lower - lift, number.interval.upper - lift)
        return replace(number, interval=left, text=show(left, number.kind, self.numbers.system))

    def wanted(self, name: str) -> Interval | None:
        """The least that is wanted of a gap; None where nobody asks for it here."""
        finding = self.findings[name]
        return finding.demands[0].wanted if finding is not None and finding.demands else None

    def state_of(self, name: str, number: DrawnFigure) -> str:
        """Whether a gap is wide enough at this lift; empty where that is not known."""
        wanted = self.wanted(name) if name in GAPS else None
        if wanted is None or not number.known:
            return ""
        if number.interval.lower >= wanted.upper:
            return "fits"
        return "clash" if number.interval.upper < wanted.lower else "open"

    def table(self) -> list[GapThere]:
        """The gaps in words and figures."""
        return [self._there(name, self.gaps[name]) for name in GAPS]

    def _there(self, name: str, gap: DrawnFigure) -> GapThere:
        wanted = self.wanted(name)
        least = f"at least {show(wanted, gap.kind, self.numbers.system)}" if wanted else ""
        return GapThere(gap.title, gap.shown, least, self.state_of(name, gap))

    def drawn(self) -> Drawing:
        """The drawing, or what it lacks."""
        lacks = list(self.closed.lacks)
        return cannot("stack", f"{TITLE}, {self.at}", lacks) if lacks else self.draw()
