"""How far an attribute can go, as text and as data."""

from __future__ import annotations

from typing import Any

from rich.console import Console
from rich.table import Table

from fitcheck.model import Attribute, EngineBuild, Layout, Position, group_name
from fitcheck.plan.howfar import Binder, HowFar, ReachTable, Stretch
from fitcheck.quantity import Interval, System, show
from fitcheck.report.phrases import capital
from fitcheck.report.writer import Writer


def write_reach(
    found: HowFar, build: EngineBuild, title: str, console: Console, system: System
) -> None:
    """The ranges, what binds at their ends, and what no value settles."""
    writer, layout = Writer(console), build.layout
    at = places(found.positions, layout)
    writer.line(f"{capital(title)}{f', {at}' if at else ''}", "bold")
    _ranges(writer, found, found.possible, "Nothing surely conflicts", layout, system)
    if not found.possible:
        writer.line("No value is left. The fewest rules that leave each other none:")
        for binder in found.contradicting:
            writer.line(f"- {named(binder, layout)}", indent=2)
    _ranges(writer, found, found.certain, "Everything it can settle surely fits", layout, system)
    if found.possible and not found.certain:
        writer.line("At no value does everything surely fit: too much else is open.")
    for binders, words in (
        (found.hopeless, "Conflicts at every value, so something else must change:"),
        (found.open, "Stays open at every value, so something else must be measured:"),
    ):
        if binders:
            writer.labelled(words, "; ".join(named(b, layout) for b in merged(binders)), 0)
    if found.remarks:
        writer.labelled(
            "Remarks at some values:", "; ".join(named(b, layout) for b in merged(found.remarks)), 0
        )
    if found.asked:
        text = "; ".join(named(b, layout) for b in merged(found.asked))
        writer.labelled("Asked at many values, not proved at those in between:", text, 0)


def _ranges(
    writer: Writer,
    found: HowFar,
    stretches: list[Stretch],
    words: str,
    layout: Layout,
    system: System,
) -> None:
    if not stretches:
        return
    writer.line(f"{words}:")
    for stretch in stretches:
        writer.line(f"- {shown(found, stretch, system)}", "bold", indent=2)
        for end, binders in (("below", stretch.below), ("above", stretch.above)):
            text = "; ".join(named(b, layout) for b in merged(binders))
            if found.attribute.kind is not None:
                writer.labelled(f"{end}:", text or "nothing more is plausible", 4)
    if found.attribute.kind is None:
        left_out(writer, found, stretches, layout)


def left_out(writer: Writer, found: HowFar, stretches: list[Stretch], layout: Layout) -> None:
    """For a choice: what stands against the options left out is told by the stretches' ends."""
    against = merged([b for one in stretches for b in (*one.below, *one.above)])
    if against:
        writer.labelled("against the others:", "; ".join(named(b, layout) for b in against), 4)


def shown(found: HowFar, stretch: Stretch, system: System) -> str:
    """A stretch as a reader sees it: a range, or options in words."""
    attribute = found.attribute
    if attribute.kind is None:
        return ", ".join(attribute.option_words[stretch.first : stretch.last + 1])
    return ends_shown(found.interval(stretch), attribute, system)


def ends_shown(interval: Interval, attribute: Attribute, system: System) -> str:
    """Both ends of a range, each as it is."""
    assert attribute.kind is not None
    low, high = (
        show(Interval.point(end), attribute.kind, system)
        for end in (interval.lower, interval.upper)
    )
    return low if low == high else f"{low} to {high}"


def places(positions: tuple[Position, ...], layout: Layout) -> str:
    """Positions in words; empty for the engine as a whole."""
    return "" if positions == (Position(),) or not positions else group_name(positions, layout)


def named(binder: Binder, layout: Layout) -> str:
    """A rule by its title, with its places and its id."""
    at = places(binder.positions, layout)
    return f"{binder.rule.file.title}{f' ({at})' if at else ''} [{binder.rule.id}]"


def merged(binders: list[Binder] | tuple[Binder, ...]) -> list[Binder]:
    """Binders with one rule at several groups of positions joined."""
    by_rule: dict[str, Binder] = {}
    for binder in binders:
        known = by_rule.get(binder.rule.id)
        positions = tuple(
            sorted({*(known.positions if known else ()), *binder.positions}, key=Position.order)
        )
        by_rule[binder.rule.id] = Binder(binder.rule, positions)
    return list(by_rule.values())


def write_table(
    table: ReachTable, titles: tuple[str, str], console: Console, system: System
) -> None:
    """Two attributes at once: for values of the second, how far the first can go."""
    grid = Table(title=f"{capital(titles[0])} for each {titles[1]}", title_justify="left")
    for heading in (titles[1], "nothing surely conflicts", "surely fits", "below", "above"):
        grid.add_column(heading)
    for text, found in table.rows:
        ends = (
            [b.rule.id for one in found.possible[:1] for b in one.below],
            [b.rule.id for one in found.possible[-1:] for b in one.above],
        )
        grid.add_row(
            text,
            _cell(found, found.possible, system),
            _cell(found, found.certain, system),
            *(", ".join(dict.fromkeys(end)) for end in ends),
        )
    console.print(grid)


def _cell(found: HowFar, stretches: list[Stretch], system: System) -> str:
    return "; ".join(shown(found, one, system) for one in stretches) or "none"


def reach_data(found: HowFar, system: System) -> dict[str, Any]:
    """The answer as plain data."""
    return {
        "attribute": found.attribute.name,
        "positions": [str(position) for position in found.positions],
        "possible": [_stretch_data(found, one, system) for one in found.possible],
        "certain": [_stretch_data(found, one, system) for one in found.certain],
        "conflicts_at_every_value": [_binder_data(b) for b in merged(found.hopeless)],
        "open_at_every_value": [_binder_data(b) for b in merged(found.open)],
        "remarks_at_some_values": [_binder_data(b) for b in merged(found.remarks)],
        "contradicting": [_binder_data(b) for b in merged(found.contradicting)],
        "asked_not_proved": [_binder_data(b) for b in merged(found.asked)],
    }


def _stretch_data(found: HowFar, one: Stretch, system: System) -> dict[str, Any]:
    attribute = found.attribute
    if attribute.kind is None:
        return {"options": list(attribute.options[one.first : one.last + 1])}
    interval = found.interval(one)
    return {
        "shown": shown(found, one, system),
        "lower": str(interval.lower),
        "upper": str(interval.upper),
        "kind": attribute.kind.name,
        "below": [_binder_data(b) for b in merged(one.below)],
        "above": [_binder_data(b) for b in merged(one.above)],
    }


def _binder_data(binder: Binder) -> dict[str, Any]:
    return {"rule": binder.rule.id, "positions": [str(p) for p in binder.positions]}
