"""What a route loses in quality, in words and as data."""

from __future__ import annotations

from typing import Any

from fitcheck.check.room import room_of
from fitcheck.plan.losses import Losses, Thrown, losses
from fitcheck.plan.routes import Route, Routes
from fitcheck.quantity import System
from fitcheck.report.phrases import counted, subjects
from fitcheck.report.plan import titles
from fitcheck.report.plan_answer import costs_words

_MOST = 6


def losses_of(route: Route, found: Routes) -> Losses:
    """What a route loses, beside the others of the comparison."""
    return losses(route, [one for one in found.routes if one is not route])


def loss_rows(route: Route, lost: Losses, system: System) -> dict[str, str]:
    """What is lost, by label."""
    build = route.way.check.build
    cut = titles(lost.cut, build.layout, system)
    rows = {
        "goes with the work, in no price here": _beside(route, lost),
        "of what is there now, not used any more": "; ".join(
            _thrown(one, route) for one in lost.thrown
        ),
        "metal cut away for good": "; ".join(cut),
        "least room, where the ways differ": "; ".join(
            f"{finding.rule.file.subject} {room_of(finding.demands[0]):.0%} of its limit"
            for finding in lost.tightest
        ),
        "it rests on": f"{lost.measured} figures measured, {lost.predicted} predicted, "
        f"{lost.claimed} claimed or guessed",
        "fits only if it is measured so after the work": subjects(lost.waiting, most=_MOST),
        "undecided in this way alone": subjects(lost.alone, most=_MOST),
        "the seller's word for the complete head": _voided(route, lost),
    }
    return {label: told or "nothing" for label, told in rows.items()}


def loss_data(route: Route, lost: Losses, system: System) -> dict[str, Any]:
    """The same as data."""
    layout = route.way.check.build.layout
    return {
        "measured": lost.measured,
        "predicted": lost.predicted,
        "claimed": lost.claimed,
        "thrown_away": [
            {"part": one.slot, "name": one.name, "count": one.count} for one in lost.thrown
        ],
        "cut": titles(lost.cut, layout, system),
        "cut_places": sum(len(work.positions) for work in lost.cut),
        "tightest": [
            {
                "rule": finding.rule.id,
                "severity": finding.rule.severity,
                "room": room_of(finding.demands[0]),
            }
            for finding in lost.tightest
        ],
        "waiting": [finding.rule.id for finding in lost.waiting],
        "undecided_alone": [finding.rule.id for finding in lost.alone],
        "seller_word_ends_for": None if lost.voided is None else list(lost.voided),
        "goes_with": None
        if lost.beside is None
        else {
            "price": None if lost.beside.price is None else float(lost.beside.price),
            "hours": float(lost.beside.hours),
        },
    }


def _thrown(one: Thrown, route: Route) -> str:
    title = str(route.way.check.knowledge.classes[one.slot].title)
    name = f" '{one.name}'" if one.name else ""
    return f"{title}{name}" if one.count == 1 else f"{title}{name}, {counted(one.count, 'place')}"


def _voided(route: Route, lost: Losses) -> str:
    if lost.voided is None:
        return "there is none"
    if not lost.voided:
        return "is not touched by the plan"
    classes = route.way.check.knowledge.classes
    named = ", ".join(str(classes[slot].title) for slot in lost.voided)
    return f"ends where the head is not as sold ({named}): ask before, as a warranty seldom stays"


def _beside(route: Route, lost: Losses) -> str:
    if lost.beside is None:
        return ""
    return f"{costs_words(lost.beside, route.way.prices)}: taking apart, washing, putting together"
