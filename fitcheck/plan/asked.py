"""Work asked for by name: `mill_deck=0.010 in`, `hone_guide@3 exhaust=0.0010 in`, or a gear change.

mill_deck=0.010 in              an amount, everywhere
hone_guide@exhaust=0.0010 in    an amount at some places
change_drive_gear               work that takes no amount
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from fitcheck.check import BuildCheck, check_build
from fitcheck.knowledge import Knowledge, Operation
from fitcheck.model import Layout, Position, Selector
from fitcheck.plan.apply import apply
from fitcheck.plan.made import Plan
from fitcheck.plan.neighbours import as_beside
from fitcheck.plan.prices import Prices
from fitcheck.plan.question import Goal
from fitcheck.plan.stages import NOTHING, costs_of
from fitcheck.plan.work import Work
from fitcheck.quantity import EXACT, QuantityError, read_quantity
from fitcheck.source import BadInput, Problem, Problems


def read_works(texts: Iterable[str], layout: Layout, knowledge: Knowledge) -> list[Work]:
    """The works that some texts ask for; raises BadInput with all that is wrong with them."""
    problems = Problems()
    found = [_read(text, layout, knowledge, problems) for text in texts]
    if problems:
        raise BadInput(problems)
    return [work for work in found if work is not None]


def _read(text: str, layout: Layout, knowledge: Knowledge, problems: list[Problem]) -> Work | None:
    path, _, amount = (piece.strip() for piece in text.partition("="))
    name, _, where = (piece.strip() for piece in path.partition("@"))
    operation = knowledge.operations.get(knowledge.named_operations.find(name))
    if operation is None:
        what, mend = knowledge.named_operations.told(name)
        problems.append(Problem(f"'{text}': {what}", None, mend))
        return None
    positions = _positions(where, operation, layout)
    if not positions:
        problems.append(
            Problem(
                f"'{text}': '{where}' is no place for '{name}', which is done for each "
                f"{operation.each}",
                None,
                "name a place as in a build file: exhaust, cylinder 3, 3 exhaust, bank left",
            )
        )
        return None
    try:
        return Work(operation, positions, _amount(amount, operation))
    except QuantityError as error:
        problems.append(Problem(f"'{text}': {error.what}", None, error.mend))
        return None


def _positions(where: str, operation: Operation, layout: Layout) -> tuple[Position, ...]:
    positions = layout.positions(operation.each)
    if not where or where == "all":
        return tuple(positions)
    selector = Selector.read(where)
    if selector is None:
        return ()
    return tuple(position for position in positions if selector.covers(position))


def _amount(text: str, operation: Operation) -> Fraction | None:
    if not text:
        return None
    if operation.amount is None:
        raise QuantityError(f"'{operation.id}' takes no amount", "leave it out")
    interval = read_quantity(text, operation.amount.kind, EXACT).interval
    if interval.width:
        raise QuantityError("an amount is one figure", "how closely it is held goes by the work")
    return interval.middle


def asked_plan(check: BuildCheck, prices: Prices, works: Sequence[Work]) -> Plan:
    """The works as a plan that nobody searched for; raises BadInput, as `apply` does."""
    check, paper = as_beside(check)
    applied = apply(check.build, check.knowledge, works)
    costs = tuple(
        costs_of(work.operation, len(work.positions), work.amount, prices)
        for work in works
        if work.operation is not None
    )
    after = check_build(applied.build, check.knowledge)
    return Plan(
        Goal.CLEAR,
        "price",
        tuple(works),
        costs,
        applied,
        check,
        after,
        False,
        NOTHING,
        NOTHING,
        paper,
    )
