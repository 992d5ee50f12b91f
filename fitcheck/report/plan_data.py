"""A plan as data and as a table of rows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from fitcheck.check import RuleFinding
from fitcheck.check.values import selector_words
from fitcheck.model import Attribute, Layout, Position, Selector
from fitcheck.plan.contradiction import Contradiction
from fitcheck.plan.decide import DecideFirst
from fitcheck.plan.made import Plan
from fitcheck.plan.planner import PlanOutcome
from fitcheck.plan.prices import Prices
from fitcheck.plan.stages import Costs
from fitcheck.plan.work_order import JobStep, WorkOrder, cost_of_job
from fitcheck.quantity import Interval, System
from fitcheck.report.acceptance import accepted_data
from fitcheck.report.measure_first import first_data
from fitcheck.report.neighbours import neighbours_data
from fitcheck.report.phrases import counts
from fitcheck.report.plan import minded, titles
from fitcheck.report.plan_answer import answer, at, left_out, likely_left, stop_words
from fitcheck.report.stand_off import notes_of
from fitcheck.report.targets import amount_fields, figure_fields
from fitcheck.source.table import table_text

# `kind` is do, beside (what goes with that and mends nothing), measure, condition or ask. Price and
# hours stand on the first row of a step only, so that a column can be summed. `unit` is that of
# the figure's before and after; each tolerance is to either side.
COLUMNS = (
    "kind",
    "step",
    "work",
    "where",
    "amount",
    "amount_tolerance",
    "amount_unit",
    "figure",
    "at",
    "before",
    "before_tolerance",
    "after",
    "after_tolerance",
    "unit",
    "price",
    "currency",
    "hours",
    "mind",
)
# What a spreadsheet would take for a formula gets an apostrophe before it.


def outcome_data(
    outcome: PlanOutcome,
    order: WorkOrder | None,
    others: list[Plan],
    proof: Contradiction | None,
    first: DecideFirst | None,
    prices: Prices,
    system: System,
) -> dict[str, Any]:
    """An outcome as data."""
    layout, plan = outcome.planner.check.build.layout, outcome.plan
    return {
        "build": outcome.planner.check.build.title,
        "answer": answer(outcome, prices),
        "goal": outcome.goal.value,
        "proven": outcome.proven,
        "gap": None if plan is None else float(plan.cost[0] - plan.least[0]),
        "currency": prices.currency,
        "objective": outcome.planner.stages.objective,
        "unsure": [question.title for question in outcome.unsure],
        "risked": list(dict.fromkeys(question.title for question in outcome.risked)),
        "not_mended": list(dict.fromkeys(question.title for question in outcome.given_up)),
        "left_out": left_out(outcome),
        "measure_first": first_data(first, system),
        "plan": None if order is None else _order(order, system),
        "others": [
            {
                "costs": _costs(one.total),
                "costs_of_the_job": _costs(cost_of_job(one, prices)),
                "cuts": one.cuts,
                "room": one.room,
                "works": titles(one.applied.works, layout, system),
            }
            for one in others
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


def asked_data(order: WorkOrder, prices: Prices, system: System) -> dict[str, Any]:
    """Work that was asked for, as data."""
    return {
        "build": order.plan.before.build.title,
        "currency": prices.currency,
        "clashes_after": sorted({finding.rule.id for finding in order.plan.after.conflicts}),
        "plan": _order(order, system),
    }


def _order(order: WorkOrder, system: System) -> dict[str, Any]:
    layout = order.plan.before.build.layout
    return {
        "costs": _costs(order.plan.total),
        "costs_of_the_job": _costs(order.total),
        "open_after": counts(order.plan.after).open,
        "open_before": counts(order.plan.before).open,
        "disproved_beside": neighbours_data(order.plan, system),
        "likely_left": likely_left(order.plan, system),
        "waiting": sorted({finding.rule.id for finding in order.plan.waiting}),
        "mended": sorted(_mended(order.plan)),
        "conditions": [_condition(finding, order.plan) for finding in order.plan.conditions],
        "steps": [
            {
                "number": step.number,
                "mends": step.done is not None,
                "work": step.work.title,
                "operation": step.work.operation.id if step.work.operation else None,
                "where": at(step.work.positions, layout),
                "places": _places(step.work.positions),
                "amount": _numbers(amount_fields(step.work, system)),
                "rules": [rule.id for rule in step.mends],
                "costs": _costs(step.costs),
                "targets": [
                    {
                        "attribute": target.attribute.name,
                        "where": at(target.positions, layout),
                        "places": _places(target.positions),
                        "before": _figure(target.before, target.attribute, system),
                        "after": _figure(target.after, target.attribute, system),
                    }
                    for target in step.targets
                ],
                "stop": stop_words(step),
                "notes": list(notes_of(step, order.plan, system)),
                "cautions": [caution.id for caution in step.cautions],
            }
            for step in order.steps
        ],
        "measure": [
            {
                "attribute": one.attribute.name,
                "where": at(one.positions, layout),
                "places": _places(one.positions),
                "undone": one.undone,
                "step": one.step or None,
                "accept": accepted_data(order.plan, one, system),
                "procedure": one.procedure.id if one.procedure else None,
                "rules": [rule.id for rule in one.rules],
                "cautions": [caution.id for caution in one.cautions],
            }
            for one in order.readings
        ],
        "questions": list(order.questions),
        "cautions": [
            {"id": one.id, "title": str(one.file.title), "text": str(one.file.text)}
            for one in order.cautions
        ],
    }


def _places(positions: tuple[Position, ...]) -> list[str]:
    """Each place as a build file names it."""
    return [
        selector_words(Selector(None if at.cylinder else at.bank, at.cylinder, at.side))
        for at in positions
    ]


def _numbers(fields: dict[str, str]) -> dict[str, Any] | None:
    """The fields of a figure, with numbers for what is one; None where there are none."""
    return {name: told if name == "unit" else float(told) for name, told in fields.items()} or None


def _figure(interval: Interval, attribute: Attribute, system: System) -> dict[str, Any] | None:
    return _numbers(figure_fields(interval, attribute, system))


def _mended(plan: Plan) -> set[str]:
    """The rules that clashed and surely fit after the work, wherever they ask."""
    clashed = {finding.rule.id for finding in plan.before.conflicts}
    return clashed - {one.rule.id for one in (*plan.after.conflicts, *plan.after.undecided)}


def _condition(finding: RuleFinding, plan: Plan) -> dict[str, Any]:
    clashed = {one.rule.id for one in plan.before.conflicts}
    return {
        "rule": finding.rule.id,
        "subject": str(finding.rule.file.subject),
        "severity": finding.rule.severity,
        "clashed": finding.rule.id in clashed,
        "where": at(finding.positions, plan.before.build.layout),
        "places": _places(finding.positions),
    }


def _costs(costs: Costs) -> dict[str, Any]:
    return {
        "price": None if costs.price is None else float(costs.price),
        "hours": float(costs.hours),
        "metal": float(costs.metal),
        "parts": costs.parts,
    }


def order_csv(order: WorkOrder, prices: Prices, system: System) -> str:
    """The work order as comma-separated values (RFC 4180), a row for each figure of a step."""
    rows = _rows(order, prices, system)
    return table_text([COLUMNS, *([row.get(name, "") for name in COLUMNS] for row in rows)])


def _rows(order: WorkOrder, prices: Prices, system: System) -> Iterator[dict[str, str]]:
    layout = order.plan.before.build.layout
    for step in order.steps:
        yield from _step_rows(step, layout, prices, system)
    for reading in order.readings:
        yield {
            "kind": "measure",
            "step": str(reading.step or ""),
            "work": str(reading.procedure.file.title) if reading.procedure else "",
            "where": at(reading.positions, layout),
            "figure": reading.attribute.name,
            "mind": minded(reading.cautions),
        }
    for finding in order.plan.conditions:
        yield {
            "kind": "condition",
            "work": str(finding.rule.file.subject),
            "where": at(finding.positions, layout),
        }
    for question in order.questions:
        yield {"kind": "ask", "work": question}


def _step_rows(
    step: JobStep, layout: Layout, prices: Prices, system: System
) -> Iterator[dict[str, str]]:
    price = "" if step.costs.price is None else f"{float(step.costs.price):.2f}"
    row = {
        "kind": "do" if step.done is not None else "beside",
        "step": str(step.number),
        "work": step.work.title,
        "where": at(step.work.positions, layout),
        **_named(amount_fields(step.work, system), "amount"),
        "price": price,
        "currency": prices.currency if price else "",
        "hours": f"{float(step.costs.hours):.2f}",
        "mind": minded(step.cautions),
    }
    if not step.targets:
        yield row
    for target in step.targets:
        before, after = (
            figure_fields(one, target.attribute, system) for one in (target.before, target.after)
        )
        yield row | {
            "figure": target.attribute.name,
            "at": at(target.positions, layout),
            **_named(before, "before"),
            **_named(after, "after"),
            "unit": after["unit"],
        }
        row |= {"price": "", "currency": "", "hours": ""}


def _named(fields: dict[str, str], name: str) -> dict[str, str]:
    """The fields of a figure by the columns that hold them."""
    if not fields:
        return {}
    return {
        name: fields["figure"],
        f"{name}_tolerance": fields["tolerance"],
        f"{name}_unit": fields["unit"],
    }
