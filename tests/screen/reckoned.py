"""The independent reckoning: every rule asked of every part or set of parts, one by one.

It uses what a single check uses: facts as a binding gives them, the function printed as Python, and
fractions where that is too near to tell. It knows nothing of folded trees, columns or tables.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from itertools import product

from fitcheck.check.bind import Binding
from fitcheck.check.checking import CLAIMS
from fitcheck.check.verdict import RuleFailed, exact_code
from fitcheck.knowledge import Knowledge, Rule
from fitcheck.language import CONFLICT, NEAR, SILENT, STRADDLES
from fitcheck.model import EngineBuild, Fact, Part, Position
from fitcheck.plan.work import fits_part
from fitcheck.screen.opening import Opening

_CRASHES = (ArithmeticError, ValueError, TypeError)


class Reckoning:
    """Asks rules about sets of parts, each set of figures once."""

    def __init__(
        self,
        build: EngineBuild,
        knowledge: Knowledge,
        offered: Mapping[str, Sequence[Part]],
        openings: Mapping[str, Opening] | None = None,
    ) -> None:
        self.knowledge = knowledge
        self.openings = openings or {slot: Opening(slot) for slot in offered}
        for opening in self.openings.values():
            build = opening.emptied(build)
        self.empty = Binding(build, knowledge)
        self.fitted = {
            slot: [Binding(self.openings[slot].fitted(build, part), knowledge) for part in parts]
            for slot, parts in offered.items()
        }
        self.rules = [
            rule
            for rule in knowledge.rules.values()
            if rule.family != CLAIMS and not rule.by_work and set(rule.slots) & set(offered)
        ]
        self._groups: dict[str, list[list[Position]]] = {}
        self._known: dict[tuple[object, ...], int] = {}

    def worst(self, rule: Rule, chosen: Mapping[str, int], places: Sequence[Position] = ()) -> int:
        """The gravest code of a rule over its places (or over some): CONFLICT, undecided, …"""
        key = (rule.id, *((slot, chosen[slot]) for slot in rule.slots if slot in chosen))
        if not places and key in self._known:
            return self._known[key]
        groups = self._groups.get(rule.id)
        if groups is None:
            groups = self._groups[rule.id] = self.empty.groups(rule.each, rule.inputs)
        wanted = [[p for p in group if not places or p in places] for group in groups]
        # A candidate for one side leaves the other side's places as they are.
        sides = [{p.side: p for p in group}.values() for group in wanted]
        codes = [self._code(rule, chosen, position) for some in sides for position in some]
        worst = max(codes, default=SILENT)
        if not places:
            self._known[key] = worst
        return worst

    def _fact(self, name: str, position: Position, chosen: Mapping[str, int]) -> Fact:
        slot = name.partition(".")[0]
        binding = self.fitted[slot][chosen[slot]] if slot in chosen else self.empty
        return binding.fact(name, position)

    def _code(self, rule: Rule, chosen: Mapping[str, int], position: Position) -> int:
        facts = {name: self._fact(name, position, chosen) for name in rule.inputs}
        if any(not facts[name].given for name in rule.only_given):
            return SILENT
        compiled = self.knowledge.fast(rule)
        try:
            code: int = compiled.function([facts[name].end(end) for name, end in compiled.inputs])[
                0
            ]
        except _CRASHES:
            code = NEAR
        if code == NEAR:
            try:
                code = exact_code(rule, facts, self.knowledge)
            except RuleFailed:
                return STRADDLES  # never a pass
        # Two ways to a figure that meet, or may, are nothing to tell.
        return SILENT if rule.ways is not None and code != CONFLICT else code

    def sets(
        self, offered: Mapping[str, Sequence[Part]], without: Collection[str] = ()
    ) -> list[dict[str, int]]:
        """Every set that no rule rules out, of those that count."""
        slots = list(offered)
        rules = [one for one in self.rules if one.severity != "advice" and one.id not in without]
        rules.sort(key=lambda rule: len(set(rule.slots) & set(slots)))
        found = []
        for numbers in product(*(range(len(offered[slot])) for slot in slots)):
            chosen = dict(zip(slots, numbers, strict=True))
            if all(self.worst(rule, chosen) != CONFLICT for rule in rules):
                found.append(chosen)
        return found

    def mended(self, rule: Rule) -> bool:
        """Whether machine work mends a clash; a candidate replaced by another is not mended."""
        works = [self.knowledge.operations[fix.operation] for fix in rule.fixes if fix.operation]
        return any(not (fits_part(one) and str(one.file.on) in self.openings) for one in works)

    def worked(
        self, offered: Mapping[str, Sequence[Part]], without: Collection[str] = ()
    ) -> list[tuple[dict[str, int], set[str]]]:
        """Every set whose clashes an operation mends, with those clashes."""
        rules = [one for one in self.rules if one.severity != "advice" and one.id not in without]
        rules.sort(key=self.mended)
        found = []
        for numbers in product(*(range(len(some)) for some in offered.values())):
            chosen = dict(zip(offered, numbers, strict=True))
            clashes = set()
            for rule in rules:
                if self.worst(rule, chosen) == CONFLICT:
                    if not self.mended(rule):
                        break
                    clashes.add(rule.id)
            else:
                found.append((chosen, clashes))
        return found
