"""A plan as text: the answer first, the work in order, what to measure, what else could be done."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from rich.console import Console

from fitcheck.model import Layout, Position, group_name
from fitcheck.plan.contradiction import Contradiction
from fitcheck.plan.planner import Outcome, Plan
from fitcheck.plan.prices import Prices
from fitcheck.plan.question import Question
from fitcheck.plan.stages import Costs
from fitcheck.plan.work_order import Reading, Step, Target, WorkOrder
from fitcheck.quantity import Interval, Kind, System, show
from fitcheck.quantity.units import find_unit
from fitcheck.report.phrases import capital, counted, fact_title, subjects
from fitcheck.report.writer import Writer

_COUNTED = {
    "price": "the cheapest",
    "hours": "that of the fewest hours",
    "metal": "that which takes least metal",
    "parts": "that of the fewest new parts",
}


def at(positions: tuple[Position, ...], layout: Layout) -> str:
    """Where something is done."""
    return "" if positions[0] == Position() else group_name(positions, layout)


def costs_words(costs: Costs, prices: Prices) -> str:
    """What something costs, in words."""
    price = prices.show(costs.price) if costs.price is not None else "no price is given"
    return f"{price}, {float(costs.hours):.2f} h" if costs.hours else price


def amount_words(step: Step, system: System) -> str:
    """The amount of a step and how closely it is to be held."""
    operation, spread = step.work.operation, step.work.spread
    if operation is None or operation.amount is None or spread is None:
        return ""
    kind = operation.amount.kind
    half = _exactly(spread.width / 2, kind, system)
    return f"by {show(Interval.point(spread.middle), kind, system)} +-{half}"


def _exactly(value: Fraction, kind: Kind, system: System) -> str:
    """A small figure with all the digits it takes."""
    unit_name = (kind.inch if system == "inch" else kind.metric)[0]
    unit = find_unit(unit_name, kind)
    assert unit is not None
    digits = f"{float(value / unit.factor):.6f}".rstrip("0").rstrip(".")
    return f"{digits} {unit_name}".strip()


class PlanReport(Writer):
    """Writes a plan and its work order."""

    def __init__(
        self, order: WorkOrder, outcome: Outcome, prices: Prices, console: Console, system: System
    ) -> None:
        super().__init__(console)
        self.order, self.outcome, self.prices = order, outcome, prices
        self.plan = order.plan
        self.system: System = system
        self.layout = self.plan.before.build.layout

    def write(self, others: Iterable[Plan] = ()) -> None:
        """The whole report."""
        plan = self.plan
        self.line(plan.before.build.title, "bold")
        self.console.print()
        self.line(answer(self.outcome, self.prices), "bold")
        for question in self.outcome.unsure:
            self.line(
                f"- {subject(question)}: with what is known nothing makes it surely fit. "
                "After this work it clashes no more; measure or ask further."
            )
        if plan.total.price is None and plan.works:
            self.line("Not every step has a price; the sum is left out.")
        if self.outcome.unpriced and plan.objective == "price":
            self.line(
                f"Left out, for the price file does not tell their price: "
                f"{', '.join(self.outcome.unpriced)}."
            )
        if self.outcome.whole:
            self.line(
                "The remedies that the rules name do not reach it; all operations were "
                "tried, and one of them may be unusual for this."
            )
        if not plan.works:
            return
        self.steps()
        self.beside()
        self.readings()
        self.asked()
        self.others(list(others))
        self.cautions()

    def steps(self) -> None:
        """The steps in order, cautions beside them."""
        self.heading("The work, in this order")
        for step in self.order.steps:
            where = at(step.work.positions, self.layout)
            words = [capital(step.work.title), where, amount_words(step, self.system)]
            self.line(
                f"{step.number}. {', '.join(word for word in words if word)}"
                f" ({costs_words(step.costs, self.prices)})",
                "bold",
            )
            if step.work.operation is not None:
                self.line(str(step.work.operation.file.does), indent=3)
            else:
                self.line("The steps below are reckoned with it.", indent=3)
            for target in step.targets:
                self.line(f"- {self.target(target)}", indent=3)
            for note in step.notes:
                self.labelled("Note:", note)
            titles = ", ".join(str(caution.file.title) for caution in step.cautions)
            self.labelled("Mind:", titles)

    def target(self, target: Target) -> str:
        """What becomes of a figure."""
        kind = target.attribute.kind
        assert kind is not None
        where = at(target.positions, self.layout)
        before, after = (show(one, kind, self.system) for one in (target.before, target.after))
        title = fact_title(self.plan.before, target.attribute)
        return f"{title}{f', {where}' if where else ''}: {before} becomes {after}"

    def beside(self) -> None:
        """What goes with the work."""
        if self.order.beside:
            self.heading("Goes with it, not in the price above")
            for operation in self.order.beside:
                self.line(f"- {operation.file.title}")

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

    def reading(self, one: Reading) -> str:
        """A figure to measure, with what, and what for."""
        where = at(one.positions, self.layout)
        how = (
            f" ({one.procedure.file.tool}, {one.procedure.minutes} min each)"
            if one.procedure
            else ""
        )
        names = list(dict.fromkeys(str(rule.file.subject) for rule in one.rules))
        more = f" and {len(names) - 3} more" if len(names) > 3 else ""
        return (
            f"{fact_title(self.plan.before, one.attribute)}{f', {where}' if where else ''}"
            f"{how}: for {', '.join(names[:3])}{more}"
        )

    def asked(self) -> None:
        """What a machinist asks first."""
        if self.order.questions:
            self.heading("What the shop will ask first")
            for question in self.order.questions:
                self.line(f"- {question}")

    def others(self, others: list[Plan]) -> None:
        """Other plans, by what sets them apart."""
        if not others:
            return
        self.heading("Otherwise")
        for other in others:
            told = "; ".join(titles(other, self.layout))
            self.line(f"- {costs_words(other.total, self.prices)}: {told}")

    def cautions(self) -> None:
        """The cautions in full, each once."""
        found = {caution.id: caution for step in self.order.steps for caution in step.cautions}
        if found:
            self.heading("Cautions")
            for caution in found.values():
                self.line(f"- {capital(str(caution.file.title))}. {caution.file.text}")


def titles(plan: Plan, layout: Layout) -> list[str]:
    """What a plan does, in short."""
    return [
        f"{work.title}{f', {where}' if (where := at(work.positions, layout)) else ''}"
        for work in plan.applied.works
    ]


def subject(question: Question) -> str:
    """What a question is about, and where."""
    if question.rule is None:
        return f"the range plausible for {question.name}"
    return f"{question.rule.file.subject}"


def answer(outcome: Outcome, prices: Prices) -> str:
    """The answer in a sentence or two."""
    plan = outcome.plan
    if plan is None:
        if outcome.proven:
            return "No work of the library makes these parts work together."
        return "No plan was found in the time given; whether there is one is not told."
    if not plan.works:
        return "Nothing has to be done."
    count = counted(len(plan.applied.works), "step")
    kind = _COUNTED[plan.objective]
    found = f"{count} for {costs_words(plan.total, prices)}"
    if plan.proven:
        sure = (
            f"This is proven to be {kind} plan, within the operations, their steps, the "
            "groups of places and the parts on offer."
        )
    else:
        shown = (
            prices.show(plan.least[0]) if plan.objective == "price" else f"{float(plan.least[0]):g}"
        )
        sure = (
            f"The time ran out before it was proven to be {kind} plan: none can cost less than "
            f"{shown}."
        )
    left = "Nothing known clashes after it."
    return f"{found}. {sure} {left}"


def write_proof(
    outcome: Outcome, proof: Contradiction | None, prices: Prices, console: Console, system: System
) -> None:
    """Why there is no plan."""
    writer, check = Writer(console), outcome.planner.check
    writer.line(check.build.title, "bold")
    console.print()
    writer.line(answer(outcome, prices), "bold")
    if not outcome.proven or proof is None:
        return
    writer.line(
        "These rules"
        + (" and facts" if proof.facts else "")
        + " leave none"
        + (
            ", and with any one of them gone there would be a plan for the rest:"
            if proof.minimal
            else " (time ran out before each was tried):"
        )
    )
    layout = check.build.layout
    for question in proof.questions:
        where = at(question.positions, layout)
        title = str(question.rule.file.title) if question.rule else question.name
        writer.line(f"- {capital(title)}{f' ({where})' if where else ''}  [{question.title}]")
        found = next((f for f in check.conflicts if f.rule is question.rule), None)
        for mend in found.mends(system) if found else []:
            writer.labelled("remedy:", mend.text)
    for fact in proof.facts:
        told = fact.text or "as listed"
        writer.line(f"- {fact_title(check, fact.attribute)}: {fact.evidence.word} as {told}")
    if outcome.unpriced:
        writer.line(
            "What has no price in the price file was not counted on: "
            f"{', '.join(outcome.unpriced)}."
        )


def still_open(plan: Plan) -> str:
    """What cannot be told after a plan, in short."""
    return subjects(tuple(plan.after.undecided))
