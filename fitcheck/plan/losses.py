"""What a route loses in quality, beside its price: from the plan and the check after it."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.check import BuildCheck, RuleFinding
from fitcheck.check.bind import YES
from fitcheck.check.room import room_of
from fitcheck.model import Evidence, Fact, Position
from fitcheck.plan.routes import Route
from fitcheck.plan.stages import Costs
from fitcheck.plan.work import Work, fits_part, removes_metal
from fitcheck.plan.work_order import cost_of_job

_SOLD_COMPLETE = "head.sold_complete"
_TIGHTEST = 3


@dataclass(frozen=True, slots=True)
class Thrown:
    """Parts that are in the build and leave it: what, called what, how many."""

    slot: str
    name: str
    count: int


@dataclass(frozen=True, slots=True)
class Losses:
    """What one way loses.

    `measured`, `predicted` and `claimed` count the figures that its answers rest on. `beside` is
    what goes with its work and is in no price of it. `tightest` fits with the least room, where the
    ways do not leave the same. `voided` are the parts of a head sold complete that it changes or
    cuts, None where no head is sold so; `alone` is what only this way leaves undecided, the gravest
    first.
    """

    measured: int
    predicted: int
    claimed: int
    thrown: tuple[Thrown, ...]
    cut: tuple[Work, ...]
    tightest: tuple[RuleFinding, ...]
    waiting: tuple[RuleFinding, ...]
    alone: tuple[RuleFinding, ...]
    voided: tuple[str, ...] | None
    beside: Costs | None


def losses(route: Route, others: list[Route]) -> Losses:
    """What a route loses, beside the others."""
    check, plan = route.after or route.way.check, route.outcome.plan
    works = plan.applied.works if plan is not None else ()
    facts = stated(check)
    checks = [one.after or one.way.check for one in others]
    return Losses(
        sum(fact.evidence is Evidence.MEASURED for fact in facts),
        sum(fact.evidence is Evidence.PREDICTED for fact in facts),
        sum(fact.evidence >= Evidence.CLAIMED for fact in facts),
        tuple(_thrown(works, route.way.check)),
        tuple(one for one in works if one.operation and removes_metal(one.operation)),
        _tightest(check, checks),
        plan.waiting if plan is not None else (),
        _alone(check, checks),
        _voided(works, route.way.check),
        _beside(route),
    )


def stated(check: BuildCheck) -> list[Fact]:
    """The figures given that the answers rest on, each once."""
    facts = {id(fact): fact for finding in check.findings for fact in finding.facts.values()}
    return [fact for fact in facts.values() if fact.statement is not None]


def _thrown(works: tuple[Work, ...], check: BuildCheck) -> list[Thrown]:
    found: dict[str, set[Position]] = {}
    for work in works:
        slot = _fits(work)
        if slot in check.build.parts:
            each = check.knowledge.classes[slot].each
            places = check.build.layout.positions(each)
            found.setdefault(slot, set()).update(
                place for place in places if any(_at(place, one, work) for one in work.positions)
            )
    return [
        Thrown(slot, check.build.parts[slot][0].name, max(1, len(places)))
        for slot, places in found.items()
    ]


def _at(place: Position, worked: Position, work: Work) -> bool:
    """Whether the part at a place leaves for work at another."""
    sides = work.swap is None or work.swap.side in ("", place.side)
    return sides and all(
        mine is None or theirs is None or mine == theirs
        for mine, theirs in (
            (place.bank, worked.bank),
            (place.cylinder, worked.cylinder),
            (place.side, worked.side),
        )
    )


def _fits(work: Work) -> str:
    """The slot in which work puts another part; empty where it puts none."""
    if work.swap is not None:
        return work.swap.slot
    assert work.operation is not None
    return str(work.operation.file.on) if fits_part(work.operation) else ""


def _tightest(check: BuildCheck, others: list[BuildCheck]) -> tuple[RuleFinding, ...]:
    """What fits with the least room, of stop and serious; not what every way leaves alike."""
    rooms = _least_room(check)
    alike = [
        {rule: room_of(one.demands[0]) for rule, one in _least_room(b).items()} for b in others
    ]
    found = [
        one
        for rule, one in rooms.items()
        if not alike or any(own.get(rule) != room_of(one.demands[0]) for own in alike)
    ]
    return tuple(sorted(found, key=lambda one: room_of(one.demands[0]))[:_TIGHTEST])


def _least_room(check: BuildCheck) -> dict[str, RuleFinding]:
    """By rule the place with the least room."""
    found: dict[str, RuleFinding] = {}
    for one in check.fits:
        if one.demands and one.rule.severity != "advice":
            before = found.setdefault(one.rule.id, one)
            if room_of(one.demands[0]) < room_of(before.demands[0]):
                found[one.rule.id] = one
    return found


def _alone(check: BuildCheck, others: list[BuildCheck]) -> tuple[RuleFinding, ...]:
    settled = [{one.rule.id for one in other.undecided} for other in others]
    found = {
        one.rule.id: one
        for one in check.undecided
        if one.rule.severity != "advice" and all(one.rule.id not in ids for ids in settled)
    }
    return tuple(sorted(found.values(), key=lambda one: one.rule.severity != "stop"))


def _voided(works: tuple[Work, ...], check: BuildCheck) -> tuple[str, ...] | None:
    """The parts of a head sold complete that are changed or cut, the head among them."""
    fact = check.binding.fact(_SOLD_COMPLETE, Position())
    if not fact.given or fact.mask != YES:
        return None
    sold = ("head", *fact.attribute.brings)
    touched = {
        work.swap.slot if work.swap else str(work.operation.file.on) if work.operation else ""
        for work in works
    }
    return tuple(slot for slot in sold if slot in touched)


def _beside(route: Route) -> Costs | None:
    plan, prices = route.outcome.plan, route.way.prices
    if plan is None or not plan.works:
        return None
    whole, own = cost_of_job(plan, prices), plan.total
    price = None if whole.price is None or own.price is None else whole.price - own.price
    return Costs(price, whole.hours - own.hours, whole.metal - own.metal, 0)
