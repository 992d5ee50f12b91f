"""A plan as text: the answer first, the work in order, what to measure, what else could be done."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from rich.console import Console

from fitcheck.check import Check
from fitcheck.check.telling import describe_fact
from fitcheck.knowledge import Caution
from fitcheck.model import Layout, Position, group_name
from fitcheck.plan.contradiction import Contradiction
from fitcheck.plan.planner import Outcome, Plan
from fitcheck.plan.prices import NO_PRICES, Prices
from fitcheck.plan.question import Goal, Question
from fitcheck.plan.search import Progress
from fitcheck.plan.stages import Costs, Objective, remedies
from fitcheck.plan.work import Work
from fitcheck.plan.work_order import Reading, Target, WorkOrder
from fitcheck.quantity import System
from fitcheck.report.phrases import capital, counted, fact_title, open_count, subjects
from fitcheck.report.targets import amount_words, toleranced
from fitcheck.report.writer import Writer

_COUNTED = {
    "price": "the cheapest plan",
    "hours": "the plan of the fewest hours",
    "metal": "the plan that cuts least",
    "parts": "the plan with the fewest new parts",
}


def at(positions: tuple[Position, ...], layout: Layout) -> str:
    """Where something is done."""
    return "" if positions[0] == Position() else group_name(positions, layout)


def costs_words(costs: Costs, prices: Prices) -> str:
    """What something costs, in words."""
    price = prices.show(costs.price) if costs.price is not None else "no price is given"
    return f"{price}, {float(costs.hours):.2f} h" if costs.hours else price


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
                f"- {subject(question, plan.before)}: with what is known nothing makes it surely "
                "fit. After this work it clashes no more; measure or ask further."
            )
        self.line(after_words(plan))
        if plan.total.price is None and plan.works:
            self.line(unpriced_steps(plan))
        self.line(left_out(self.outcome))
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
            title = titles([step.work], self.layout, self.system)[0]
            cost = costs_words(step.costs, self.prices)
            self.line(f"{step.number}. {capital(title)} ({cost})", "bold")
            if step.work.operation is not None:
                self.line(str(step.work.operation.file.does), indent=3)
            else:
                self.line("Measure it before anything is cut to suit it.", indent=3)
            for target in step.targets:
                self.line(f"- {self.target(target)}", indent=3)
            for note in step.notes:
                self.labelled("Note:", note)
            self.labelled("Mind:", minded(step.cautions))

    def target(self, target: Target) -> str:
        """What becomes of a figure."""
        where = at(target.positions, self.layout)
        before, after = (
            toleranced(one, target.attribute, self.system) for one in (target.before, target.after)
        )
        title = fact_title(self.plan.before, target.attribute)
        return f"{title}{f', {where}' if where else ''}: {before} becomes {after}"

    def beside(self) -> None:
        """What goes with the work."""
        if self.order.beside:
            self.heading("Goes with it, not in the price above")
            for one in self.order.beside:
                mind = f" (mind: {minded(one.cautions)})" if one.cautions else ""
                self.line(f"- {one.operation.file.title}{mind}")

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
        mind = f". Mind: {minded(one.cautions)}" if one.cautions else ""
        return (
            f"{fact_title(self.plan.before, one.attribute)}{f', {where}' if where else ''}"
            f"{how}: for {', '.join(names[:3])}{more}{mind}"
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
            told = "; ".join(titles(other.applied.works, self.layout, self.system))
            self.line(f"- {costs_words(other.total, self.prices)}: {told}")

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


def subject(question: Question, check: Check) -> str:
    """What a question is about."""
    if question.rule is not None:
        return str(question.rule.file.subject)
    attribute = check.knowledge.attributes[question.name]
    return f"{fact_title(check, attribute)} within what is plausible"


def after_words(plan: Plan) -> str:
    """How sure it is after a plan."""
    if not plan.works:
        return ""
    left = f"{counted(open_count(plan.after), 'question')} cannot be answered after it"
    before = f"{open_count(plan.before)} before"
    if not plan.waiting:
        return f"What clashed is sure to fit then. {left}, {before}."
    return (
        f"{left}, {before}. Of what clashed, these fit only if the figures measured after the work "
        f"say so: {subjects(plan.waiting, most=9)}."
    )


def unpriced_steps(plan: Plan) -> str:
    """Which steps have no price."""
    without = [
        str(number + 1)
        for number, work in enumerate(plan.applied.works)
        if any(
            cost.price is None and one.title == work.title
            for one, cost in zip(plan.works, plan.costs, strict=True)
        )
    ]
    many = "s" if len(without) > 1 else ""
    return f"No price is told for step{many} {', '.join(without)}; the sum is left out."


def left_out(outcome: Outcome) -> str:
    """What could have helped and was left out for want of a price."""
    planner = outcome.planner
    if planner.stages.objective != "price":
        return ""
    asked = {finding.rule.id: finding.rule for finding in planner.check.conflicts}
    asked |= {question.rule.id: question.rule for question in outcome.why if question.rule}
    helpful = {operation.id for operation in remedies(planner.check.knowledge, asked.values())}
    operations = planner.check.knowledge.operations
    names = [
        str(operations[name].file.title) if name in operations else name
        for name in outcome.unpriced
        if name in helpful or name not in operations
    ]
    if not names:
        return ""
    return f"Left out, for the price file does not tell their price: {'; '.join(names)}."


def answer(outcome: Outcome, prices: Prices) -> str:
    """The answer in a sentence or two."""
    plan = outcome.plan
    if plan is None:
        if not outcome.proven:
            return "No plan was found in the time given; whether there is one is not told."
        if outcome.goal is Goal.DECIDED:
            return "No work of the library leaves everything decided, with what is known now."
        return "No work of the library, and no part on offer, makes these parts work together."
    if not plan.works:
        return "Nothing has to be done."
    count = counted(len(plan.applied.works), "step")
    kind = _COUNTED[plan.objective]
    found = f"{count} for {costs_words(plan.total, prices)}"
    if plan.proven:
        sure = (
            f"This is proven to be {kind}, within the operations, their steps, the "
            "groups of places and the parts on offer."
        )
    else:
        sure = f"The time ran out before it was proven to be {kind}: {gap_words(plan, prices)}."
    return f"{found}. {sure} Nothing known clashes after it."


def gap_words(plan: Plan, prices: Prices) -> str:
    """What may still be gained, and what no plan can go below."""
    least, gap = plan.least[0], plan.cost[0] - plan.least[0]
    if not gap:
        return "only at the same, by price or hours, can there be a better one"
    if plan.objective == "price":
        return f"none costs less than {prices.show(least)}, so at most {prices.show(gap)} is left"
    if plan.objective == "hours":
        return f"none takes less than {float(least):.2f} h, so at most {float(gap):.2f} h is left"
    if plan.objective == "parts":
        return f"none has fewer than {int(least)}, so at most {int(gap)} of them is left"
    return f"none cuts less than {float(100 * least / plan.cost[0]):.0f} % of what this one does"


def progress_words(progress: Progress, objective: Objective, prices: Prices) -> str:
    """How far a search is."""

    def words(amount: Fraction) -> str:
        if objective == "price":
            return prices.show(amount)
        shown = f"{float(amount):.2f}"
        return f"{shown} h" if objective == "hours" else shown.removesuffix(".00")

    what = {"metal": "cuts (each as a share of its deepest)", "parts": "takes new parts"}
    best = f"; best so far {words(progress.best[0])}" if progress.best is not None else ""
    return (
        f"{progress.looked_at} looked at, {progress.reasons} reasons against; every plan "
        f"{what.get(objective, 'costs')} at least {words(progress.least[0])}{best}"
    )


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
    writer.line(_leave_none(proof))
    layout = check.build.layout
    for question in proof.questions:
        where = at(question.positions, layout)
        title = str(question.rule.file.title) if question.rule else subject(question, check)
        writer.line(f"- {capital(title)}{f' ({where})' if where else ''}  [{question.title}]")
        found = next((f for f in check.conflicts if f.rule is question.rule), None)
        for mend in found.mends(system) if found else []:
            writer.labelled("remedy:", mend.text)
    for fact in proof.facts:
        writer.line(f"- {fact_title(check, fact.attribute)}: {describe_fact(fact)}")
    if outcome.goal is Goal.DECIDED:
        writer.line(
            "What is open for want of a figure no work settles: measure first (fitcheck measure "
            "tells what), or plan without asking for everything."
        )
    elif prices is NO_PRICES:
        writer.line(
            "Parts to be had in place of these come from a price file (--prices FILE); none was "
            "given, so only the shop's own operations were tried."
        )
    writer.line(left_out(outcome))


def _leave_none(proof: Contradiction) -> str:
    """How the pieces of a proof hang together."""
    if len(proof.questions) + len(proof.facts) == 1:
        return "This alone leaves none:"
    what = "These rules and facts" if proof.facts else "These rules"
    if proof.minimal:
        return (
            f"{what} leave none together; without any one of them there would be a plan for the "
            "rest:"
        )
    return f"{what} leave none together (time ran out before each was left out in turn):"
