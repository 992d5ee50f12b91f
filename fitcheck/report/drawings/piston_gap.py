"""Piston-to-valve clearance over crank angle, both valves of a cylinder.

What was measured in the assembly, or is predicted of it, is a level of its own, and rules. The
curves are what a cam card lets expect: their figures are those that the rule about this clearance
hands to `least_piston_to_valve`, with all that they leave open.
"""

from __future__ import annotations

from functools import cached_property

from fitcheck.calculations.lift_curve import LiftCurve
from fitcheck.calculations.piston_to_valve import ValveAndPiston
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import Node, walk
from fitcheck.language.tree import Call
from fitcheck.model import SIDES, Position
from fitcheck.report.drawings.numbers import STATE_WORDS, DrawnFigure, Numbers, state
from fitcheck.report.drawings.svg import WIDTH, Drawing, Sheet, cannot
from fitcheck.report.phrases import capital
from fitcheck.source import frozen

TITLE = "Piston-to-valve clearance over crank angle"
EACH = "cylinder"
READS = ["closed_gap", "static_compression", "piston.axial_gap"]
CALCULATION = "least_piston_to_valve"
# In the order of the calculation's arguments.
_ARGUMENTS = (
    "stroke",
    "rod_length",
    "lobe_lift",
    "rocker_ratio",
    "lash",
    "duration",
    "duration_lift",
    "advertised_duration",
    "advertised_lift",
    "centreline",
    "clearance_at_tdc",
    "valve_angle",
)
# Whether more of it leaves more clearance, at every crank angle; the centreline depends on it.
_MORE_IS_ROOM = (True, False, False, False, True, False, False, False, False, True, True, False)

_SWEEP = 60  # crank degrees shown on each side of top dead centre
_STEP = 2
_WIDEST = 10.0  # mm: a band wider than this at its tightest tells nothing
_MOST_TICKS = 7
_MOST_LACKING = 3  # figures not given, past which no band is tried
_LEFT, _RIGHT, _PLOT = 40.0, WIDTH - 14, 190.0
_ABOVE = 20.0  # units that a curve's letter stands above its lowest point
_LINED = 0.12  # mm: a level known better than this is drawn as a line


@frozen
class Curve:
    """One valve's clearance, [mm], at least and at most, over crank angles."""

    side: str
    angles: tuple[int, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]

    @property
    def tightest(self) -> int:
        """Where the least of it lies."""
        return min(range(len(self.low)), key=lambda i: self.low[i])


def rule_with_call(knowledge: Knowledge) -> tuple[Rule, Call] | None:
    """The rule that asks for this clearance, and its call of the calculation."""
    for rule in knowledge.rules.values():
        if "rod.length" in rule.inputs and "cam.installed_centreline" in rule.inputs:
            for node in walk(rule.requires):
                if isinstance(node, Call) and node.calculation.name == CALCULATION:
                    return rule, node
    return None


class _Valve:
    def __init__(self, numbers: Numbers, rule: Rule, call: Call, at: Position) -> None:
        self.at = at
        nodes: list[Node] = [*call.args]
        found = numbers.all_of(CALCULATION, nodes, at)
        self.inputs = dict(zip(_ARGUMENTS, found, strict=True))
        self.gap = numbers.of("piston.axial_gap", at)
        self.evidence = numbers.binding.fact("piston.axial_gap", at).word
        self.finding = next(
            (
                finding
                for finding in numbers.check.findings
                if finding.rule.id == rule.id and at in finding.positions
            ),
            None,
        )

    @property
    def lacks(self) -> list[str]:
        return list(
            dict.fromkeys(title for number in self.inputs.values() for title in number.lacks)
        )

    def _most_or_least(self, most: bool) -> ValveAndPiston:
        ends = {
            name: number.high if more == most else number.low
            for (name, number), more in zip(self.inputs.items(), _MORE_IS_ROOM, strict=True)
        }
        timing = [
            (ends["duration"], ends["duration_lift"]),
            (ends["advertised_duration"], ends["advertised_lift"]),
        ]
        curve = LiftCurve.from_timing(ends["lobe_lift"], timing)
        return ValveAndPiston(
            curve,
            0.0,
            ends["stroke"],
            ends["rod_length"],
            ends["clearance_at_tdc"],
            ends["rocker_ratio"],
            ends["lash"],
            ends["valve_angle"],
        )

    @property
    def estimated(self) -> bool:
        """Whether the figures are fine enough for a curve that tells anything."""
        if len(self.lacks) > _MOST_LACKING:
            return False
        return self.curve.high[self.curve.tightest] - self.curve.low[self.curve.tightest] <= _WIDEST

    @property
    def telling(self) -> bool:
        """Whether there is a clearance to draw: one of the assembly, or a curve."""
        return self.gap.known or self.estimated

    @property
    def least(self) -> float:
        """The least clearance that may be, [mm]: by the assembly before the cam card."""
        return self.gap.low if self.gap.known else min(self.curve.low)

    @cached_property
    def curve(self) -> Curve:
        sign = 1 if self.at.side == "intake" else -1
        centre: DrawnFigure = self.inputs["centreline"]
        first, last = sorted((sign * centre.low, sign * centre.high))
        least, most = self._most_or_least(False), self._most_or_least(True)
        angles = tuple(range(-_SWEEP, _SWEEP + 1, _STEP))
        low = [_at(least, angle, max(first - angle, angle - last, 0.0)) for angle in angles]
        high = [_at(most, angle, max(angle - first, last - angle)) for angle in angles]
        return Curve(self.at.side or "", angles, tuple(low), tuple(high))


def _at(valve: ValveAndPiston, angle: float, from_centre: float) -> float:
    """Clearance at a crank angle, with full lift so many degrees away: lobes are symmetric."""
    closed = valve.clearance(angle) + valve.valve_lift(angle)
    return closed - valve.valve_lift(from_centre)


class _Plot:
    def __init__(self, numbers: Numbers, at: Position, valves: list[_Valve]) -> None:
        self.numbers, self.at = numbers, at
        self.valves = valves
        lowest = min(valve.least for valve in valves)
        self.bottom = min(0.0, lowest - 0.4)
        given = [valve.gap.high * 1.3 for valve in valves if valve.gap.known]
        self.top = max(9.0, lowest + 8.0, *given)
        self.scale = _PLOT / (self.top - self.bottom)
        self.sheet = Sheet(f"piston-gap {at}")

    def x(self, angle: float) -> float:
        return _LEFT + (angle + _SWEEP) / (2 * _SWEEP) * (_RIGHT - _LEFT)

    def y(self, millimetres: float) -> float:
        inside = min(max(millimetres, self.bottom), self.top)
        return 24 + (self.top - inside) * self.scale

    def draw(self) -> Drawing:
        self.axes()
        for valve in self.valves:
            self.limit(valve)
        for valve in self.valves:
            if valve.estimated:
                self.band(valve.curve, told=not valve.gap.known)
            if valve.gap.known:
                self.given(valve)
        self.explain(self.y(self.bottom) + 50)
        return self.finished()

    def axes(self) -> None:
        sheet = self.sheet
        unit_name = self.numbers.length(0.0).rpartition(" ")[2]
        sheet.text(4, 14, f"clearance, {unit_name}", "quiet")
        for angle in range(-_SWEEP, _SWEEP + 1, 20):
            sheet.line(self.x(angle), self.y(self.top), self.x(angle), self.y(self.bottom), "grid")
            sheet.text(
                self.x(angle),
                self.y(self.bottom) + 14,
                f"{angle:+d}" if angle else "0",
                "",
                "middle",
            )
        sheet.text(
            (_LEFT + _RIGHT) / 2,
            self.y(self.bottom) + 30,
            "crank degrees from top dead centre",
            "quiet",
            "middle",
        )
        unit = 25.4 / 10 if self.numbers.system == "inch" else 2.0
        while self.top / unit > _MOST_TICKS:
            unit *= 2
        step = 0
        while step * unit <= self.top:
            y = self.y(step * unit)
            sheet.line(_LEFT, y, _RIGHT, y, "outline" if step == 0 else "grid")
            told = self.numbers.length(step * unit).partition(" ")[0]
            sheet.text(_LEFT - 4, y + 4, told, "", "end")
            step += 1
        if self.bottom < 0:
            middle = (_LEFT + _RIGHT) / 2
            sheet.text(middle, self.y(self.bottom) - 4, "they meet", "quiet", "middle")

    def half(self, valve: _Valve) -> tuple[float, float]:
        """Where a valve's half of the plot starts and ends."""
        middle = (_LEFT + _RIGHT) / 2
        return (middle, _RIGHT) if valve.at.side == "intake" else (_LEFT, middle)

    def level(self, valve: _Valve, low: float, high: float, look: str, of: str) -> None:
        """A level across a valve's half: a line, or hatched as wide as it is open."""
        left, right = self.half(valve)
        if high - low > _LINED:
            self.sheet.unknown(left, self.y(high), right - left, self.y(low) - self.y(high), of)
        else:
            y = self.y((low + high) / 2)
            self.sheet.line(left, y, right, y, look, of)

    def limit(self, valve: _Valve) -> None:
        """What is wanted, named on it: a line, or a band where practice disagrees."""
        finding = valve.finding
        if finding is None or not finding.demands:
            return
        demand = finding.demands[0]
        low, high = float(demand.wanted.lower), float(demand.wanted.upper)
        self.level(valve, low, high, "vague", f"wanted {valve.at.side}")
        left, right = self.half(valve)
        x, anchor = (right - 3, "end") if valve.at.side == "intake" else (left + 3, "")
        told = demand.show(demand.wanted, self.numbers.system)
        beneath = self.y(low) + 28 < self.y(self.bottom)
        y = self.y(low) + 13 if beneath else self.y(high) - 17
        for i, words in enumerate(("wanted", told)):
            self.sheet.text(x, y + 13 * i, words, "quiet", anchor)

    def given(self, valve: _Valve) -> None:
        """The clearance of the assembly itself, whatever the cam card has."""
        side, gap = valve.at.side, valve.gap
        look = "tight clashing" if valve.finding and state(valve.finding) == "clash" else "tight"
        self.level(valve, gap.low, gap.high, look, f"{side} clearance")
        left, right = self.half(valve)
        x, y = (left + right) / 2, self.y(gap.high)
        self.sheet.line(x, y - _ABOVE, x, y, "thin")
        self.sheet.tag(x, y - _ABOVE, "E" if side == "exhaust" else "I")

    def band(self, curve: Curve, *, told: bool) -> None:
        """What the cam card lets expect; with its letter where nothing better is known."""
        sheet = self.sheet
        lower = [(self.x(a), self.y(v)) for a, v in zip(curve.angles, curve.low, strict=True)]
        upper = [(self.x(a), self.y(v)) for a, v in zip(curve.angles, curve.high, strict=True)]
        exhaust = curve.side == "exhaust"
        look = "curve-dashed" if exhaust else "curve"
        text = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in [*lower, *reversed(upper)]) + "Z"
        sheet.put("path", d=text, cls="area", data_of=f"{curve.side} band")
        for values, of in ((curve.low, "least"), (curve.high, "most")):
            sheet.path(self.inside(curve.angles, values), look, f"{curve.side} {of}")
        if told:
            x, y = lower[curve.tightest]
            sheet.line(x, y, x, y - _ABOVE, "thin")
            sheet.circle(x, y, 2, "head")
            sheet.tag(x, y - _ABOVE, "E" if exhaust else "I")

    def inside(
        self, angles: tuple[int, ...], values: tuple[float, ...]
    ) -> list[tuple[float, float]]:
        """The part of a curve beneath the plot's top, cut where it leaves."""
        points = []
        for i in range(len(angles) - 1):
            (a, v), (b, w) = (angles[i], values[i]), (angles[i + 1], values[i + 1])
            if v <= self.top:
                points.append((self.x(a), self.y(v)))
            if (v - self.top) * (w - self.top) < 0:
                points.append((self.x(a + (b - a) * (self.top - v) / (w - v)), self.y(self.top)))
        if values[-1] <= self.top:
            points.append((self.x(angles[-1]), self.y(values[-1])))
        return points

    def explain(self, y: float) -> None:
        sheet = self.sheet
        for valve in self.valves:
            sheet.tag(12, y - 4, "E" if valve.at.side == "exhaust" else "I")
            y = sheet.lines(26, y, f"{capital(self.told(valve))}.", WIDTH - 32) + 4
        if any(valve.estimated for valve in self.valves):
            y = sheet.lines(
                4,
                y,
                "Bands hold all that the cam card's figures leave open: exhaust dashed, intake "
                "full line. Measure it in the assembly before the starter turns the engine.",
                WIDTH - 8,
                "quiet",
            )

    def told(self, valve: _Valve) -> str:
        """A valve's clearance in words."""
        told = f"{valve.at.side}: "
        if valve.gap.known:
            told += f"{valve.gap.text}, {valve.evidence}"
        else:
            i = valve.curve.tightest
            angle = valve.curve.angles[i]
            told += (
                f"{self.numbers.length(valve.curve.low[i])} at least, {abs(angle)} degrees "
                f"{'before' if angle < 0 else 'after'} top dead centre, by the cam card"
            )
        finding = valve.finding
        return told + (f"; {STATE_WORDS[state(finding)]}" if finding is not None else "")

    def finished(self) -> Drawing:
        told = "; ".join(map(self.told, self.valves))
        return self.sheet.finished(
            "piston-gap",
            f"{TITLE}, {self.at}",
            f"Clearance between valve and piston against crank angle around top dead centre of "
            f"overlap. {capital(told)}.",
            self.scale,
        )


def _valves(numbers: Numbers, at: Position) -> list[_Valve]:
    """Both valves of a cylinder; none where no rule reckons this clearance."""
    key = CALCULATION, at
    if key not in numbers.kept:
        found = rule_with_call(numbers.knowledge)
        sides = [Position(at.bank, at.cylinder, side) for side in SIDES] if found else []
        numbers.kept[key] = [_Valve(numbers, *found, valve) for valve in sides if found]
    valves: list[_Valve] = numbers.kept[key]
    return valves


def draw(numbers: Numbers, at: Position) -> Drawing:
    """The drawing for one cylinder."""
    title = f"{TITLE}, {at}"
    valves = _valves(numbers, at)
    told = [valve for valve in valves if valve.telling]
    if told:
        return _Plot(numbers, at, told).draw()
    lacks = list(dict.fromkeys(title for valve in valves for title in valve.lacks))
    return cannot("piston-gap", title, lacks or ["the figures finely enough to tell anything"])


def urgency(numbers: Numbers, at: Position) -> float:
    """How soon it wants to be looked at: the least clearance, in mm."""
    told = [valve for valve in _valves(numbers, at) if valve.telling]
    return min((valve.least for valve in told), default=1e9)
