"""What a search for a plan came to: the answer in words, its proof, how far it is."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from rich.console import Console

from fitcheck.check import BuildCheck, mends
from fitcheck.check.telling import describe_fact
from fitcheck.model import Layout, Position, group_name
from fitcheck.plan.contradiction import Contradiction
from fitcheck.plan.made import Plan
from fitcheck.plan.planner import PlanOutcome
from fitcheck.plan.prices import NO_PRICES, Prices
from fitcheck.plan.question import Goal, Question, Strictness
from fitcheck.plan.search import Progress
from fitcheck.plan.stages import Costs, Objective, remedies
from fitcheck.plan.work_order import JobStep, WorkOrder, cost_of_job
from fitcheck.quantity import System
from fitcheck.report.answers import answers
from fitcheck.report.phrases import capital, counted, open_words, subjects
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


def set_apart(plans: Sequence[Plan], prices: Prices) -> list[str]:
    """What sets plans apart: costs, metal, parts and room of each, and in what it is the best."""
    ranked = (
        ("least cut", [one.cuts for one in plans]),
        ("fewest new parts", [one.total.parts for one in plans]),
        ("fewest hours", [one.total.hours for one in plans]),
        ("most room", [-(one.room or 0.0) for one in plans]),
    )
    found = []
    for i, plan in enumerate(plans):
        told = [costs_words(plan.total, prices)]
        job = cost_of_job(plan, prices)
        if job.price is not None and job.hours != plan.total.hours:
            told[0] += f" (the whole job {costs_words(job, prices)})"
        told.append(f"metal cut at {counted(plan.cuts, 'place')}" if plan.cuts else "no metal cut")
        if plan.total.parts:
            told.append(f"{counted(plan.total.parts, 'new part')}")
        if plan.room is not None:
            told.append(f"{max(0.0, plan.room):.0%} of its limit as room where it is tightest")
        best = [words for words, of in ranked if of[i] == min(of) < max(of)]
        found.append(", ".join(told) + (f" ({', '.join(best)})" if best else ""))
    return found


def subject(question: Question, check: BuildCheck) -> str:
    """What a question is about."""
    if question.rule is not None:
        return str(question.rule.file.subject)
    attribute = check.knowledge.attributes[question.name]
    return f"{check.knowledge.title_of(attribute)} within what is plausible"


def _left(plan: Plan) -> str:
    """What the work leaves undecided, to be told first."""
    left = open_words(plan.after, "even after this work")
    return f"{left} " if left else ""


def after_words(plan: Plan) -> str:
    """How sure it is after a plan: what clashed, and what was sure to fit before."""
    if not plan.works:
        return ""
    told = [open_words(plan.before, "before the work")]
    waiting = {finding.rule.id for finding in plan.waiting}
    if plan.waiting:
        told.append(
            "Of what clashed, these fit only if the figures measured after the work say so: "
            f"{subjects(plan.waiting, most=9)}."
        )
    elif not plan.after.conflicts:
        told.append("What clashed is sure to fit then.")
    others = tuple(one for one in plan.conditions if one.rule.id not in waiting)
    if others:
        told.append(
            "Sure to fit before, and after the work only if what it undoes is measured so: "
            f"{subjects(others, most=9)}."
        )
    if plan.remarks:
        told.append(f"As advice only, sure to fit before and not after: {subjects(plan.remarks)}.")
    return " ".join(filter(None, told))


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


def left_out(outcome: PlanOutcome) -> str:
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


def answer(outcome: PlanOutcome, prices: Prices) -> str:
    """The answer in a sentence or two."""
    plan = outcome.plan
    if plan is None:
        if not outcome.proven:
            objective = outcome.planner.stages.objective
            return (
                "No plan was found in the time given. Whether there is one is not told; if so, it "
                f"{_VERBS[objective]} at least {cost_words(outcome.least[0], objective, prices)}."
            )
        if outcome.goal is Goal.DECIDED:
            return "No work of the library leaves everything decided, with what is known now."
        return "No work of the library, and no part on offer, makes these parts work together."
    if not plan.works:
        left = open_words(plan.after)
        return f"{left} Nothing known clashes." if left else "Nothing has to be done."
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
    return f"{_left(plan)}{found}. {sure} {_after(outcome)}"


def _after(outcome: PlanOutcome) -> str:
    """What clashes after the plan: what no work mends, and remarks that the work brings."""
    plan = outcome.plan
    assert plan is not None
    left = {question.title: question for question in outcome.given_up}
    told = []
    if left:
        named = ", ".join(subject(question, plan.before) for question in left.values())
        priced = " that has a price" if left_out(outcome) else ""
        why = (
            f"for no work of the library{priced} and no part on offer does"
            if outcome.proven
            else "for in this time no work was found that does, with all the rest"
        )
        told = [f"NOT MENDED, {why}: {named}."]
    risked = {question.title for question in outcome.risked}
    brought = tuple(one for one in plan.after.conflicts if one.rule.id in risked)
    if brought:
        told.append(f"THE WORK BRINGS what is worth a remark: {subjects(brought)}.")
    others = tuple(one for one in plan.after.conflicts if one.rule.id not in {*left, *risked})
    if others:
        told.append(
            f"Figures that contradict each other, to be measured again: {subjects(others)}."
        )
    return " ".join([*(told or ["Nothing known clashes after it."]), *_conditions(plan)])


def _conditions(plan: Plan) -> list[str]:
    """How many answers the plan leaves to what is measured after it."""
    count = len({finding.rule.id for finding in plan.conditions})
    if not count:
        return []
    fit = "fits" if count == 1 else "fit"
    return [f"{counted(count, 'thing')} that clashed or fitted {fit} only if measured so then."]


def remarks(outcome: PlanOutcome) -> list[str]:
    """What is to be said of the answer when a plan was found."""
    plan = outcome.plan
    if plan is None:
        return []
    nothing = "nothing" if outcome.proven else "nothing that was found in this time"
    told = [
        f"{capital(subject(question, plan.before))}: with what is known {nothing} makes it surely "
        "fit. After this work it clashes no more; measure or ask further."
        for question in outcome.unsure
    ]
    told += [
        f"{capital(subject(question, plan.before))}: it does not clash now, but may after this "
        f"work, and does at the middle of what is known; {nothing} mends the rest without that. "
        "Measure it before anything is paid for."
        for question in {one.title: one for one in outcome.risked}.values()
        if question.asks is not Strictness.NOTHING
    ]
    told.append(after_words(plan))
    if plan.total.price is None and plan.works:
        told.append(unpriced_steps(plan))
    told.append(left_out(outcome))
    if outcome.whole:
        told.append(
            "The remedies that the rules name do not reach it; all operations were tried, and one "
            "of them may be unusual for this."
        )
    return list(filter(None, told))


def likely_left(plan: Plan, system: System) -> list[str]:
    """What is likely to clash even after the work, by the questions of the job."""
    asked = answers(plan.after, (), (), system)
    found = [f"{one.short}: {one.words}" for one in asked if one.standing == "likely not"]
    if not found:
        return []
    return [f"NOT LIKELY TO FIT EVEN SO, measure before anything is paid for. {'. '.join(found)}."]


def whole_job(order: WorkOrder, prices: Prices) -> list[str]:
    """What the job comes to with all that goes with the plan and mends nothing."""
    beside = [str(step.number) for step in order.steps if step.done is None]
    if not beside:
        return []
    many = "s" * (len(beside) > 1)
    total, unpriced = order.total, order.plan.total.price is not None and order.total.price is None
    cost = f"{float(total.hours):.2f} h" if unpriced else costs_words(total, prices)
    more = "; not each of them has a price" if unpriced else ""
    return [
        f"With what goes with it and mends nothing (step{many} {', '.join(beside)}) the job comes "
        f"to {cost}{more}."
    ]


def stop_words(step: JobStep) -> str:
    """When the job ends at a step."""
    operation = step.work.operation
    return str(operation.file.stop or "") if operation is not None else ""


def asked_answer(plan: Plan, prices: Prices) -> str:
    """What work that was asked for comes to, in a sentence or two."""
    clashes = subjects(tuple(plan.after.conflicts), most=9)
    left = f"After it these clash: {clashes}." if clashes else "Nothing known clashes after it."
    count = counted(len(plan.applied.works), "step")
    return f"{_left(plan)}{count} asked for, {costs_words(plan.total, prices)}. {left}"


def asked_remarks(plan: Plan) -> list[str]:
    """What is to be said of work that was asked for."""
    before = {finding.rule.id for finding in plan.before.conflicts}
    new = tuple(one for one in plan.after.conflicts if one.rule.id not in before)
    told = [f"New among them: {subjects(new, most=9)}."] if new else []
    return list(filter(None, [*told, after_words(plan)]))


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


_VERBS = {"price": "costs", "hours": "takes", "metal": "cuts", "parts": "takes"}


def cost_words(cost: Fraction, objective: Objective, prices: Prices) -> str:
    """What an objective counts, with its unit."""
    if objective == "price":
        return prices.show(cost)
    if objective == "parts":
        return counted(int(cost), "new part")
    if objective == "hours":
        return f"{float(cost):.2f} h"
    return f"{float(cost):.2f} (each cut as a share of its deepest)"


def progress_words(progress: Progress, objective: Objective, prices: Prices) -> str:
    """How far a search is."""
    verb, best = _VERBS[objective], ""
    if progress.best is not None:
        best = f"; the best so far {verb} {cost_words(progress.best[0], objective, prices)}"
    return (
        f"{progress.looked_at} looked at, {progress.reasons} reasons against; every plan {verb} "
        f"at least {cost_words(progress.least[0], objective, prices)}{best}"
    )


def write_proof(
    outcome: PlanOutcome,
    proof: Contradiction | None,
    prices: Prices,
    console: Console,
    system: System,
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
        for mend in mends(found, system) if found else []:
            writer.labelled("remedy:", mend.text)
    for fact in proof.facts:
        writer.line(f"- {check.knowledge.title_of(fact.attribute)}: {describe_fact(fact)}")
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
