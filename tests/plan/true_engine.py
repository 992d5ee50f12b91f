"""Engines whose true figures are known, and what machine work truly does to them.

Written from geometry alone: nothing here reads the project's derived figures, rules or effects.
Lengths are in millimetres, volumes in cubic millimetres, forces in newtons, angles in degrees.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import cos, pi, radians
from random import Random

from fitcheck.check.bind import Binding
from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild, Evidence, Origin, Part, Position, Selector, Statement
from fitcheck.quantity import Interval, Quantity

Key = tuple[str, Position]
# How the rocker stands to valve and pushrod: known only from measuring after anything moved.
ATTITUDE = (
    "pushrod.wanted_length", "rocker.contact_offset", "rocker.contact_sweep",
    "rocker.height_above_rail", "valve_cover.gap_to_rockers", "retainer.gap_to_rocker",
    "lifter.lash", "lifter.preload",
)  # fmt: skip
# What work may put into an engine that had none.
BROUGHT = "shim"
THICKNESS = "shim.thickness"
BOLTS = ("head_fasteners.engagement", "head_fasteners.bottom_gap")
MANIFOLD = ("intake_manifold.face_gap", "intake_manifold.end_gap", "intake_manifold.port_mismatch")
# Between pushrod and bore, a usual lean.
LEAN = cos(radians(4))


@dataclass
class Truth:
    """The true figures of one engine; None where work changed one by what is not reckoned here."""

    build: EngineBuild
    knowledge: Knowledge
    figures: dict[Key, float | None]
    stated: dict[Key, Statement]
    halves: dict[Key, float]  # half the width that the statement leaves
    changed: set[Key] = field(default_factory=set)

    @classmethod
    def of(cls, build: EngineBuild, knowledge: Knowledge) -> Truth:
        """The truth of a sound engine: every stated figure at its middle."""
        binding, truth = Binding(build, knowledge), cls(build, knowledge, {}, {}, {})
        for name, attribute in knowledge.attributes.items():
            if attribute.kind is None or attribute.spread_of:
                continue  # a spread follows from the figures themselves
            for position in build.layout.positions(attribute.each):
                fact = binding.fact(name, position)
                if fact.statement is not None and fact.interval is not None:
                    key = name, position
                    truth.figures[key] = float(fact.interval.middle)
                    truth.stated[key] = fact.statement
                    truth.halves[key] = float(fact.interval.width) / 2
        if BROUGHT in build.absent:
            truth._none_yet()
        return truth

    def _none_yet(self) -> None:
        attribute = self.knowledge.attributes[THICKNESS]
        assert attribute.kind is not None
        none = Quantity(attribute.kind, Interval.point(Fraction(0)), "0", True)
        for place in self.build.layout.positions(attribute.each):
            key, where = (THICKNESS, place), Selector(None, place.cylinder, place.side)
            self.figures[key], self.halves[key] = 0.0, 0.0
            self.stated[key] = Statement(
                attribute, where, Evidence.MEASURED, none, Origin(by="judge")
            )

    def at(self, name: str, position: Position) -> float | None:
        """A true figure at a place, or at the wider place that holds it."""
        attribute = self.knowledge.attributes[name]
        for place in self.build.layout.positions(attribute.each):
            if _holds(place, position):
                return self.figures.get((name, place))
        return None

    def add(self, name: str, position: Position, by: float | None) -> None:
        """Change a true figure at every place of it that the position holds or lies in."""
        attribute = self.knowledge.attributes[name]
        for place in self.build.layout.positions(attribute.each):
            key = name, place
            if not (_holds(place, position) or _holds(position, place)) or key not in self.figures:
                continue
            now = self.figures[key]
            self.figures[key] = None if by is None or now is None else now + by
            if by is None or by:
                self.changed.add(key)

    def written(self, random: Random | None) -> EngineBuild:
        """A build file's statements: at the truth, or as read by someone within each tolerance."""
        parts = {}
        for slot, ones in self.build.parts.items():
            own = {key for key in self.figures if key[0].startswith(f"{slot}.")}
            statements = [self._statement(key, random) for key in own]
            kept = [
                tuple(s for s in part.statements if (s.attribute.kind is None)) for part in ones
            ]
            first = replace(
                ones[0], statements=(*kept[0], *(s for s in statements if s is not None))
            )
            rest = [replace(p, statements=k) for p, k in zip(ones[1:], kept[1:], strict=True)]
            parts[slot] = (first, *rest)
        shims = {key: value for key, value in self.figures.items() if key[0] == THICKNESS}
        if BROUGHT in parts or not any(shims.values()):
            return replace(self.build, parts=parts)
        said = [one for one in (self._statement(key, random) for key in shims) if one is not None]
        parts[BROUGHT] = (Part(BROUGHT, BROUGHT, "", tuple(said)),)
        return replace(self.build, parts=parts, absent=self.build.absent - {BROUGHT})

    def _statement(self, key: Key, random: Random | None) -> Statement | None:
        value, said, half = self.figures[key], self.stated[key], self.halves[key]
        assert said.attribute.kind is not None
        if value is None:
            return None
        position = key[1]
        if random is None:
            interval, evidence = Interval.point(Fraction(value)), Evidence.MEASURED
        else:
            read = Fraction(value) + Fraction(random.uniform(-0.9, 0.9) * half)
            interval = Interval(read - Fraction(half), read + Fraction(half))
            evidence = said.evidence
        quantity = Quantity(said.attribute.kind, interval, f"{float(interval.middle):.4g}", True)
        where = Selector(
            position.bank if position.cylinder is None else None, position.cylinder, position.side
        )
        return Statement(said.attribute, where, evidence, quantity, Origin(by="judge"))


def _holds(outer: Position, inner: Position) -> bool:
    return (
        outer.bank in (None, inner.bank)
        and outer.cylinder in (None, inner.cylinder)
        and outer.side in (None, inner.side)
    )


# Work: what a true amount at one place does.

Work = Callable[[Truth, Position, float], None]


def _valves(truth: Truth, place: Position) -> list[Position]:
    return [p for p in truth.build.layout.positions("valve") if _holds(place, p)]


def _spring(truth: Truth, place: Position, taller: float) -> None:
    """The room for the spring grows: it presses with less, by its rate."""
    rate = truth.at("spring.rate", place)
    truth.add("spring.installed_height", place, taller)
    for load in ("spring.seat_load", "spring.open_load"):
        truth.add(load, place, None if rate is None else -rate * taller)


def _unknown(truth: Truth, place: Position, *names: str) -> None:
    for name in names:
        truth.add(name, place, None)


def _nearer(truth: Truth, place: Position, by: float) -> None:
    """Head and piston come nearer by so much, along the bore."""
    for valve in _valves(truth, place):
        angle = radians(truth.at("head.valve_angle", valve) or 0.0)
        known = truth.at("head.valve_angle", valve) is not None
        truth.add("piston.axial_gap", valve, -by * cos(angle) if known else None)
        if angle or not known:
            _unknown(truth, valve, "piston.radial_gap")
    truth.add("piston.dome_to_chamber", place, -by)
    length = {v: truth.figures.get(("pushrod.wanted_length", v)) for v in _valves(truth, place)}
    _unknown(truth, place, *ATTITUDE, *BOLTS, *MANIFOLD, "spark_plug.gap_to_piston")
    for valve, wanted in length.items():
        if wanted is not None:
            truth.figures["pushrod.wanted_length", valve] = wanted - by * LEAN


def mill_deck(truth: Truth, place: Position, amount: float) -> None:
    """The deck of one head comes down."""
    area = truth.at("head.chamber_area", place)
    for cylinder in truth.build.layout.positions("cylinder"):
        if _holds(place, cylinder):
            area = truth.at("head.chamber_area", cylinder)
            truth.add("head.chamber_volume", cylinder, None if area is None else -area * amount)
    truth.add("head.deck_removed", place, amount)
    for name in ("deck_thickness", "height", "valve_recess", "dowel_hole_depth", "bolt_grip"):
        truth.add(f"head.{name}", place, -amount)
    _nearer(truth, place, amount)


def deck_block(truth: Truth, place: Position, amount: float) -> None:
    """The block's deck comes down towards the pistons."""
    for name in ("block.deck_height", "piston.deck_clearance", "piston.quench"):
        truth.add(name, place, -amount)
    if place == truth.build.layout.positions("bank")[0]:  # one hole was measured for the block
        for name in ("block.head_bolt_thread_depth", "block.head_bolt_thread_start"):
            truth.add(name, Position(), -amount)
    _nearer(truth, place, amount)


def gasket(sign: int) -> Work:
    """A thicker gasket (+1) or a thinner one."""

    def work(truth: Truth, place: Position, amount: float) -> None:
        truth.add("head_gasket.thickness", place, sign * amount)
        truth.add("piston.quench", place, sign * amount)
        _nearer(truth, place, -sign * amount)

    return work


def deeper_valve(margin: bool) -> Work:
    """The valve goes up its guide: by cutting the seat, or the face of the valve."""

    def work(truth: Truth, place: Position, amount: float) -> None:
        angle, head = truth.at("head.valve_angle", place), truth.at("valve.head_diameter", place)
        if margin:
            truth.add("valve.margin", place, -amount)
        for name in ("seat.sunk", "head.stem_tip_height", "retainer.gap_to_seal",
                     "piston.axial_gap"):  # fmt: skip
            truth.add(name, place, amount)
        recess = None if angle is None else amount * cos(radians(angle))
        truth.add("head.valve_recess", place, recess)
        chamber = Position(place.bank, place.cylinder)
        gained = None if head is None else pi / 4 * head**2 * amount
        truth.add("head.chamber_volume", chamber, gained)
        _spring(truth, place, amount)
        _unknown(truth, place, *ATTITUDE)

    return work


def grind_valve_tip(truth: Truth, place: Position, amount: float) -> None:
    """The tip comes down to the retainer, and the rocker with it."""
    for name in ("valve.length", "valve.tip_length", "valve.tip_hard_depth",
                 "head.stem_tip_height", "retainer.tip_stand"):  # fmt: skip
        truth.add(name, place, -amount)
    gap = truth.figures.get(("retainer.gap_to_rocker", place))
    _unknown(truth, place, *ATTITUDE)
    if gap is not None:
        truth.figures["retainer.gap_to_rocker", place] = gap - amount


def cut_spring_seat(truth: Truth, place: Position, amount: float) -> None:
    """The spring stands lower."""
    truth.add("head.spring_seat_floor", place, -amount)
    for name in ("head.stem_tip_height", "head.stem_tip_height_new", "guide.protrusion"):
        truth.add(name, place, amount)
    _spring(truth, place, amount)


def under_spring(name: str, sign: int) -> Work:
    """What lies under the spring gets thicker (+1) or thinner."""

    def work(truth: Truth, place: Position, amount: float) -> None:
        truth.add(name, place, sign * amount)
        _spring(truth, place, -sign * amount)

    return work


def raised_retainer(name: str, sign: int, *, same: bool) -> Work:
    """The retainer sits nearer the tip (+1) or lower; the same one on other locks, or another."""

    def work(truth: Truth, place: Position, amount: float) -> None:
        truth.add(name, place, sign * amount if same else -sign * amount)
        if same:
            truth.add("retainer.gap_to_seal", place, sign * amount)
        else:
            _unknown(truth, place, "retainer.gap_to_seal", "retainer.mass",
                     "retainer.underside_drop")  # fmt: skip
        truth.add("retainer.gap_to_rocker", place, -sign * amount)
        truth.add("retainer.tip_stand", place, -sign * amount)
        _spring(truth, place, sign * amount)

    return work


def one(*names: str, sign: float = 1.0, unknown: tuple[str, ...] = ()) -> Work:
    """Work that changes figures by its amount and nothing else."""

    def work(truth: Truth, place: Position, amount: float) -> None:
        for name in names:
            truth.add(name, place, sign * amount)
        _unknown(truth, place, *unknown)

    return work


def cut_guide_height(truth: Truth, place: Position, amount: float) -> None:
    """The guide's top comes down from the retainer."""
    truth.add("guide.protrusion", place, -amount)
    truth.add("guide.length", place, -amount)
    truth.add("retainer.gap_to_seal", place, amount)


def notch_piston(truth: Truth, place: Position, amount: float) -> None:
    """The pocket's floor comes down along the cylinder."""
    angle = truth.at("head.valve_angle", place)
    truth.add("piston.pocket_depth", place, amount)
    truth.add("piston.floor", place, -amount)
    truth.add("piston.axial_gap", place, None if angle is None else amount * cos(radians(angle)))
    _unknown(truth, place, "piston.crown_volume")
    if angle:
        _unknown(truth, place, "piston.radial_gap")


def widen_pocket(truth: Truth, place: Position, amount: float) -> None:
    """The pocket's wall moves out by half of what the diameter grows."""
    truth.add("piston.pocket_diameter", place, amount)
    truth.add("piston.radial_gap", place, amount / 2)
    _unknown(truth, place, "piston.crown_volume")


def replace_insert(truth: Truth, place: Position, stands: float) -> None:
    """The valve comes back to where it stood when the head was new, but for a little."""
    sunk = truth.at("seat.sunk", place)
    if sunk is None:
        _unknown(truth, place, "head.stem_tip_height", "retainer.gap_to_seal", "piston.axial_gap",
                 "head.valve_recess", "head.chamber_volume", "spring.installed_height",
                 "spring.seat_load", "spring.open_load", *ATTITUDE)  # fmt: skip
    else:
        deeper_valve(margin=False)(truth, place, stands - sunk)
    for name in ("outside_diameter", "width", "throat", "runout", "uncovered_outside",
                 "uncovered_inside", "insert_outside_diameter", "insert_inside_diameter"):  # fmt: skip
        truth.add(f"seat.{name}", place, None)


STAYS = ("pushrod.wanted_length", "lifter.preload")
PUSHROD = tuple(name for name in ATTITUDE if name not in STAYS)


def pushrod(sign: int) -> Work:
    """A pushrod longer or shorter: what holds its cup stays, so the plunger goes down or up by it."""

    def work(truth: Truth, place: Position, amount: float) -> None:
        one("pushrod.length", sign=sign, unknown=PUSHROD)(truth, place, amount)
        truth.add("lifter.preload", place, sign * amount)

    return work


WORKS: dict[str, Work] = {
    "mill_deck": mill_deck,
    "deck_block": deck_block,
    "fit_thicker_gasket": gasket(1),
    "fit_thinner_gasket": gasket(-1),
    "cut_seat": deeper_valve(margin=False),
    "sink_valve": deeper_valve(margin=False),
    "grind_valve_face": deeper_valve(margin=True),
    "grind_valve_tip": grind_valve_tip,
    "cut_spring_seat": cut_spring_seat,
    "shim_spring": under_spring("shim.thickness", 1),
    "remove_shims": under_spring("shim.thickness", -1),
    "fit_thinner_locator": under_spring("locator.thickness", -1),
    "fit_offset_locks_up": raised_retainer("locks.offset", 1, same=True),
    "fit_offset_locks_down": raised_retainer("locks.offset", -1, same=True),
    "fit_higher_retainer": raised_retainer("retainer.step_below_groove", 1, same=False),
    "fit_lower_retainer": raised_retainer("retainer.step_below_groove", -1, same=False),
    "cut_guide_height": cut_guide_height,
    "hone_guide": one("guide.bore", "guide.clearance"),
    "ream_guide": one("guide.bore", "guide.clearance"),
    "notch_piston": notch_piston,
    "widen_pocket": widen_pocket,
    "replace_insert": replace_insert,
    "narrow_seat": one("seat.width", sign=-1),
    "open_throat": one("seat.throat"),
    "file_rings": one("rings.top_gap", "rings.second_gap"),
    "hone_lifter_bores": one("block.lifter_bore"),
    "fit_longer_pushrod": pushrod(1),
    "fit_shorter_pushrod": pushrod(-1),
    "enlarge_pushrod_hole": one("head.pushrod_hole", unknown=("pushrod.gap_to_head",)),
    "unshroud_chamber": one("head.chamber_volume"),
    "polish_chamber": one("head.chamber_volume"),
    "equalise_chambers": one("head.chamber_volume"),
}
