"""The section to scale: a valve between its seat and full lift, and what the gaps are there."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from starlette.responses import JSONResponse, Response

from fitcheck.bench.asking import Visit, shown
from fitcheck.bench.render import render
from fitcheck.model import Position, Selector
from fitcheck.quantity import EXACT, KINDS, QuantityError, read_quantity, show
from fitcheck.quantity.interval import Interval
from fitcheck.quantity.units import in_unit
from fitcheck.report.drawings.lifted import Lifted
from fitcheck.report.drawings.making import drawing, tightest
from fitcheck.report.drawings.numbers import Numbers
from fitcheck.report.phrases import capital

LENGTH = KINDS["length"]
STEPS = {"inch": 0.001, "metric": 0.02}
BESIDE = ("piston-gap", "bore", "volumes")


def section(visit: Visit) -> Response:
    """The stack at a lift, with the piston and the bore beneath."""
    numbers = _numbers(visit)
    words = _words(visit, numbers)
    others = [drawing(name, numbers) for name in BESIDE]
    places = [str(place) for place in numbers.check.build.layout.positions("valve")]
    return shown(visit, "section", "Section", places=places, others=others, **words)


def lifted(visit: Visit) -> Response:
    """The stack alone, as a piece of the page."""
    words = _words(visit, _numbers(visit))
    return JSONResponse({"html": render("section_piece", **words), "lift": words["lift"]})


def _numbers(visit: Visit) -> Numbers:
    """The numbers of the open build, kept until it changes."""
    desk, kept = visit.bench.desk, visit.bench.more
    check = desk.checked
    found: Numbers | None = kept.get("numbers")
    if found is None or found.check is not check:
        found = kept["numbers"] = Numbers(check, desk.system)
    return found


def _words(visit: Visit, numbers: Numbers) -> dict[str, Any]:
    system = numbers.system
    at = _place(visit, numbers)
    full = numbers.of("valve_lift", at)
    unit = (LENGTH.inch if system == "inch" else LENGTH.metric)[0]
    most = full.interval.upper
    lift, told = _lift(visit.said.get("lift", ""), unit, most)
    stack = Lifted(numbers, at, lift)
    return {
        "at": str(at),
        "unit": unit,
        "step": STEPS[system],
        "most": round(in_unit(most, unit, LENGTH), 4),
        "lift": round(in_unit(lift, unit, LENGTH), 4),
        "lift_words": show(Interval.point(lift), LENGTH, system),
        "full": full.shown if full.known else f"{full.shown}; such engines have {full.text}",
        "told": told,
        "made": stack.drawn(),
        "gaps": stack.table(),
        "height": stack.open.shown,
    }


def _place(visit: Visit, numbers: Numbers) -> Position:
    """The valve that is asked for, or the one to look at soonest."""
    selector = Selector.read(visit.said.get("at", ""))
    places = numbers.check.build.layout.positions("valve")
    if selector is not None and selector.cylinder and selector.side:
        return next((one for one in places if selector.covers(one)), places[0])
    return tightest("stack", numbers)[0][0]


def _lift(text: str, unit: str, most: Fraction) -> tuple[Fraction, str]:
    """The lift that is asked for, from nothing to the most there can be; full where none is."""
    if not text.strip():
        return most, ""
    typed = " ".join(text.split())[:40]
    bare = not any(letter.isalpha() or letter in "\"'" for letter in typed)
    try:
        found = read_quantity(f"{typed} {unit}" if bare else typed, LENGTH, EXACT)
    except QuantityError as error:
        return most, f"{capital(error.what)}; {error.mend}. Full lift is shown."
    lift = min(max(found.interval.middle, Fraction(0)), most)
    return lift, "" if lift == found.interval.middle else "The valve does not go so far."
