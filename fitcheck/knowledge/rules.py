"""From rule files to rules: limits, expressions, messages, fixes."""

from __future__ import annotations

from collections.abc import Callable

from fitcheck.knowledge.files import FixFile, LimitFile, RuleFile
from fitcheck.knowledge.kinds import margin_kind, shortfall
from fitcheck.knowledge.names import Extra, Names, refused
from fitcheck.knowledge.parts import (
    ANSWERED_BY,
    SEVERITIES,
    Citation,
    Fix,
    Limit,
    Operation,
    Rule,
    Template,
    level_of,
)
from fitcheck.knowledge.reading import Reader
from fitcheck.language import TRUTH, Known, Node, One, Step, variables, walk
from fitcheck.language.tree import Apply, Is
from fitcheck.model import Attribute, PartClass
from fitcheck.quantity import Kind, Quantity
from fitcheck.source import Problem, Text


class RuleBuilder:
    """Builds rules over names, operations and sources that are loaded already."""

    def __init__(
        self,
        names: Names,
        reader: Reader,
        sources: dict[str, Citation],
        operations: dict[str, Operation],
        classes: dict[str, PartClass],
    ) -> None:
        self.names = names
        self.reader = reader
        self.sources = sources
        self.operations = operations
        self.classes = classes

    def build(self, key: Text, family: str, file: RuleFile) -> Rule | None:
        """The rule of a file; None after a problem that leaves it without meaning."""
        reader = self.reader
        severity = reader.one_of(file.severity, SEVERITIES, "severity")
        reader.yes(file.never_usual)
        if file.answered_by is not None:
            reader.one_of(file.answered_by, ANSWERED_BY, "way to answer a rule")
        built = {str(name): self._limit(name, limit) for name, limit in file.limits.items()}
        limits = {name: limit for name, limit in built.items() if limit is not None}
        known: Extra = {
            name: _stands_for(limit.node) if limit else refused for name, limit in built.items()
        }
        applies = None
        if file.applies is not None:
            applies = self.names.expression(file.applies, known, numbers=False, want=TRUTH)
        requires = self.names.expression(file.requires, known, numbers=False, want=TRUTH)
        if not file.limits and file.source is None:
            reader.problem(key, f"'{key}' names no source", "add source: to the rule or its limits")
        if file.source is not None:
            reader.one_of(file.source, self.sources, "source in sources.yaml")
        message = self.names.template(file.message, known)
        fixes = tuple(self._fix(fix, known, requires, key) for fix in file.fixes)
        if (
            requires is None
            or severity is None
            or len(limits) < len(built)
            or (file.applies is not None and applies is None)
        ):
            return None
        applies = self._unless_given(file, applies)
        nodes = [requires, *([applies] if applies else [])]
        self._check_limits_used(limits, nodes)
        inputs = {name: variable for node in nodes for name, variable in variables(node).items()}
        each = level_of(nodes, self.names.attributes)
        for name in file.only_given:
            reader.one_of(name, inputs, "attribute that this rule reads")
        return Rule(
            str(key),
            family,
            file,
            severity,
            applies,
            requires,
            limits,
            message,
            fixes,
            inputs,
            each,
            key.place,
            _branching(nodes),
            _told(message, fixes) - set(inputs),
            tuple(map(str, file.only_given)),
            tuple(map(str, file.unless_given)),
        )

    def _unless_given(self, file: RuleFile, applies: Node | None) -> Node | None:
        """When a rule applies: where nobody gave a maker's own figure, which another holds to."""
        conditions = [applies] if applies is not None else []
        for name in file.unless_given:
            if self.reader.one_of(name, self.names.attributes, "attribute") is not None:
                at = (0, len(name))
                own = self.names.find(str(name), at)
                assert own is not None
                stated = Apply(TRUTH, at, "stated", (own,))
                conditions.append(Apply(TRUTH, at, "not", (stated,)))
        if len(conditions) < 2:
            return conditions[0] if conditions else None
        return Apply(TRUTH, conditions[0].at, "and", tuple(conditions))

    def _check_limits_used(self, limits: dict[str, Limit], nodes: list[Node]) -> None:
        read = {id(found) for node in nodes for found in walk(node)}
        for limit in limits.values():
            if id(limit.node) not in read:
                self.reader.problems.append(
                    Problem(
                        f"the limit '{limit.name}' is not used",
                        limit.place,
                        "use it in requires or applies, or leave it out",
                    )
                )

    def shared(
        self, limits: dict[Text, LimitFile], named: dict[str, LimitFile]
    ) -> dict[Text, LimitFile]:
        """The limits that are other rules', with what those say of them."""
        found: dict[Text, LimitFile] = {}
        for name, file in limits.items():
            if file.same_as is None:
                continue
            whose = [one for one, other in named.items() if other.same_as is None]
            if self.reader.one_of(file.same_as, whose, "limit of a rule") is None:
                continue
            other = named[file.same_as]
            found[name] = LimitFile(
                same_as=file.same_as,
                value=other.value,
                by=other.by,
                values=other.values,
                quantity=other.quantity,
                source=other.source,
                why=file.why or other.why,
            )
        return found

    def _limit(self, name: Text, file: LimitFile) -> Limit | None:
        reader = self.reader
        if file.source is None and file.same_as is not None:  # of no rule: told already
            return None
        if file.source is None:
            reader.problem(
                name, f"the limit '{name}' names no source", "add source:, or same_as: rule.limit"
            )
            return None
        source = reader.one_of(file.source, self.sources, "source in sources.yaml")
        given = [text is not None for text in (file.value, file.by, file.values)]
        if given not in ([True, False, False], [False, True, True]):
            reader.problem(
                name,
                f"the limit '{name}' needs a value, or 'by' with 'values'",
                "give either of the two",
            )
            return None
        if file.value is not None:
            quantity = reader.any_quantity(file.value, file.quantity)
            entries = {"": quantity}
            by = None
        else:
            assert file.by is not None and file.values is not None
            by = self._choice(file.by)
            entries = self._entries(name, by, file) if by else {"": None}
        if source is None or any(quantity is None for quantity in entries.values()):
            return None
        found = {option: quantity for option, quantity in entries.items() if quantity}
        kinds = {quantity.kind.name: quantity.kind for quantity in found.values()}
        if len(kinds) != 1:
            reader.problem(
                name,
                f"the limit '{name}' mixes {' and '.join(kinds)}",
                "give every option a value of one kind",
            )
            return None
        kind = next(iter(kinds.values()))
        node = self._limit_node(str(name), found, by, kind)
        return Limit(str(name), found, by, source, str(file.why or ""), kind, node, name.place)

    def _choice(self, by: Text) -> Attribute | None:
        attribute = self.names.attributes.get(by)
        if attribute is None or not attribute.options or attribute.several:
            choices = [a.name for a in self.names.attributes.values() if a.options]
            self.reader.one_of(by, [name for name in choices if name != by], "choice")
            return None
        return attribute

    def _entries(self, name: Text, by: Attribute, file: LimitFile) -> dict[str, Quantity | None]:
        assert file.values is not None
        entries: dict[str, Quantity | None] = {}
        for option, value in file.values.items():
            if self.reader.one_of(option, by.options, f"option of {by.name}") is not None:
                entries[str(option)] = self.reader.any_quantity(value, file.quantity)
        missing = [option for option in by.options if option not in file.values]
        if missing:
            self.reader.problem(
                name,
                f"the limit '{name}' has no value for {', '.join(missing)}",
                "list every option",
            )
        return entries

    def _limit_node(
        self, name: str, entries: dict[str, Quantity], by: Attribute | None, kind: Kind
    ) -> Node:
        at = (0, len(name))
        known = {
            option: Known(kind.dimension, at, name, quantity.interval, kind)
            for option, quantity in entries.items()
        }
        if by is None:
            return known[""]
        choice = self.names.find(by.name, at)
        assert choice is not None and isinstance(choice.type, One)
        options = choice.type.options
        *first, last = entries
        node: Node = known[last]
        for option in reversed(first):
            condition = Is(TRUTH, at, choice, options.bit(option))
            node = Apply(kind.dimension, at, "pick", (condition, known[option], node))
        return Step(kind.dimension, at, name, node, kind)

    def _fix(self, file: FixFile, known: Extra, requires: Node | None, key: Text) -> Fix:
        reader = self.reader
        if (file.do is None) == (file.replace is None):
            reader.problem(
                file.replace or file.note or key,
                "a fix either does an operation or replaces a part",
                "give one of 'do' and 'replace'",
            )
        if file.do is not None:
            reader.one_of(file.do, self.operations, "operation")
        if file.replace is not None:
            reader.one_of(file.replace, self.classes, "part class")
        kind = margin_kind(requires) if requires is not None else None
        extra: dict[str, Callable[[tuple[int, int]], Node]] = dict(known)
        if kind is not None:
            extra["shortfall"] = _stands_for(shortfall(kind))
        elif requires is None:
            extra["shortfall"] = refused
        amount = None
        if file.amount is not None:
            operation = self.operations.get(file.do or "")
            want = operation.amount.kind.dimension if operation and operation.amount else None
            amount = self.names.expression(file.amount, extra, want=want)
            if operation is not None and operation.amount is None:
                reader.problem(file.amount, f"'{operation.id}' takes no amount", "leave it out")
        look_for = self.names.template(file.look_for, extra) if file.look_for else None
        when = self.names.expression(file.when, known, want=TRUTH) if file.when else None
        return Fix(
            str(file.do or ""),
            str(file.replace or ""),
            amount,
            look_for,
            str(file.note or ""),
            when,
        )


def _told(message: Template, fixes: tuple[Fix, ...]) -> frozenset[str]:
    nodes = [*message.nodes.values()]
    for fix in fixes:
        nodes += [fix.amount] if fix.amount else []
        nodes += fix.look_for.nodes.values() if fix.look_for else []
        nodes += [fix.when] if fix.when else []
    return frozenset(name for node in nodes for name in variables(node)) - {"shortfall"}


def _branching(nodes: list[Node]) -> bool:
    return any(
        isinstance(found, Apply) and found.op in ("agree", "pick", "and", "or")
        for node in nodes
        for found in walk(node)
    )


def _stands_for(node: Node) -> Callable[[tuple[int, int]], Node]:
    return lambda at: node
