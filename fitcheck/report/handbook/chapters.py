"""The chapters of the handbook, made from the knowledge and nothing else."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fitcheck.knowledge import Derived, Knowledge, Operation, Procedure, Rule
from fitcheck.knowledge.graph import covers, meetings
from fitcheck.knowledge.parts import Usual
from fitcheck.language import Node, Step, Variable, words
from fitcheck.model import Attribute, PartClass
from fitcheck.quantity import System, show
from fitcheck.report.handbook.entries import Article, Chapter, EntryLine, linked, plain
from fitcheck.report.handbook.links import Links
from fitcheck.report.parts import tolerance_words, value_words, written
from fitcheck.report.phrases import capital, counted
from fitcheck.report.rulepage import FigureNames, attribute_words, rule_page

_LINKED = ("Mind", "Source")  # told by links


class Chapters:
    """Makes the chapters, each link leading from one to another."""

    def __init__(self, knowledge: Knowledge, system: System) -> None:
        self.knowledge = knowledge
        self.system: System = system
        self.links = Links(".")
        self.name = FigureNames(knowledge, system)
        classes = knowledge.classes.values()
        self.told = {one.name for part_class in classes for one in written(part_class)}
        self.families: dict[str, list[Rule]] = {}
        for rule in knowledge.rules.values():
            self.families.setdefault(rule.family, []).append(rule)

    def all(self) -> Iterator[Chapter]:
        """The chapters in the order in which they are listed."""
        yield from map(self.part, sorted(self.knowledge.classes.values(), key=lambda c: c.title))
        for rules in self.families.values():
            yield self.family(rules)
        yield self.figures()
        yield self.operations()
        yield self.procedures()
        yield self.cautions()
        yield self.sources()
        yield self.index()

    # Parts.

    def part(self, part_class: PartClass) -> Chapter:
        """A class: what it meets, and what can be said of it."""
        optional = " An engine may do without it." if part_class.optional else ""
        listed = self.knowledge.word_lists.parts.words.get(part_class.id, ())
        meets = [
            row
            for slot in meetings(self.knowledge, part_class.id)
            for row in self._meeting(part_class.id, slot)
        ]
        called = plain("In a build file", part_class.id)
        called += plain("Also called", ", ".join(listed))
        about = Article(f"{part_class.id}-part", capital(part_class.title), "part", tuple(called))
        met = Article(f"{part_class.id}-meets", "What it meets", "", tuple(meets))
        said = [self.attribute(one) for one in written(part_class)]
        return Chapter(
            f"part-{part_class.id}",
            capital(part_class.title),
            f"{part_class.about}{optional}",
            (about, *([met] if meets else []), *said),
        )

    def _meeting(self, slot: str, other: str) -> list[EntryLine]:
        title = self.knowledge.classes[other].title
        rows = []
        for mate in meetings(self.knowledge, slot)[other]:
            rules = [rule for rule in self.knowledge.rules.values() if covers(rule, mate)]
            told = [(f"{title}: {mate.file.title}", self.links.part(other))]
            told += [(str(rule.file.subject), self.links.rule(rule)) for rule in rules]
            free = f"no rule: {mate.file.free}" if mate.file.free is not None else ""
            rows += linked("Meets", [*told, *([(free, "")] if free else [])])
        return rows

    def attribute(self, attribute: Attribute) -> Article:
        """What can be said of a part: how it is written and measured, and what reads it."""
        knowledge, links = self.knowledge, self.links
        rows = plain("What", capital(attribute.about))
        rows += plain("Written", capital(value_words(attribute, self.system)))
        if attribute.option_words != attribute.options:
            rows += plain("Options", ", ".join(attribute.option_words))
        if attribute.each != "engine":
            rows += plain("Where", f"one for each {attribute.each}")
        if attribute.claim is not None and attribute.kind is not None:
            good = tolerance_words(attribute.claim, attribute.kind, self.system)
            rows += plain("A seller's figure", f"is taken as good to {good}")
        procedure = knowledge.procedures.get(attribute.measure)
        if procedure is not None:
            rows += linked("Measured", [(str(procedure.file.title), links.procedure(procedure))])
        lists = knowledge.word_lists.attributes.get(attribute.slot)
        rows += plain(
            "Also called", ", ".join(lists.words.get(attribute.name, ())) if lists else ""
        )
        for usual in knowledge.usual.get(attribute.name, ()):
            rows += self._usual(usual)
        serves = knowledge.readers.get(attribute.name, ())
        rows += linked("Read by", [(str(rule.file.subject), links.rule(rule)) for rule in serves])
        title = knowledge.title_of(attribute)
        return Article(attribute.name, capital(title), "attribute", tuple(rows))

    def _usual(self, usual: Usual) -> list[EntryLine]:
        name = self.name
        told = (
            words(usual.node, name)
            if usual.node is not None
            else " or ".join(
                word for i, word in enumerate(usual.attribute.option_words) if usual.mask >> i & 1
            )
        )
        when = f" where {words(usual.when, name)}" if usual.when is not None else ""
        source = self.knowledge.sources[usual.source]
        return linked(
            "Usual",
            [(f"{told}{when}; {usual.why}", ""), (source.words, self.links.source(source.id))],
        )

    # Rules.

    def family(self, rules: list[Rule]) -> Chapter:
        """The rules of a family."""
        intro = f"{counted(len(rules), 'rule')}: what goes wrong, by which figures, on whose word."
        entries = tuple(map(self.rule, rules))
        return Chapter(f"rules-{rules[0].family}", capital(rules[0].family_words), intro, entries)

    def rule(self, rule: Rule) -> Article:
        """A rule, as `fitcheck rule` tells it, with links to what it rests on."""
        links, knowledge = self.links, self.knowledge
        told = rule_page(rule, knowledge, self.system)
        rows = [row for head, text in told if head not in _LINKED for row in plain(head, text)]
        names = [name for name in rule.inputs if name in self.told]
        rows += linked(
            "Reads", [(attribute_words(one, knowledge), links.attribute(one)) for one in names]
        )
        work = [one.operation for one in rule.fixes if one.operation]
        rows += self._operations("Work", work)
        rows += self._cautions(rule.file.cautions)
        cited = [limit.source for limit in rule.limits.values()]
        rows += self._sources([*cited, *([str(rule.file.source)] if rule.file.source else [])])
        rows += plain("Called", rule.id)
        return Article(rule.id, capital(str(rule.file.title)), "rule", tuple(rows))

    def _cautions(self, ids: Iterable[object]) -> list[EntryLine]:
        known = self.knowledge.cautions
        return linked(
            "Mind",
            [(str(known[one].file.title), self.links.caution(one)) for one in map(str, ids)],
        )

    def _sources(self, ids: Iterable[str]) -> list[EntryLine]:
        known = self.knowledge.sources
        told = [(known[one].words, self.links.source(one)) for one in dict.fromkeys(ids)]
        return linked("Source", told)

    def _operations(self, heading: str, ids: Iterable[str]) -> list[EntryLine]:
        known = self.knowledge.operations
        told = [(str(known[one].file.title), self.links.operation(one)) for one in ids]
        return linked(heading, told)

    def _figures(self, heading: str, names: Iterable[str]) -> list[EntryLine]:
        known = self.told | self.knowledge.derived.keys()
        told = [
            (self.name.named(one), self.links.figure(one) if one in known else "") for one in names
        ]
        return linked(heading, told)

    # What follows from figures, work, measuring.

    def figures(self) -> Chapter:
        """The figures that follow from others."""
        entries = tuple(map(self.derived, self.knowledge.derived.values()))
        return Chapter(
            "figures", "Figures that follow from others", "How each comes about.", entries
        )

    def derived(self, derived: Derived) -> Article:
        """A figure with its formula."""
        file, name = derived.file, self.name
        rows = plain("What", capital(str(file.about or "")))
        rows += plain("Is", words(derived.node.inner, name))
        if derived.node.plausible is not None:
            rows += plain("Plausible", show(derived.node.plausible, derived.kind, self.system))
        if file.contradicts is not None:
            told = file.contradicts
            rows += plain(
                "Contradiction", f"ways that part by more than {told.allowance}: {told.why}"
            )
        rows += self._figures("Follows from", dict.fromkeys(_named(derived.node.inner)))
        rows += self._sources([str(file.source)])
        return Article(derived.id, capital(str(file.title)), "figure", tuple(rows))

    def operations(self) -> Chapter:
        """All work."""
        entries = tuple(map(self.operation, self.knowledge.operations.values()))
        return Chapter("operations", "Work", "What each does, and what it leaves behind.", entries)

    def operation(self, operation: Operation) -> Article:
        """A piece of work: what becomes of each figure."""
        file, name = operation.file, self.name
        rows = plain("Does", str(file.does))
        if operation.amount is not None:
            amount = operation.amount
            step = show(amount.step.interval, amount.kind, self.system)
            most = show(amount.range, amount.kind, self.system)
            rows += plain("Amount", f"{amount.means}; {most}, in steps of {step}")
        for figure, node in operation.effects.items():
            rows += plain("Then", f"{name.named(figure)} is {words(node, name)}")
        rows += self._figures("To be measured again", map(str, file.undoes))
        rows += self._operations("After", map(str, file.after))
        rows += plain("Takes", f"{operation.hours.text} for each {operation.each}")
        rules = [
            rule
            for rule in self.knowledge.rules.values()
            if any(fix.operation == operation.id for fix in rule.fixes)
        ]
        rows += linked("Mends", [(str(one.file.title), self.links.rule(one)) for one in rules])
        rows += self._cautions(file.cautions)
        rows += self._sources([str(file.source)])
        return Article(operation.id, capital(str(file.title)), "work", tuple(rows))

    def procedures(self) -> Chapter:
        """All ways of measuring."""
        entries = tuple(map(self.procedure, self.knowledge.procedures.values()))
        return Chapter("procedures", "Measuring", "With what, how, and how finely.", entries)

    def procedure(self, procedure: Procedure) -> Article:
        """A way of measuring, and what it finds."""
        file = procedure.file
        rows = plain("Tool", str(file.tool)) + plain("Set-up", str(file.setup))
        rows += plain("Step", *map(str, file.steps))
        if procedure.resolution is not None:
            read = procedure.resolution
            rows += plain("Reads to", show(read.interval, read.kind, self.system))
        rows += plain("Takes", f"{procedure.minutes} min each")
        rows += plain("Careful", str(file.careful or ""))
        own = [a.name for a in self.knowledge.attributes.values() if a.measure == procedure.id]
        rows += self._figures("Finds", own)
        rows += self._cautions(file.cautions)
        rows += self._sources([str(file.source)])
        return Article(procedure.id, capital(str(file.title)), "procedure", tuple(rows))

    # What all rests on.

    def cautions(self) -> Chapter:
        """The cautions in full."""
        entries = tuple(
            Article(
                one.id,
                capital(str(one.file.title)),
                "caution",
                (*plain("Mind", str(one.file.text)), *self._sources([str(one.file.source)])),
            )
            for one in self.knowledge.cautions.values()
        )
        intro = "The maker's instructions rule, and so do local codes."
        return Chapter("cautions", "Cautions", intro, entries)

    def sources(self) -> Chapter:
        """The sources, each with the rules that rest on it."""
        rests: dict[str, list[Rule]] = {}
        for rule in self.knowledge.rules.values():
            cited = {limit.source for limit in rule.limits.values()}
            for name in cited | ({str(rule.file.source)} if rule.file.source else set()):
                rests.setdefault(name, []).append(rule)
        entries = tuple(
            Article(
                one.id,
                capital(one.words),
                "source",
                (
                    *plain("Kind", str(one.file.kind)),
                    *plain("Note", str(one.file.note or "")),
                    *linked(
                        "Rules that rest on it",
                        [(str(r.file.subject), self.links.rule(r)) for r in rests.get(one.id, ())],
                    ),
                ),
            )
            for one in self.knowledge.sources.values()
        )
        return Chapter("sources", "Sources", "Whose word each figure is.", entries)

    def index(self) -> Chapter:
        """The trade's words, and what they mean here."""
        meant: dict[str, dict[str, str]] = {}
        for word, name in self._words():
            to = self.links.attribute(name) if "." in name else self.links.part(name)
            meant.setdefault(word, {})[attribute_words(name, self.knowledge)] = to
        letters: dict[str, list[EntryLine]] = {}
        for word in sorted(meant, key=str.lower):
            first = word[:1].upper() if word[:1].isalpha() else "0 to 9"
            letters.setdefault(first, []).extend(linked(word, meant[word].items()))
        entries = tuple(
            Article(f"letter-{letter.partition(' ')[0]}", letter, "", tuple(rows))
            for letter, rows in letters.items()
        )
        intro = "What the trade calls things, and where they stand. Some words mean several things."
        return Chapter("words", "Index of words", intro, entries)

    def _words(self) -> Iterator[tuple[str, str]]:
        knowledge = self.knowledge
        for part_class in knowledge.classes.values():
            yield part_class.title, part_class.id
            for one in written(part_class):
                yield one.title, one.name
        lists = knowledge.word_lists
        for own in (lists.parts, *lists.attributes.values()):
            for name, listed in own.words.items():
                yield from ((word, name) for word in listed)
            for word, names in own.ask.items():
                yield from ((word, name) for name in names)


def _named(node: Node) -> Iterator[str]:
    """The nearest figures beneath a node, given or derived."""
    for part in node.parts:
        if isinstance(part, Step | Variable):
            if part.name != "side":
                yield part.name
        else:
            yield from _named(part)
