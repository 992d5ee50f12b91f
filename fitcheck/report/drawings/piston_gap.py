"""Piston-to-valve clearance over crank angle, both valves of a cylinder.

The figures are those that the rule about this clearance hands to `least_piston_to_valve`; so the
curve is that of the rule, with all that its inputs leave open.
"""

from __future__ import annotations

from functools import cached_property

from fitcheck.calculations.lift_curve import LiftCurve
from fitcheck.calculations.piston_to_valve import ValveAndPiston
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import Node, walk
from fitcheck.language.tree import Call
from fitcheck.model import SIDES, Position
from fitcheck.report.drawings.numbers import STATE_WORDS, Number, Numbers, state
from fitcheck.report.drawings.svg import WIDTH, Drawing, Sheet, cannot
from fitcheck.source import frozen

TITLE = "Piston-to-valve clearance over crank angle"
EACH = "cylinder"
READS = ["closed_gap", "static_compression"]
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
_LEFT, _RIGHT, _PLOT = 62.0, WIDTH - 18, 190.0


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

    @cached_property
    def curve(self) -> Curve:
        sign = 1 if self.at.side == "intake" else -1
        centre: Number = self.inputs["centreline"]
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
        lowest = min(min(valve.curve.low) for valve in valves)
        self.bottom = min(0.0, lowest - 0.4)
        self.top = max(9.0, lowest + 8.0)
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
            self.band(valve.curve)
        self.explain(self.y(self.bottom) + 50)
        return self.finished()

    def axes(self) -> None:
        sheet = self.sheet
        sheet.text(8, 14, "clearance", "small quiet")
        for angle in range(-_SWEEP, _SWEEP + 1, 20):
            sheet.line(self.x(angle), self.y(self.top), self.x(angle), self.y(self.bottom), "grid")
            sheet.text(
                self.x(angle),
                self.y(self.bottom) + 14,
                f"{angle:+d}" if angle else "0",
                "small",
                "middle",
            )
        sheet.text(
            (_LEFT + _RIGHT) / 2,
            self.y(self.bottom) + 30,
            "crank degrees from top dead centre of overlap",
            "small quiet",
            "middle",
        )
        unit = 25.4 / 10 if self.numbers.system == "inch" else 2.0
        while self.top / unit > _MOST_TICKS:
            unit *= 2
        step = 0
        while step * unit <= self.top:
            y = self.y(step * unit)
            sheet.line(_LEFT, y, _RIGHT, y, "outline" if step == 0 else "grid")
            sheet.text(_LEFT - 6, y + 4, self.numbers.length(step * unit), "small", "end")
            step += 1
        if self.bottom < 0:
            sheet.text(
                _RIGHT - 4, self.y(self.bottom) - 4, "piston and valve meet", "small quiet", "end"
            )

    def limit(self, valve: _Valve) -> None:
        """What is wanted: a line, or a band where practice disagrees."""
        finding = valve.finding
        if finding is None or not finding.demands:
            return
        low, high = (
            float(end) for end in (finding.demands[0].wanted.lower, finding.demands[0].wanted.upper)
        )
        x, width = (_LEFT, (_RIGHT - _LEFT) / 2)
        if valve.at.side == "intake":
            x += width
        if high - low > 0.01:
            self.sheet.unknown(
                x, self.y(high), width, self.y(low) - self.y(high), f"wanted {valve.at.side}"
            )
        else:
            self.sheet.line(
                x, self.y(low), x + width, self.y(low), "vague", f"wanted {valve.at.side}"
            )

    def band(self, curve: Curve) -> None:
        sheet = self.sheet
        lower = [(self.x(a), self.y(v)) for a, v in zip(curve.angles, curve.low, strict=True)]
        upper = [(self.x(a), self.y(v)) for a, v in zip(curve.angles, curve.high, strict=True)]
        exhaust = curve.side == "exhaust"
        look = "curve-dashed" if exhaust else "curve"
        text = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in [*lower, *reversed(upper)]) + "Z"
        sheet.put("path", d=text, cls="area", data_of=f"{curve.side} band")
        for values, of in ((curve.low, "least"), (curve.high, "most")):
            sheet.path(self.inside(curve.angles, values), look, f"{curve.side} {of}")
        i = curve.tightest
        sheet.tag(*lower[i], "E" if exhaust else "I")

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
            curve = valve.curve
            i = curve.tightest
            sheet.tag(16, y - 4, "E" if curve.side == "exhaust" else "I")
            look = "dashed" if curve.side == "exhaust" else "full line"
            told = (
                f"{curve.side.capitalize()} ({look}): {self.numbers.length(curve.low[i])} at "
                f"least, {abs(curve.angles[i])} degrees "
                f"{'before' if curve.angles[i] < 0 else 'after'} top dead centre"
            )
            finding = valve.finding
            if finding is not None:
                told += f"; {STATE_WORDS[state(finding)]} by the rule"
            gap = self.numbers.of("piston.axial_gap", valve.at)
            if gap.known:
                told += f"; given for the assembly: {gap.text}"
            y = sheet.lines(32, y, told + ".", WIDTH - 40) + 5
        y = sheet.lines(
            8,
            y,
            "Each band holds all that the figures leave open. Hatched or dashed "
            "level: what is wanted.",
            WIDTH - 16,
            "quiet small",
        )
        sheet.lines(
            8,
            y,
            "Estimated from the cam card's figures. Measure it in the assembly "
            "before the engine is turned by its starter.",
            WIDTH - 16,
            "strong small",
        )

    def finished(self) -> Drawing:
        told = "; ".join(
            f"{valve.at.side} least {self.numbers.length(min(valve.curve.low))} at "
            f"{valve.curve.angles[valve.curve.tightest]} degrees"
            for valve in self.valves
        )
        return self.sheet.finished(
            "piston-gap",
            f"{TITLE}, {self.at}",
            f"Clearance between valve and piston against crank angle around top dead centre of "
            f"overlap, as a band for each valve. {told}. Estimated from the cam card.",
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


def _telling(valve: _Valve) -> bool:
    if len(valve.lacks) > _MOST_LACKING:
        return False
    curve = valve.curve
    return curve.high[curve.tightest] - curve.low[curve.tightest] <= _WIDEST


def draw(numbers: Numbers, at: Position) -> Drawing:
    """The drawing for one cylinder."""
    title = f"{TITLE}, {at}"
    valves = _valves(numbers, at)
    told = [valve for valve in valves if _telling(valve)]
    if told:
        return _Plot(numbers, at, told).draw()
    lacks = list(dict.fromkeys(title for valve in valves for title in valve.lacks))
    return cannot("piston-gap", title, lacks or ["the figures finely enough to tell anything"])


def urgency(numbers: Numbers, at: Position) -> float:
    """How soon it wants to be looked at: the least clearance, in mm."""
    told = [valve for valve in _valves(numbers, at) if _telling(valve)]
    return min((min(valve.curve.low) for valve in told), default=1e9)
