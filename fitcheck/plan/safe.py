"""What to ask for a figure so that it is safe at every place, and which rule sets it.

A rule bounds a figure where it surely fits on one side of a value and, further on the other side,
surely clashes; one that waits for other figures, not told yet, does not, as only what is plausible
of those would give the end. Nor does one that leaves a mere sliver of what does not clash.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.language import CONFLICT, FITS, SILENT
from fitcheck.model import Attribute, Position
from fitcheck.plan.howfar import Binder, HowFar, RuleRuns

# Less than this share of what does not clash is a sliver.
SLIVER = 0.1
# Sides that part by less than this share are asked for together.
NEARLY = 0.05


@dataclass(frozen=True, slots=True)
class End:
    """One end, by the number of its value, and the rules that set it: advice alone if `usual`."""

    at: int
    binders: tuple[Binder, ...]
    usual: bool = False


@dataclass(frozen=True, slots=True)
class OrderBound:
    """What is asked of one figure at some places: its least, its most, or the options of a choice.

    `far` shows the values that `least` and `most` number; `implied` names all rules that bound the
    figure, those that do so less strictly too.
    """

    attribute: Attribute
    positions: tuple[Position, ...]
    far: HowFar
    least: End | None = None
    most: End | None = None
    options: tuple[int, ...] = ()
    against: tuple[Binder, ...] = ()
    implied: frozenset[str] = frozenset()


def asked_of(fars: Sequence[HowFar]) -> list[OrderBound]:
    """What is asked of a figure: one answer for all places where it costs none of them much."""
    together = _asked(fars)
    apart = [one for far in fars for one in [_asked([far])] if one is not None]
    if together is not None and (len(fars) == 1 or _near(apart)):
        apart = [together]
    return [one for one in apart if _says(one)]


def _near(apart: Sequence[OrderBound]) -> bool:
    """Whether what the places allow is nearly the same, so that the strictest of it is no loss."""
    for ends in ([one.least for one in apart], [one.most for one in apart]):
        values = [float(apart[0].far.values[end.at]) for end in ends if end is not None]
        if values and (
            len(values) < len(apart) or max(values) - min(values) > NEARLY * max(values)
        ):
            return False
    return True


def _says(one: OrderBound) -> bool:
    return bool(one.least or one.most or one.options)


def _asked(fars: Sequence[HowFar]) -> OrderBound | None:
    """One answer for some places; None where none is safe at all of them."""
    first = fars[0]
    positions = tuple(dict.fromkeys(p for far in fars for p in far.positions))
    judged = [
        one for far in fars for one in far.judged if not one.waits and not one.only((CONFLICT,))
    ]
    if first.attribute.kind is None:
        return _chosen(first, positions, judged)
    last = len(first.values) - 1
    strict = _ends([one for one in judged if one.binder.rule.severity != "advice"], last)
    least, most = strict
    for end, bound in enumerate(
        _ends([one for one in judged if one.binder.rule.severity == "advice"], last)
    ):
        # What is usual only counts within what is needed.
        if bound is None or (strict[end] is not None and not _within(bound, strict)):
            continue
        if _within(bound, (least, most)):
            usual = End(bound.at, bound.binders, usual=True)
            least, most = (usual, most) if end == 0 else (least, usual)
    if least is not None and most is not None and least.at > most.at:
        return None
    implied = frozenset(one.binder.rule.id for one in judged if any(_run(one, last)))
    return OrderBound(first.attribute, positions, first, least, most, implied=implied)


def _within(bound: End, ends: tuple[End | None, End | None]) -> bool:
    least, most = ends
    return (least is None or bound.at >= least.at) and (most is None or bound.at <= most.at)


def _ends(judged: Sequence[RuleRuns], last: int) -> tuple[End | None, End | None]:
    """The strictest ends that some rules set."""
    ends: tuple[list[tuple[int, Binder]], list[tuple[int, Binder]]] = ([], [])
    for one in judged:
        least, most = _run(one, last)
        if least is not None:
            ends[0].append((least, one.binder))
        if most is not None:
            ends[1].append((most, one.binder))
    return (
        _strictest(ends[0], max((at for at, _ in ends[0]), default=0)),
        _strictest(ends[1], min((at for at, _ in ends[1]), default=0)),
    )


def _strictest(ends: list[tuple[int, Binder]], at: int) -> End | None:
    binders = tuple(binder for where, binder in ends if where == at)
    return End(at, binders) if binders else None


def _run(one: RuleRuns, last: int) -> tuple[int | None, int | None]:
    """The ends of the widest run in which a rule surely fits, where it clashes past them."""
    runs: list[tuple[int, int, bool]] = []
    for begin, end, code in one.runs:
        if code not in (FITS, SILENT):
            continue
        if runs and runs[-1][1] == begin - 1:
            runs[-1] = runs[-1][0], end, runs[-1][2] or code == FITS
        else:
            runs.append((begin, end, code == FITS))
    fitting = [(end - begin + 1, begin, end) for begin, end, fits in runs if fits]
    if not fitting:
        return None, None
    width, begin, end = max(fitting)
    clashing = [(first, after) for first, after, code in one.runs if code == CONFLICT]
    low = max((after + 1 for _, after in clashing if after < begin), default=0)
    high = min((first - 1 for first, _ in clashing if first > end), default=last)
    if width < SLIVER * (high - low + 1):
        return None, None
    # The first value of all is no bound, so a bound is never nought.
    return (begin if low > 0 else None), (end if high < last else None)


def _chosen(
    far: HowFar, positions: tuple[Position, ...], judged: Sequence[RuleRuns]
) -> OrderBound | None:
    """The options of a choice against which nothing stands, where something does against others."""
    judged = [one for one in judged if one.binder.rule.severity != "advice"]
    good = tuple(
        at for at in range(len(far.values)) if all(one.code(at) != CONFLICT for one in judged)
    )
    if not good:
        return None
    against = tuple(one.binder for one in judged if any(c == CONFLICT for _, _, c in one.runs))
    some = good if len(good) < len(far.values) else ()
    return OrderBound(far.attribute, positions, far, options=some, against=against)
