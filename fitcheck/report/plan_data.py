"""A plan as data and as a table of rows."""

from __future__ import annotations

import csv
import io
from typing import Any

from fitcheck.plan.contradiction import Contradiction
from fitcheck.plan.planner import Outcome, Plan
from fitcheck.plan.prices import Prices
from fitcheck.plan.stages import Costs
from fitcheck.plan.work_order import Step, WorkOrder
from fitcheck.quantity import Interval, System, show
from fitcheck.report.plan import amount_words, answer, at

COLUMNS = ("step", "work", "where", "amount", "figure", "before", "after", "price", "hours", "mind")
# What a spreadsheet would take for a formula gets an apostrophe before it.
_FORMULA = ("=", "+", "-", "@")


def outcome_data(
    outcome: Outcome,
    order: WorkOrder | None,
    others: list[Plan],
    proof: Contradiction | None,
    prices: Prices,
    system: System,
) -> dict[str, Any]:
    """An outcome as data."""
    layout = outcome.planner.check.build.layout
    return {
        "build": outcome.planner.check.build.title,
        "answer": answer(outcome, prices),
        "goal": outcome.goal.value,
        "proven": outcome.proven,
        "currency": prices.currency,
        "unpriced": outcome.unpriced,
        "unsure": [question.title for question in outcome.unsure],
        "plan": None if order is None else _order(order, system),
        "others": [
            {"costs": _costs(plan.total), "works": [work.title for work in plan.applied.works]}
            for plan in others
        ],
        "contradiction": None
        if proof is None
        else {
            "rules": [
                {"rule": question.title, "places": at(question.positions, layout)}
                for question in proof.questions
            ],
            "facts": [fact.attribute.name for fact in proof.facts],
            "smallest": proof.minimal,
        },
    }


def _order(order: WorkOrder, system: System) -> dict[str, Any]:
    layout = order.plan.before.build.layout
    return {
        "costs": _costs(order.plan.total),
        "steps": [
            {
                "number": step.number,
                "work": step.work.title,
                "operation": step.work.operation.id if step.work.operation else None,
                "where": at(step.work.positions, layout),
                "amount": amount_words(step, system),
                "costs": _costs(step.costs),
                "targets": [
                    {
                        "attribute": target.attribute.name,
                        "where": at(target.positions, layout),
                        "before": _shown(target.before, target.attribute.kind, system),
                        "after": _shown(target.after, target.attribute.kind, system),
                    }
                    for target in step.targets
                ],
                "notes": list(step.notes),
                "cautions": [caution.id for caution in step.cautions],
            }
            for step in order.steps
        ],
        "beside": [operation.id for operation in order.beside],
        "measure": [
            {
                "attribute": one.attribute.name,
                "where": at(one.positions, layout),
                "undone": one.undone,
                "procedure": one.procedure.id if one.procedure else None,
                "rules": [rule.id for rule in one.rules],
            }
            for one in order.readings
        ],
        "questions": list(order.questions),
    }


def _costs(costs: Costs) -> dict[str, Any]:
    return {
        "price": None if costs.price is None else float(costs.price),
        "hours": float(costs.hours),
        "metal": float(costs.metal),
        "parts": costs.parts,
    }


def _shown(interval: Interval, kind: Any, system: System) -> str:
    return show(interval, kind, system)


def order_csv(order: WorkOrder, system: System) -> str:
    """The work order as comma-separated values (RFC 4180), a row for each figure of a step."""
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(COLUMNS)
    for step in order.steps:
        for row in _rows(step, order, system):
            table.writerow([f"'{cell}" if cell.startswith(_FORMULA) else cell for cell in row])
    return out.getvalue()


def _rows(step: Step, order: WorkOrder, system: System) -> list[list[str]]:
    layout = order.plan.before.build.layout
    price = "" if step.costs.price is None else f"{float(step.costs.price):.2f}"
    head = [
        str(step.number),
        step.work.title,
        at(step.work.positions, layout),
        amount_words(step, system),
    ]
    tail = [
        price,
        f"{float(step.costs.hours):.2f}",
        "; ".join(str(caution.file.title) for caution in step.cautions),
    ]
    rows = [
        [
            *head,
            f"{target.attribute.name} {at(target.positions, layout)}".strip(),
            _shown(target.before, target.attribute.kind, system),
            _shown(target.after, target.attribute.kind, system),
            *tail,
        ]
        for target in step.targets
    ]
    return rows or [[*head, "", "", "", *tail]]
