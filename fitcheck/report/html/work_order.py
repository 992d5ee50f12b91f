"""The page of a work order: the answer, the work in order, what to measure when it comes back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from fitcheck.knowledge import Caution
from fitcheck.plan.made import Plan
from fitcheck.plan.prices import Prices
from fitcheck.plan.work_order import JobStep, LastMeasurement, WorkOrder
from fitcheck.quantity import System
from fitcheck.report.acceptance import accepted_words
from fitcheck.report.html.frame import Section, Table, Told, render, stamp
from fitcheck.report.neighbours import neighbours_words
from fitcheck.report.phrases import capital
from fitcheck.report.plan import minded, titles
from fitcheck.report.plan_answer import (
    at,
    costs_words,
    likely_left,
    set_apart,
    stop_words,
    whole_job,
)
from fitcheck.report.stand_off import notes_of
from fitcheck.report.targets import toleranced

_MOST_SUBJECTS = 3


@dataclass(frozen=True, slots=True)
class Job:
    """One step as it is printed; `again` names cautions told in full at an earlier step."""

    title: str
    costs: str
    does: str
    stop: str
    targets: Table
    notes: tuple[str, ...]
    cautions: tuple[Told, ...]
    again: tuple[str, ...]


def work_order_page(
    order: WorkOrder,
    answer: str,
    remarks: Iterable[str],
    prices: Prices,
    others: Iterable[Plan],
    system: System,
    day: date,
) -> str:
    """The page of a work order under its answer; `others` are plans that differ in kind."""
    build = order.plan.before.build
    return render(
        "work_order",
        kind="Work order",
        title=build.title,
        about=build.about,
        answer=answer,
        remarks=[
            *neighbours_words(order.plan, system),
            *likely_left(order.plan, system),
            *whole_job(order, prices),
            *remarks,
        ],
        for_use=_told(order.for_use),
        jobs=list(_jobs(order, prices, system)),
        readings=_readings(order, system),
        questions=list(order.questions),
        others=_others(order.plan, others, prices, system),
        late=_late(order),
        stamp=stamp(
            order.plan.before.knowledge,
            system,
            day,
            build=build,
            also=[("Prices", prices.title)] if prices.title else [],
        ),
    )


def _told(cautions: Iterable[Caution]) -> tuple[Told, ...]:
    return tuple(Told(capital(str(one.file.title)), str(one.file.text)) for one in cautions)


def _late(order: WorkOrder) -> tuple[Told, ...]:
    """The cautions that no step tells in full."""
    told = {caution.id for step in order.steps for caution in step.cautions}
    told |= {caution.id for caution in order.for_use}
    return _told(caution for caution in order.cautions if caution.id not in told)


def _jobs(order: WorkOrder, prices: Prices, system: System) -> Iterator[Job]:
    told: dict[str, int] = {}
    for step in order.steps:
        new = [caution for caution in step.cautions if caution.id not in told]
        again = tuple(
            f"{capital(str(caution.file.title))} (in full at step {told[caution.id]})"
            for caution in step.cautions
            if caution.id in told
        )
        told |= {caution.id: step.number for caution in new}
        yield _job(order, step, prices, system, new, again)


def _job(
    order: WorkOrder,
    step: JobStep,
    prices: Prices,
    system: System,
    new: list[Caution],
    again: tuple[str, ...],
) -> Job:
    title = titles([step.work], order.plan.before.build.layout, system)[0]
    operation = step.work.operation
    return Job(
        f"{step.number}. {capital(title)}",
        costs_words(step.costs, prices),
        str(operation.file.does) if operation else "Measure it before anything is cut to suit it.",
        stop_words(step),
        _targets(order, step, system),
        notes_of(step, order.plan, system),
        _told(new),
        again,
    )


def _targets(order: WorkOrder, step: JobStep, system: System) -> Table:
    rows = []
    for target in step.targets:
        where = at(target.positions, order.plan.before.build.layout)
        title = order.plan.before.knowledge.title_of(target.attribute)
        before, after = (
            toleranced(one, target.attribute, system) for one in (target.before, target.after)
        )
        rows.append((f"{capital(title)}{f', {where}' if where else ''}", before, after, ""))
    return Table("What it shall come to", ("Figure", "Before", "After", "As measured"), tuple(rows))


def _readings(order: WorkOrder, system: System) -> Section:
    head = ("Figure", "With what", "For", "Accept", "As measured")
    tables = [
        Table(caption, head, tuple(_reading(order, one, system) for one in found))
        for caption, undone in (("Not known any more", True), ("Predicted, to be proved", False))
        if (found := [one for one in order.readings if one.undone is undone])
    ]
    return Section("Measure when it comes back", tables=tuple(tables))


def _reading(order: WorkOrder, one: LastMeasurement, system: System) -> tuple[str, ...]:
    plan = order.plan
    where = at(one.positions, plan.before.build.layout)
    title = capital(plan.before.knowledge.title_of(one.attribute))
    procedure = one.procedure
    tool = f"{procedure.file.tool}, {procedure.minutes} min each" if procedure else ""
    tool += f", at step {one.step}" if one.step else ""
    names = list(dict.fromkeys(str(rule.file.subject) for rule in one.rules))
    more = len(names) - _MOST_SUBJECTS
    subjects = ", ".join(names[:_MOST_SUBJECTS]) + (f" and {more} more" if more > 0 else "")
    if one.cautions:
        tool += f". Mind: {minded(one.cautions)}"
    accepted = accepted_words(plan, one, system).removeprefix("accept ")
    return f"{title}{f', {where}' if where else ''}", tool, subjects, accepted, ""


def _others(plan: Plan, others: Iterable[Plan], prices: Prices, system: System) -> Section:
    plans = [plan, *others]
    rows = tuple(
        (
            capital(words),
            "; ".join(titles(one.applied.works, one.before.build.layout, system))
            if one is not plan
            else "as above",
        )
        for one, words in zip(plans, set_apart(plans, prices), strict=True)
    )
    tables = (Table("Plans that differ in kind", ("What it costs and leaves", "Work"), rows),)
    return Section("To choose between", tables=tables if len(rows) > 1 else ())
