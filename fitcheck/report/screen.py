"""What screening found, as text and as data: the answer first, then why, then what comes near."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence, Set
from typing import Any

from rich.console import Console

from fitcheck.check import RuleFinding
from fitcheck.knowledge import Knowledge
from fitcheck.language import CONFLICT
from fitcheck.model import EngineBuild
from fitcheck.plan.at_place import measured_with
from fitcheck.plan.prices import Prices
from fitcheck.quantity import System
from fitcheck.report.answers import worst_place
from fitcheck.report.phrases import (
    capital,
    counted,
    demand_words,
    group_places,
    missing_words,
)
from fitcheck.report.story import by_rule
from fitcheck.report.writer import Writer
from fitcheck.screen.deciding import Decided, Standing
from fitcheck.screen.money import Money
from fitcheck.screen.ranking import Best, Ranked, told_names
from fitcheck.screen.screening import Screen
from fitcheck.screen.work import CandidateWork

MOST_RULES = 6
MOST_NAMES = 4
_ORDERS = {
    "price": "by the price of the whole order",
    "room": "by room to their limits",
    "work": "by what work they need",
}


def write_screen(
    found: Screen,
    best: Best,
    nearest: Sequence[Ranked],
    shop: Prices,
    console: Console,
    system: System,
) -> None:
    """One open slot: how many fit, the best, what is open whichever, what rules out most."""
    writer = Writer(console)
    knowledge = found.frame.knowledge
    title = knowledge.classes[found.opening.slot].title
    side = f" ({found.opening.side})" if found.opening.side else ""
    writer.line(f"{capital(title)}{side} for {found.frame.build.title}", "bold")
    writer.line(_answer(found, best), "bold")
    if found.kits:
        writer.line(
            f"Beside these {counted(found.kits, 'kit')} that bring other parts too: name all slots "
            "of a kit, as in 'spring retainer locks', to have it among them."
        )
    for problem in [*found.failures, *found.frame.failures]:
        writer.line(str(problem), "bold red")
    _write_fixed(writer, found)
    write_shifting(writer, found.build, knowledge, [found.opening.slot])
    lines = _Lines(writer, found, Money(found.catalog.currency), shop, system)
    if best.ranked:
        writer.heading(f"The first {len(best.ranked)}, {_ORDERS[best.order]}")
    for number, one in enumerate(best.ranked, 1):
        lines.ranked(number, one)
    _write_asked(writer, found, best)
    _write_waits(writer, found, best)
    out = [count for count in found.counts if count.out]
    if out:
        writer.heading("What rules most of them out")
    for count in out[:MOST_RULES]:
        alone = f", {count.alone:,} of them by this alone" if count.alone else ""
        writer.line(f"- {count.rule.file.subject}: {count.out:,}{alone}  [{count.rule.id}]")
    if nearest:
        writer.heading("Nearest misses")
    for number, one in enumerate(nearest, 1):
        lines.ranked(number, one)
    write_closing(writer)


def _answer(found: Screen, best: Best) -> str:
    if not found.total:
        return "The catalog lists none."
    out = found.ruled_out
    told = best.standings
    if best.complete:
        counts = {one: told[one] for one in Standing} | {Standing.OUT: out}
        words = [f"{count:,} {one.of_many}" for one, count in counts.items()]
        if best.disputed:
            words[Standing.LIKELY] += f" (on {best.disputed:,} of them practice disagrees)"
        return f"{found.total:,} listed: {', '.join(words)}."
    why = "stopped there" if best.stopped else f"the first {_ORDERS[best.order]}"
    decided = ", ".join(
        f"{count:,} {standing.of_many}" for standing, count in sorted(told.items()) if count
    )
    left = found.total - out
    return (
        f"{found.total:,} listed, {out:,} ruled out. Of the {left:,} others ({best.kinds:,} that "
        f"differ) {best.looked} were looked at, {why}: {decided or 'none'}."
    )


def write_shifting(
    writer: Writer, build: EngineBuild, knowledge: Knowledge, opened: list[str]
) -> None:
    """What is taken as it was measured with other parts in place, which new ones may shift."""
    for name, others in measured_with(build, knowledge, opened).items():
        titles = " or ".join(knowledge.classes[slot].title for slot in others)
        writer.line(
            f"The {knowledge.attributes[name].title} is taken as measured with what is there now: "
            f"another {titles} may shift it, so measure it again."
        )


def _write_fixed(writer: Writer, found: Screen) -> None:
    """What clashes whatever is fitted: no fault of any candidate."""
    rules = found.frame.knowledge.rules
    clashes = [rules[id_] for id_, standing in found.frame.fixed.items() if standing == CONFLICT]
    clashes = [rule for rule in clashes if rule.severity != "advice"]
    if clashes:
        names = "; ".join(f"{rule.file.subject} [{rule.id}]" for rule in clashes)
        writer.line(f"Whichever is fitted, this clashes already: {names}.")


def _write_asked(writer: Writer, found: Screen, best: Best) -> None:
    """The figures that those wait for which may fit, the one that decides most first."""
    waiting = [one for one in best.decided if one.standing is Standing.MAY]
    lacking = [_lacking(one, found) for one in waiting]
    if not any(lacking):
        return
    writer.heading("What those that may fit wait for")
    names = Counter(name for some in lacking for name in some)
    alone = Counter(next(iter(some)) for some in lacking if len(some) == 1)
    for name, count in sorted(names.items(), key=lambda one: (-alone[one[0]], -one[1], one[0])):
        told = f", {alone[name]} for nothing else" if alone[name] else ""
        writer.line(f"- {name}: {count} of {len(waiting)}{told}")
    if near := sum(not some for some in lacking):
        writer.line(f"- finer figures, as they lie at a limit: {near} of {len(waiting)}")


def _lacking(decided: Decided, found: Screen) -> frozenset[str]:
    """The figures that questions of a candidate itself wait for."""
    slot, knowledge = found.opening.slot, found.frame.knowledge
    lacking = [fact.attribute for finding in decided.asks for fact in finding.missing]
    return frozenset(
        f"{'its' if one.slot == slot else f'{knowledge.classes[one.slot].title}:'} {one.title}"
        for one in lacking
    )


def _write_waits(writer: Writer, found: Screen, best: Best) -> None:
    """What is open whichever is bought, by the figure that would tell."""
    waiting: dict[str, dict[str, None]] = {}
    told = told_names(found)
    for decided in best.decided:
        for finding in decided.waits:
            for name in awaited(finding, found, told):
                waiting.setdefault(name, {})[finding.rule.id] = None
    if not waiting:
        return
    writer.heading("Open whichever is bought: find out before you pay")
    together: dict[tuple[str, ...], list[str]] = {}
    for name, rules in waiting.items():
        together.setdefault(tuple(sorted(rules)), []).append(name)
    for ids, names in sorted(together.items(), key=lambda one: (-len(one[0]), one[1])):
        subjects = [str(found.frame.knowledge.rules[id_].file.subject) for id_ in ids]
        shown = "; ".join(subjects[:MOST_NAMES])
        more = f" and {len(subjects) - MOST_NAMES} more" if len(subjects) > MOST_NAMES else ""
        writer.line(f"- {', '.join(names)}")
        writer.labelled("for:", f"{shown}{more}", 2, 2)


def awaited(finding: RuleFinding, found: Screen, told: Set[str]) -> list[str]:
    """The figures of other parts, or those of the part itself that no candidate tells."""
    knowledge, opening = found.frame.knowledge, found.opening
    lacking = [fact.attribute for fact in finding.missing]
    others = [a for a in lacking if a.slot != opening.slot or a.name in opening.keep]
    return [knowledge.title_of(a) for a in others] or [
        f"its {a.title}{f' ({a.about})' if a.about else ''}: ask for it, or measure it"
        for a in lacking
        if a.name not in told
    ]


class _Lines:
    """Writes single candidates."""

    def __init__(
        self, writer: Writer, found: Screen, money: Money, shop: Prices, system: System
    ) -> None:
        self.writer = writer
        self.found = found
        self.money = money
        self.shop = shop
        self.system = system

    def ranked(self, number: int, one: Ranked) -> None:
        """One candidate: how it stands, what its order costs, where least room is left."""
        offer, decided, writer = one.offer, one.decided, self.writer
        name = offer.part.name
        said = [offer.item, *([name] if name not in ("", offer.item) else [])]
        facts = [] if decided.clashes else [standing_words(decided)]
        facts.append(self._price(one))
        if offer.stock is not None:
            facts.append(f"{offer.stock} in stock" if offer.stock else "out of stock")
        writer.labelled(f"{number}. {', '.join(said)}:", ", ".join(facts), 0, 3)
        self._alike(one)
        if decided.tightest is not None and not decided.clashes:
            text = f"{decided.tightest[0].rule.file.subject}: {self._room(one)}"
            writer.labelled("tightest:", text, 3, 2)
        for findings in by_rule(decided.likely) if not decided.clashes else ():
            worst = worst_place(findings)
            missing = missing_words(worst, self.system) or worst.message(self.system)
            writer.labelled("likely clash:", f"{worst.rule.file.subject}: {missing}", 3, 2)
        if decided.asks and not decided.clashes:
            writer.labelled("cannot be told:", _subjects(decided.asks), 3, 2)
        if not decided.clashes:
            write_disputed(writer, decided)
            for findings in by_rule(decided.remarks):
                worst = worst_place(findings)
                missing = missing_words(worst, self.system) or worst.message(self.system)
                writer.labelled("worth knowing:", f"{worst.rule.file.subject}: {missing}", 3, 2)
        self._clashes(one)

    def _price(self, one: Ranked) -> str:
        if one.cost is None or one.offer.price is None:
            return "price not told"
        need, pack = self.found.need, one.offer.pack
        told = self.money.show(one.cost)
        if need.pieces == 1 and not pack:
            return told
        each = self.money.show(one.offer.price)
        if pack:
            many = counted(need.packs(pack), "pack")
            return f"{told} for {many} of {pack} ({need.pieces} wanted)"
        return f"{told} for {need.pieces} ({each} each)"

    def _alike(self, one: Ranked) -> None:
        if one.alike:
            more = one.pieces - 1 - len(one.alike)
            names = ", ".join(one.alike) + (f" and {more:,} more" if more > 0 else "")
            self.writer.labelled("the same in all that counts, no cheaper:", names, 3, 2)

    def _room(self, one: Ranked) -> str:
        assert one.decided.tightest is not None
        room = demand_words(one.decided.tightest[1], self.system)
        share = f" ({one.room:.0%} of the limit)" if 0 <= one.room <= 1 else ""
        return f"{room}{share}"

    def _clashes(self, one: Ranked) -> None:
        frame, layout = self.found.frame, self.found.frame.build.layout
        for findings in by_rule(one.decided.clashes):
            worst = worst_place(findings)
            missing = missing_words(worst, self.system)
            where = group_places(findings, layout)
            text = f"{worst.rule.file.subject}{f', {where}' if where else ''}"
            told = missing or worst.message(self.system)
            self.writer.line(f"misses on {text}: {told}", indent=3)
            if one.work is None:
                for mend in frame.mends(worst, self.system)[:1]:
                    self.writer.labelled("mend:", mend.text, 5)
        for operation, text, places in one.work.steps if one.work else ():
            del operation
            self.writer.labelled("work:", f"{text}, at {counted(places, 'place')}", 5)
        if one.work and one.work.steps:
            self.writer.line(f"work in all: {work_words(one.work, self.shop)}", indent=5)


def work_words(work: CandidateWork, shop: Prices) -> str:
    """What work comes to: hours, and a shop's price where it tells one."""
    price = "" if work.price is None else f", {shop.show(work.price)} by {shop.title}"
    return f"{float(work.hours):.1f} h{price}"


def standing_words(decided: Decided) -> str:
    """How a candidate stands; where practice disagrees, that in the same breath."""
    words, disagreed = decided.standing.words, decided.disagreed
    return f"{words} (practice disagrees on {disagreed})" if disagreed else words


def write_disputed(writer: Writer, decided: Decided) -> None:
    """What practice disagrees on, by itself: remarks too, which rule nothing out."""
    asked = {finding.rule.id for finding in decided.asks}
    told = [one for one in decided.disputed if one.rule.id not in asked]
    if told or decided.disputed_remarks:
        words = _subjects([*told, *decided.disputed_remarks])
        writer.labelled("practice disagrees on:", words, 3, 2)


def _subjects(findings: Sequence[RuleFinding]) -> str:
    told = list(dict.fromkeys(str(one.rule.file.subject) for one in findings))
    more = f" and {len(told) - MOST_NAMES} more" if len(told) > MOST_NAMES else ""
    return "; ".join(told[:MOST_NAMES]) + more


def write_closing(writer: Writer) -> None:
    """What is to be minded of any list."""
    writer.console.print()
    writer.line(
        "A listed figure is a seller's claim: confirm it before you pay. "
        "The makers' instructions rule over every figure here.",
        "dim",
    )


def screen_data(
    found: Screen, best: Best, nearest: Sequence[Ranked], system: System
) -> dict[str, Any]:
    """One open slot as plain data."""
    return {
        "slot": found.opening.slot,
        "side": found.opening.side,
        "build": found.frame.build.title,
        "knowledge": found.frame.knowledge.digest,
        "listed": found.total,
        "currency": found.catalog.currency,
        "kits_beside": found.kits,
        "fit": found.fits,
        "not_ruled_out": found.total - found.ruled_out,
        "ruled_out": found.ruled_out,
        "looked_at": best.looked,
        "of_different": best.kinds,
        "stopped": best.stopped,
        "practice_disagrees_on": best.disputed,
        "standings": {one.name.lower(): best.standings[one] for one in Standing},
        "pieces_wanted": found.need.pieces,
        "rules": [
            {
                "rule": count.rule.id,
                "rules_out": count.out,
                "alone": count.alone,
                "leaves_open": count.open,
            }
            for count in found.counts
        ],
        "best": [ranked_data(one, system) for one in best.ranked],
        "nearest": [ranked_data(one, system) for one in nearest],
    }


def ranked_data(one: Ranked, system: System) -> dict[str, Any]:
    """One candidate as plain data."""
    decided = one.decided
    return {
        "item": one.offer.item,
        "source": one.offer.source,
        "stands": decided.standing.name.lower(),
        "price": one.offer.price,
        "pack": one.offer.pack,
        "price_of_order": one.cost,
        "stock": one.offer.stock,
        "room": decided.room,
        "tightest": decided.tightest[0].rule.id if decided.tightest else None,
        "hours": float(one.work.hours) if one.work else None,
        "price_of_work": float(one.work.price) if one.work and one.work.price else None,
        "alike": one.pieces - 1,
        "likely_clashes": sorted({finding.rule.id for finding in decided.likely}),
        "questions": sorted({finding.rule.id for finding in decided.asks}),
        "open_whichever": sorted({finding.rule.id for finding in decided.waits}),
        "practice_disagrees": sorted(
            {finding.rule.id for finding in [*decided.disputed, *decided.disputed_remarks]}
        ),
        "remarks": sorted({finding.rule.id for finding in decided.remarks}),
        "clashes": [
            {
                "rule": finding.rule.id,
                "where": [str(p) for p in finding.positions],
                "message": finding.message(system),
                "missing": missing_words(finding, system),
            }
            for finding in decided.clashes
        ],
    }
