"""A plan as text: the answer first, the work in order, what to measure, what else could be done."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console

from fitcheck.knowledge import Caution
from fitcheck.model import Layout
from fitcheck.plan.made import Plan
from fitcheck.plan.planner import PlanOutcome
from fitcheck.plan.prices import Prices
from fitcheck.plan.work import Work
from fitcheck.plan.work_order import LastMeasurement, Target, WorkOrder
from fitcheck.quantity import System
from fitcheck.report.acceptance import accepted_words
from fitcheck.report.neighbours import neighbours_words
from fitcheck.report.phrases import capital
from fitcheck.report.plan_answer import (
    answer,
    asked_answer,
    asked_remarks,
    at,
    costs_words,
    likely_left,
    remarks,
    set_apart,
    stop_words,
    whole_job,
)
from fitcheck.report.stand_off import notes_of
from fitcheck.report.targets import amount_words, toleranced
from fitcheck.report.writer import Writer


class PlanReport(Writer):
    """Writes a plan and its work order."""

    def __init__(self, order: WorkOrder, prices: Prices, console: Console, system: System) -> None:
        super().__init__(console)
        self.order, self.prices = order, prices
        self.plan = order.plan
        self.system: System = system
        self.layout = self.plan.before.build.layout

    def found(
        self, outcome: PlanOutcome, others: Iterable[Plan] = (), first: Iterable[str] = ()
    ) -> None:
        """The whole report of a plan that was searched for; `first` comes before all work."""
        told = [*first, *self.beyond(), *remarks(outcome)]
        self.answer(answer(outcome, self.prices), told)
        if self.plan.works:
            self.work(list(others))

    def asked(self) -> None:
        """The whole report of work that was asked for."""
        told = [*self.beyond(), *asked_remarks(self.plan)]
        self.answer(asked_answer(self.plan, self.prices), told)
        self.work([])

    def beyond(self) -> list[str]:
        """What the plan leaves likely to clash, and what the whole job comes to."""
        return [
            *neighbours_words(self.plan, self.system),
            *likely_left(self.plan, self.system),
            *whole_job(self.order, self.prices),
        ]

    def answer(self, words: str, remarks: Iterable[str]) -> None:
        """What it is about, the answer, and what is to be said of it."""
        self.line(self.plan.before.build.title, "bold")
        self.console.print()
        self.line(words, "bold")
        for remark in remarks:
            self.line(remark)

    def work(self, others: list[Plan]) -> None:
        """The work order."""
        self.steps()
        self.readings()
        self.questions()
        self.others(others)
        self.cautions()

    def steps(self) -> None:
        """The steps in order, cautions beside them."""
        self.heading("The work, in this order")
        for step in self.order.steps:
            title = titles([step.work], self.layout, self.system)[0]
            cost = costs_words(step.costs, self.prices)
            self.line(f"{step.number}. {capital(title)} ({cost})", "bold")
            if step.work.operation is not None:
                self.line(str(step.work.operation.file.does), indent=3)
            else:
                self.line("Measure it before anything is cut to suit it.", indent=3)
            for target in step.targets:
                self.line(f"- {self.target(target)}", indent=3)
            stop = stop_words(step)
            if stop:
                self.labelled("Stop if:", stop)
            for note in notes_of(step, self.plan, self.system):
                self.labelled("Note:", note)
            self.labelled("Mind:", minded(step.cautions))

    def target(self, target: Target) -> str:
        """What becomes of a figure."""
        where = at(target.positions, self.layout)
        before, after = (
            toleranced(one, target.attribute, self.system) for one in (target.before, target.after)
        )
        title = self.plan.before.knowledge.title_of(target.attribute)
        return f"{title}{f', {where}' if where else ''}: {before} becomes {after}"

    def readings(self) -> None:
        """What to measure."""
        if not self.order.readings:
            return
        self.heading("Measure when it comes back")
        for undone, words in ((True, "Not known any more:"), (False, "Predicted, to be proved:")):
            found = [one for one in self.order.readings if one.undone is undone]
            if found:
                self.line(words, "bold")
            for one in found:
                self.line(f"- {self.reading(one)}")

    def reading(self, one: LastMeasurement) -> str:
        """A figure to measure, with what, and what for."""
        where = at(one.positions, self.layout)
        how = (
            f" ({one.procedure.file.tool}, {one.procedure.minutes} min each)"
            if one.procedure
            else ""
        )
        names = list(dict.fromkeys(str(rule.file.subject) for rule in one.rules))
        more = f" and {len(names) - 3} more" if len(names) > 3 else ""
        mind = f". Mind: {minded(one.cautions)}" if one.cautions else ""
        how += f" at step {one.step}" if one.step else ""
        accepted = accepted_words(self.plan, one, self.system)
        mind = (f". {capital(accepted)}" if accepted else "") + mind
        return (
            f"{self.plan.before.knowledge.title_of(one.attribute)}{f', {where}' if where else ''}"
            f"{how}: for {', '.join(names[:3])}{more}{mind}"
        )

    def questions(self) -> None:
        """What a machinist asks first."""
        if self.order.questions:
            self.heading("What the shop will ask first")
            for question in self.order.questions:
                self.line(f"- {question}")

    def others(self, others: list[Plan]) -> None:
        """Other plans, by what sets them apart."""
        if not others:
            return
        self.heading("To choose between")
        above, *rest = set_apart([self.plan, *others], self.prices)
        self.line(f"- The plan above: {above}")
        for other, words in zip(others, rest, strict=True):
            told = "; ".join(titles(other.applied.works, self.layout, self.system))
            self.line(f"- {capital(words)}: {told}")

    def cautions(self) -> None:
        """The cautions in full, each once."""
        if self.order.cautions:
            self.heading("Cautions")
            for caution in self.order.cautions:
                self.line(f"- {capital(str(caution.file.title))}. {caution.file.text}")


def titles(works: Iterable[Work], layout: Layout, system: System) -> list[str]:
    """What is done, in short."""
    return [
        ", ".join(
            word
            for word in (work.title, at(work.positions, layout), amount_words(work, system))
            if word
        )
        for work in works
    ]


def minded(cautions: Iterable[Caution]) -> str:
    """The titles of some cautions."""
    return ", ".join(str(caution.file.title) for caution in cautions)
