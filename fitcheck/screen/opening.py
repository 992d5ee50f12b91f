"""Open slots: the build without the parts that are sought, and what each rule then asks of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fitcheck.check.bind import Binding
from fitcheck.check.checking import CLAIMS
from fitcheck.check.finding import RuleFinding
from fitcheck.check.mending import Mend, mends
from fitcheck.check.verdict import RuleFailed, exact_code
from fitcheck.knowledge import Knowledge, Operation, Rule
from fitcheck.language import CONFLICT, FITS, SILENT, STRADDLES
from fitcheck.language.outcome import Fold, Nodes, VerdictConditions, outcome
from fitcheck.language.plain import FALSE, TRUE, Plain, beneath
from fitcheck.model import EngineBuild, Fact, Part, Position, Selector
from fitcheck.plan.at_place import remembered
from fitcheck.plan.work import fits_part
from fitcheck.quantity import System
from fitcheck.screen.tables import AT
from fitcheck.source import Problem

ENDS = ("lower", "upper", "mask", "rank")
GIVEN = "given"


@dataclass(frozen=True, slots=True)
class Opening:
    """A slot that a part is sought for; with `side`, for the intakes or the exhausts alone.

    `keep` names attributes that belong to the place rather than to the part: what the build says
    of them holds for every candidate, as an installed height does that stays as it is. Of `sided`
    attributes candidates may say one thing of the intakes and another of the exhausts.
    """

    slot: str
    side: str = ""
    keep: frozenset[str] = frozenset()
    sided: frozenset[str] = frozenset()

    @property
    def selector(self) -> Selector:
        """The positions that a candidate goes to."""
        return Selector(side=self.side or None)

    def reads(self, name: str, position: Position) -> bool:
        """Whether a candidate tells an attribute at a position."""
        own = name.startswith(self.slot + ".") and name not in self.keep
        return (
            own
            and not name.endswith((".present", ".comes_with_head"))
            and (not self.side or position.side == self.side)
        )

    def emptied(self, build: EngineBuild) -> EngineBuild:
        """The build with a part in the slot of which only what is kept is known."""
        kept: list[Part] = []
        for part in build.parts.get(self.slot, ()):
            said = tuple(s for s in part.statements if s.attribute.name in self.keep)
            if self.side:
                kept.append(
                    replace(
                        part,
                        statements=tuple(
                            s
                            for s in part.statements
                            if s in said or s.selector.side not in (None, self.side)
                        ),
                    )
                )
                # What is said of both sides holds on for the other one alone.
                kept[-1] = replace(
                    kept[-1],
                    statements=kept[-1].statements
                    + tuple(
                        replace(s, selector=replace(s.selector, side=_other(self.side)))
                        for s in part.statements
                        if s not in said and s.selector.side is None
                    ),
                )
            elif said:
                kept.append(Part(self.slot, part.name, part.seller, said))
        parts = {**build.parts, self.slot: tuple(kept) or (Part(self.slot, "", "", ()),)}
        return replace(build, parts=parts, absent=build.absent - {self.slot})

    def fitted(self, emptied: EngineBuild, *candidate: Part) -> EngineBuild:
        """The build, emptied, with a candidate (one part, or one for each side) in the slot."""
        known = tuple(one for one in emptied.parts[self.slot] if one.statements)
        parts = {**emptied.parts, self.slot: (*known, *map(self._narrowed, candidate))}
        return replace(emptied, parts=parts)

    def _narrowed(self, part: Part) -> Part:
        said = tuple(
            replace(s, selector=replace(s.selector, side=self.side)) if self.side else s
            for s in part.statements
            if s.attribute.name not in self.keep
            and (not self.side or s.selector.side in (None, self.side))
        )
        return replace(part, statements=said)


def _other(side: str) -> str:
    return "exhaust" if side == "intake" else "intake"


@dataclass(frozen=True, slots=True, eq=False)
class Factor:
    """What one rule asks of the candidates at the positions where all else is the same.

    `reads` names the attributes of open slots that it still depends on.
    """

    rule: Rule
    positions: tuple[Position, ...]
    outcome: VerdictConditions
    reads: tuple[str, ...]

    @property
    def slots(self) -> tuple[str, ...]:
        """The open slots it depends on."""
        return tuple(dict.fromkeys(name.partition(".")[0] for name in self.reads))


class Frame:
    """A build with some slots open, and the factors of every rule that reads one of them.

    Claims and work still to be done are no question of fit and stay out. Where a rule says one
    thing whatever part is fitted, that is in `fixed`: the worst it says so. `factors` are not made
    twice for the same demand at different places. `failures` are rules that could not be computed;
    they count as open. `alike` tells what the candidates say of an attribute at a position, where
    that can differ.
    """

    def __init__(
        self,
        build: EngineBuild,
        knowledge: Knowledge,
        openings: Sequence[Opening],
        alike: Callable[[str, Position], Hashable] | None = None,
    ) -> None:
        self.knowledge = knowledge
        self._alike = alike
        self.openings = {opening.slot: opening for opening in openings}
        build = remembered(build, knowledge, self.openings)
        for opening in openings:
            build = opening.emptied(build)
        self.build = build
        self.binding = Binding(build, knowledge)
        self.factors: list[Factor] = []
        self.fixed: dict[str, int] = {}
        self.failures: list[Problem] = []
        self._nodes = Nodes()
        self._folds = defaultdict[Position, Fold](lambda: Fold({}, self._nodes))
        for rule in self._rules():
            self._add(rule)

    def _rules(self) -> Iterable[Rule]:
        wanted = {
            rule.id
            for slot in self.openings
            for name in self.knowledge.classes[slot].attributes
            for rule in self.knowledge.readers.get(name, ())
        }
        return [
            rule
            for rule in self.knowledge.rules.values()
            if rule.id in wanted and rule.family != CLAIMS and not rule.by_work
        ]

    def opening_of(self, name: str, position: Position) -> Opening | None:
        """The open slot whose candidate tells an attribute at a position."""
        opening = self.openings.get(name.partition(".")[0])
        return opening if opening is not None and opening.reads(name, position) else None

    def named(self, rule: Rule, position: Position) -> dict[str, str]:
        """What the attributes of candidates are called that say another thing of each side."""
        found = {}
        for name in rule.inputs:
            opening = self.opening_of(name, position)
            if opening is not None and name in opening.sided and position.side:
                found[name] = f"{name}{AT}{position.side}"
        return found

    def works(self, rule: Rule) -> list[Operation]:
        """The operations that mend a rule's clash and leave the candidates in place."""
        found = [self.knowledge.operations[fix.operation] for fix in rule.fixes if fix.operation]
        return [one for one in found if not (fits_part(one) and str(one.file.on) in self.openings)]

    def mends(self, finding: RuleFinding, system: System = "inch") -> list[Mend]:
        """What mends a finding by such operations, the one that the rule names first, first."""
        works = self.works(finding.rule)
        return [mend for mend in mends(finding, system) if mend.operation in works]

    def _add(self, rule: Rule) -> None:
        whole = outcome(self.knowledge.condition(rule), self.knowledge.lowering.forest)
        made: dict[Hashable, Factor] = {}
        for group in self.binding.groups(rule.each, rule.inputs):
            for positions in self._apart(rule, group):
                factor = self._factor(rule, whole, positions)
                if factor is None:
                    continue
                told = (
                    [self._alike(name, positions[0]) for name in factor.reads]
                    if self._alike
                    else []
                )
                key = (*factor.outcome.parts, *told)
                same = made.get(key)
                if same is not None:
                    factor = replace(same, positions=(*same.positions, *positions))
                made[key] = factor
        for factor in made.values():
            if factor.reads:
                self.factors.append(factor)
            else:
                standing = self._standing(factor)
                self.fixed[rule.id] = max(standing, self.fixed.get(rule.id, SILENT))

    def _standing(self, factor: Factor) -> int:
        """What a rule says whatever part is fitted."""
        cases = zip(factor.outcome.parts, (SILENT, FITS, CONFLICT, STRADDLES), strict=True)
        for part, standing in cases:
            if part.op == "true":
                return standing
        rule, position = factor.rule, factor.positions[0]
        facts = {name: self.binding.fact(name, position) for name in rule.inputs}
        try:
            code = exact_code(rule, facts, self.knowledge)
            quiet = rule.ways is not None and code != CONFLICT
            return SILENT if quiet else code
        except RuleFailed as failed:
            self.failures.append(failed.problem)
            return STRADDLES

    def _apart(self, rule: Rule, group: list[Position]) -> Iterable[tuple[Position, ...]]:
        """Positions of a group by side where one side is open, and by what candidates say there."""
        sided = any(opening.side for opening in self.openings.values()) or any(
            name in opening.sided for name in rule.inputs for opening in self.openings.values()
        )
        if not sided and self._alike is None:
            return [tuple(group)]
        found: dict[Hashable, list[Position]] = {}
        for position in group:
            told = (
                [
                    self._alike(name, position)
                    for name in rule.inputs
                    if self.opening_of(name, position)
                ]
                if self._alike
                else []
            )
            found.setdefault((position.side if sided else "", *told), []).append(position)
        return [tuple(positions) for positions in found.values()]

    def _factor(
        self, rule: Rule, whole: VerdictConditions, positions: tuple[Position, ...]
    ) -> Factor | None:
        asked = []
        for name in rule.only_given:
            if self.opening_of(name, positions[0]) is not None:
                own = self.named(rule, positions[0]).get(name, name)
                asked.append(Plain("var", value=(own, GIVEN)))
            elif not self.binding.fact(name, positions[0]).given:
                return None
        folded = self.fold(rule, positions[0]).outcome(whole)
        if rule.ways is not None:
            folded = self._contradiction(folded)
        if asked:
            every = self._nodes.make("and", tuple(asked), None, TRUE)
            told = every if len(asked) > 1 else asked[0]
            folded = replace(folded, silent=self._either(folded.silent, told))
        reads = dict.fromkeys(str(key[0]).partition(AT)[0] for key in variables_of(folded.parts))
        return Factor(rule, positions, folded, tuple(reads))

    def fold(self, rule: Rule, position: Position) -> Fold:
        """Puts what is known at a position into trees that a rule reads: what rules share, once."""
        found = self._folds[position]
        found.learn({}, self.named(rule, position))
        for name in rule.inputs:
            if self.opening_of(name, position) is None:
                found.learn(ends_of(name, self.binding.fact(name, position)))
        return found

    def _contradiction(self, told: VerdictConditions) -> VerdictConditions:
        """Of two ways to a figure only that they surely part is told: all else says nothing."""
        quiet = [one for one in (told.silent, told.fits, told.straddles) if one.op != "false"]
        if any(one.op == "true" for one in quiet):
            silent = TRUE
        elif len(quiet) > 1:
            silent = self._nodes.make("or", tuple(quiet), None, TRUE)
        else:
            silent = quiet[0] if quiet else FALSE
        return replace(told, silent=silent, fits=FALSE, straddles=FALSE)

    def _either(self, silent: Plain, told: Plain) -> Plain:
        if silent.op == "true":
            return silent
        untold = self._nodes.make("not", (told,), None, told)
        return (
            untold
            if silent.op == "false"
            else self._nodes.make("or", (silent, untold), None, silent)
        )


def ends_of(name: str, fact: Fact) -> dict[tuple[str, str], Any]:
    """All that a rule can read of a fact."""
    return {(name, end): fact.end(end) for end in ENDS}


def variables_of(roots: Iterable[Plain]) -> list[tuple[str, str]]:
    """The ends of variables beneath some trees."""
    found: list[Any] = [node.value for node in beneath(roots) if node.op == "var"]
    return list(dict.fromkeys(found))


def by_rule(factors: Iterable[Factor]) -> Mapping[str, list[Factor]]:
    """The factors of each rule."""
    found: dict[str, list[Factor]] = {}
    for factor in factors:
        found.setdefault(factor.rule.id, []).append(factor)
    return found
