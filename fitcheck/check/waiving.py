"""Applies the waivers of a house to the findings, and tells what became of each decision."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

from fitcheck.check.finding import RuleFinding
from fitcheck.check.verdict import Verdict
from fitcheck.knowledge import Knowledge
from fitcheck.model import EngineBuild
from fitcheck.source import frozen

if TYPE_CHECKING:
    from fitcheck.knowledge.parts import House, HouseLimit, Waiver


class Use(Enum):
    """What became of a decision of the house in one check."""

    USED = "in force"
    UNUSED = "not used"
    EXPIRED = "expired"
    ELSEWHERE = "for another build"
    OVERRULED = "overruled by what a maker asks"


@frozen
class Waived:
    """A clash that the house accepts."""

    finding: RuleFinding
    waiver: Waiver


@frozen
class HouseUse:
    """The decisions of the house, each with what became of it."""

    house: House
    limits: tuple[tuple[HouseLimit, Use], ...]
    waivers: tuple[tuple[Waiver, Use], ...]

    def count(self, use: Use) -> int:
        """How many decisions came to this."""
        return sum(one is use for _, one in (*self.limits, *self.waivers))


def waive(
    findings: list[RuleFinding], build: EngineBuild, knowledge: Knowledge
) -> tuple[list[RuleFinding], list[Waived], HouseUse | None]:
    """The findings left, those waived, and the use of the house's decisions.

    Only a clash is waived: what cannot be told yet may turn out worse than what was accepted. A
    finding is waived at the places that a waiver names, and stays at the others.
    """
    house = knowledge.house
    if house is None:
        return findings, [], None
    in_force = [
        waiver
        for waiver in house.waivers
        if not waiver.answer.expired and waiver.build in ("", build.title)
    ]
    left: list[RuleFinding] = []
    waived: list[Waived] = []
    for finding in findings:
        if finding.verdict is not Verdict.CONFLICT:
            left.append(finding)
            continue
        rest = finding.positions
        for waiver in in_force:
            covered = tuple(p for p in rest if waiver.selector.covers(p))
            if waiver.rule == finding.rule.id and covered:
                rest = tuple(p for p in rest if p not in covered)
                waived.append(
                    Waived(
                        finding
                        if not rest and covered == finding.positions
                        else finding.at(covered),
                        waiver,
                    )
                )
        if rest:
            left.append(finding if rest == finding.positions else finding.at(rest))
    return left, waived, _use(house, findings, waived, build, knowledge)


def _use(
    house: House,
    findings: list[RuleFinding],
    waived: list[Waived],
    build: EngineBuild,
    knowledge: Knowledge,
) -> HouseUse:
    used = {id(one.waiver) for one in waived}
    asked = {finding.rule.id for finding in findings}
    waivers = tuple((waiver, _of_waiver(waiver, used, build)) for waiver in house.waivers)
    limits = tuple((limit, _of_limit(limit, asked, knowledge)) for limit in house.limits)
    return HouseUse(house, limits, waivers)


def _of_waiver(waiver: Waiver, used: set[int], build: EngineBuild) -> Use:
    if waiver.answer.expired:
        return Use.EXPIRED
    if waiver.build not in ("", build.title):
        return Use.ELSEWHERE
    return Use.USED if id(waiver) in used else Use.UNUSED


def _of_limit(limit: HouseLimit, asked: set[str], knowledge: Knowledge) -> Use:
    if limit.answer.expired:
        return Use.EXPIRED
    if knowledge.rules[limit.rule].limits[limit.limit].maker:
        return Use.OVERRULED
    same = all(
        quantity.interval == limit.before[option].interval
        for option, quantity in limit.values.items()
    )
    return Use.UNUSED if same or limit.rule not in asked else Use.USED
