"""What an engine comes out at, as far as it can be reckoned from what was given."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.check import BuildCheck
from fitcheck.language import variables
from fitcheck.model import LEVELS, Each
from fitcheck.quantity import Interval, System, show
from fitcheck.report.drawings.numbers import DrawnFigure, Numbers
from fitcheck.source import frozen


@frozen
class ComesOut:
    """A figure that a person wants to hear: its title, and what it comes to by side or in all."""

    name: str
    title: str
    words: str


def outcomes(check: BuildCheck, system: System) -> tuple[ComesOut, ...]:
    """The figures that each question tells, in that order; none that lacks what nobody gave."""
    numbers = Numbers(check, system)
    found = (
        _outcome(str(name), numbers)
        for question in check.knowledge.questions.values()
        for name in question.file.tells
    )
    return tuple(one for one in found if one is not None)


def _outcome(name: str, numbers: Numbers) -> ComesOut | None:
    each, layout = _level(name, numbers), numbers.check.build.layout
    by_side: dict[str, list[DrawnFigure]] = {}
    partly = False
    for places in numbers.groups([name], each):
        number = numbers.of(name, places[0])
        partly |= not number.known
        for side in dict.fromkeys(place.side or "" for place in places) if number.known else ():
            by_side.setdefault(side, []).append(number)
    if not by_side:
        return None
    told = dict(_told(by_side, numbers.system))
    words = ", ".join(f"{side} {text}".strip() for side, text in told.items())
    if len(set(told.values())) == 1 and not partly:
        words = next(iter(told.values()))
    where = " where it can be reckoned" if partly and len(layout.positions(each)) > 1 else ""
    title = str(numbers.knowledge.derived[name].file.title)
    return ComesOut(name, title, words + where)


def _told(by_side: dict[str, list[DrawnFigure]], system: System) -> Iterator[tuple[str, str]]:
    for side, found in by_side.items():
        ends = [end for one in found for end in (one.interval.lower, one.interval.upper)]
        yield side, show(Interval(min(ends), max(ends)), found[0].kind, system)


def _level(name: str, numbers: Numbers) -> Each:
    """The level that a figure differs at: the finest of what it is reckoned from."""
    attributes = numbers.knowledge.attributes
    read = variables(numbers.knowledge.derived[name].node)
    return max((attributes[one].each for one in read), key=LEVELS.index)


def comes_out(found: tuple[ComesOut, ...]) -> str:
    """All of it in one line."""
    return "; ".join(f"{one.title} {one.words}" for one in found)
