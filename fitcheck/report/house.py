"""What a shop decided for itself, and what became of it: told in every report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fitcheck.check import BuildCheck
from fitcheck.check.values import selector_words
from fitcheck.check.waiving import HouseUse, Use
from fitcheck.model import EVERYWHERE, Layout, Position, group_name
from fitcheck.quantity import Quantity, System, show
from fitcheck.report.phrases import counted

if TYPE_CHECKING:
    from fitcheck.knowledge.parts import Accountable, HouseLimit, Waiver


def house_summary(use: HouseUse, waived: int) -> str:
    """The decisions of the house, counted."""
    told = [f"{counted(len(use.limits), 'limit')} of its own", counted(len(use.waivers), "waiver")]
    notes = [
        f"{use.count(one)} {one.value}"
        for one in (Use.EXPIRED, Use.UNUSED, Use.ELSEWHERE, Use.OVERRULED)
        if use.count(one)
    ]
    clashes = counted(waived, "clash", "clashes")
    return (
        f"{use.house.title} ({use.house.file}) has {' and '.join(told)}; {clashes} waived"
        + (f"; of its decisions {', '.join(notes)}" if notes else "")
        + "."
    )


def house_lines(check: BuildCheck, system: System) -> list[str]:
    """Each decision of the house with what became of it, and each clash it waives."""
    if check.house is None:
        return []
    lines = [house_summary(check.house, len(check.waived))]
    lines += [
        f"- {limit_words(limit, system)}: {_use_words(use, limit.answer)}. {_answer(limit.answer)}"
        for limit, use in check.house.limits
    ]
    for waiver, use in check.house.waivers:
        waived = [one.finding for one in check.waived if one.waiver is waiver]
        lines.append(
            f"- {_waiver(waiver)}: {_use_words(use, waiver.answer)}. {_answer(waiver.answer)}"
        )
        lines += [
            f"  WAIVED {found.rule.severity}: {found.rule.file.title}"
            f"{_where(found.positions, check.build.layout)}. {found.message(system)}"
            for found in waived
        ]
    return lines


def _where(positions: tuple[Position, ...], layout: Layout) -> str:
    return (
        f" ({group_name(positions, layout)})" if positions[0].bank or positions[0].cylinder else ""
    )


def limit_words(limit: HouseLimit, system: System) -> str:
    """A limit of the house beside what the rule says."""
    told = [
        f"{option.replace('_', ' ')} {_shown(quantity, system)} instead of "
        f"{_shown(limit.before[option], system)}".strip()
        for option, quantity in limit.values.items()
    ]
    return f"limit {limit.rule}.{limit.limit}: {'; '.join(told)}"


def _shown(quantity: Quantity, system: System) -> str:
    return show(quantity.interval, quantity.kind, system)


def _waiver(waiver: Waiver) -> str:
    where = "" if waiver.selector == EVERYWHERE else f" at {selector_words(waiver.selector)}"
    build = f" of {waiver.build}" if waiver.build else ""
    return f"waiver of {waiver.rule}{where}{build}"


def _answer(answer: Accountable) -> str:
    until = f", until {answer.until}" if answer.until and not answer.expired else ""
    return f"By {answer.name}{until}: {answer.reason}"


def _use_words(use: Use, answer: Accountable) -> str:
    if use is Use.EXPIRED:
        return f"EXPIRED, does not count ({answer.expired}; {answer.place})"
    if use is Use.UNUSED:
        return "NOT USED, nothing here calls for it"
    return str(use.value)


def house_data(check: BuildCheck, system: System) -> dict[str, Any] | None:
    """The decisions of the house as plain data; None without a house file."""
    if check.house is None:
        return None
    return {
        "name": check.house.house.title,
        "file": check.house.house.file,
        "limits": [
            {
                "rule": limit.rule,
                "limit": limit.limit,
                "use": use.value,
                "values": {option: _shown(q, system) for option, q in limit.values.items()},
                "instead_of": {option: _shown(q, system) for option, q in limit.before.items()},
                **_answer_data(limit.answer),
            }
            for limit, use in check.house.limits
        ],
        "waivers": [
            {
                "rule": waiver.rule,
                "at": selector_words(waiver.selector),
                "build": waiver.build or None,
                "use": use.value,
                **_answer_data(waiver.answer),
            }
            for waiver, use in check.house.waivers
        ],
    }


def _answer_data(answer: Accountable) -> dict[str, Any]:
    return {
        "reason": answer.reason,
        "name": answer.name,
        "until": answer.until or None,
        "expired": answer.expired or None,
        "place": str(answer.place),
    }
