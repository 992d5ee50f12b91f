"""What a work order accepts of a figure measured after the work, against the check itself."""

from __future__ import annotations

from fitcheck.check import Verdict, check_build
from fitcheck.model import Selector
from fitcheck.plan.acceptance import acceptance
from fitcheck.plan.asked import asked_plan, read_works
from fitcheck.plan.howfar import suppose
from fitcheck.plan.prices import NO_PRICES
from fitcheck.plan.work_order import work_order
from fitcheck.report.acceptance import accepted_words


def lined(demos):
    """The boat with its worst guide lined and the seat cut after it."""
    check = demos.check("service_boat")
    works = read_works(
        ["line_guide@4 exhaust", "cut_seat@4 exhaust=0.001 in"], check.build.layout, demos.knowledge
    )
    order = work_order(asked_plan(check, NO_PRICES, works), NO_PRICES)
    return order, {one.attribute.name: one for one in order.readings}


def test_a_bore_within_fits_and_one_outside_clashes(demos):
    """At each end of what is sure no rule of stop or serious on the bore is open or clashes."""
    order, readings = lined(demos)
    plan = order.plan
    (told,) = acceptance(plan, readings["guide.bore"], "inch")
    (sure,), (possible,) = told.sure, told.possible
    where = Selector(None, 4, "exhaust")
    conditions = {finding.rule.id for finding in plan.conditions}

    def verdicts(at):
        build = plan.after.build.supposing([suppose(told.attribute, told.values[at], where)])
        rules = demos.knowledge.readers["guide.bore"]
        found = check_build(build, demos.knowledge, rules).findings
        return {
            one.rule.id: one.verdict
            for one in found
            if any(where.covers(place) for place in one.positions)
            and (one.rule.severity != "advice" or one.rule.id in conditions)
        }

    waiting = {rule for rule, verdict in verdicts(sure[0]).items() if verdict.undecided}
    for end, step in zip(sure, (-1, 1), strict=True):
        assert Verdict.CONFLICT not in verdicts(end).values()
        assert {r for r, verdict in verdicts(end + step).items() if verdict is not Verdict.FITS} > (
            waiting
        )
    for end, step in zip(possible, (-1, 1), strict=True):
        assert Verdict.CONFLICT not in verdicts(end).values()
        assert Verdict.CONFLICT in verdicts(end + step).values()
    words = accepted_words(plan, readings["guide.bore"], "inch")
    assert words == "sure at 0.373 in to 0.375 in; clashes unless 0.371 in to 0.377 in"
    # What the order measures itself names its step.
    steps = {one.work.operation.id: one.number for one in order.steps if one.work.operation}
    assert "vacuum_test" in steps and readings["guide.bore"].step == 0
    assert {one.step for one in order.readings} <= {0, *steps.values()}


def test_of_a_choice_the_options_that_fit(demos):
    """A steel core wants a gear of steel that may run on it, or of a soft metal; never iron."""
    plan = demos.plan("work_truck").plan
    order = work_order(plan, demos.prices("work_truck"))
    readings = {one.attribute.name: one for one in order.readings}
    words = accepted_words(plan, readings["drive_gear.material"], "inch")
    assert words.startswith("accept steel or ") and "iron" not in words
    # What the plan predicts stands at its step.
    assert accepted_words(plan, readings["guide.bore"], "inch") == ""
