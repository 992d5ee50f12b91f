"""What the names in an expression stand for: attributes, the valve's side, derived quantities."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress

from fitcheck.knowledge.files import DerivedFile
from fitcheck.knowledge.parts import Derived, Template
from fitcheck.knowledge.reading import Reader
from fitcheck.language import (
    FLAG,
    TRUTH,
    YES_NO,
    ExpressionError,
    Is,
    Known,
    Node,
    One,
    Options,
    Ranges,
    Some,
    Step,
    Variable,
    describe,
    parse,
    walk,
)
from fitcheck.language.tree import Apply, Type
from fitcheck.model import SIDES, Attribute
from fitcheck.quantity import Kind, Quantity
from fitcheck.source import Problem, Text, nearest

_FILLED_IN = re.compile(r"\{([^{}]*)\}")
SIDE = Attribute(
    "side",
    "side",
    "valve",
    options=SIDES,
    option_words=SIDES,
    options_name="side",
    identity=True,
)
Extra = Mapping[str, Callable[[tuple[int, int]], Node]]


class Names:
    """Parses expressions over the attributes and derived quantities."""

    def __init__(self, reader: Reader, attributes: dict[str, Attribute]) -> None:
        self.reader = reader
        self.attributes = {**attributes, "side": SIDE}
        self.derived: dict[str, Derived] = {}
        self.ranges = Ranges()
        self._files: dict[Text, DerivedFile] = {}
        self._open: list[str] = []
        self._options: dict[str, Options] = {}

    def add_derived(self, files: dict[Text, DerivedFile]) -> None:
        """Load the derived quantities, in whatever order they stand."""
        self._files = files
        for name in list(files):
            with suppress(Reported):
                self._find_derived(name)

    def expression(
        self,
        text: Text,
        extra: Extra | None = None,
        *,
        numbers: bool = True,
        want: Type | None = None,
    ) -> Node | None:
        """A parsed and ranged expression of the type wanted; None after a problem."""
        extra = extra or {}

        def lookup(name: str, at: tuple[int, int]) -> Node | None:
            return extra[name](at) if name in extra else self.find(name, at)

        names = [*extra, *self._files, *self.attributes]
        try:
            node = parse(text, lookup, names, numbers=numbers)
            if want == TRUTH and node.type == FLAG:
                node = Is(TRUTH, node.at, node, YES_NO.bit("yes"))
            if want is not None and node.type != want:
                raise ExpressionError(
                    f"this is {describe(node.type)}, and {describe(want)} is wanted",
                    "",
                    (0, len(text)),
                )
            self._range(node)
        except ExpressionError as error:
            place = text.piece(error.offset, error.width)
            self.reader.problems.append(Problem(error.what, place, error.mend))
            return None
        except Reported:
            return None
        return node

    def ranges_named(self, texts: Mapping[Text, Text]) -> dict[Text, Known | None]:
        """The ranges that an entry names under `with`; None for one that was refused."""
        found = {name: self.reader.any_quantity(text, None) for name, text in texts.items()}
        return {name: None if one is None else _known(name, one) for name, one in found.items()}

    def check_used(self, ranges: Mapping[Text, Known | None], nodes: Iterable[Node]) -> None:
        """Add a problem for each range that an expression does not name."""
        read = {id(found) for node in nodes for found in walk(node)}
        for name, known in ranges.items():
            if known is not None and id(known) not in read:
                self.reader.problem(name, f"the range '{name}' is not used", "leave it out")

    def _range(self, node: Node) -> None:
        """Find every range beneath, so that what can leave its range is told at loading."""
        if isinstance(node.type, tuple):
            self.ranges.of(node)
            return
        for part in node.parts:
            self._range(part)

    def template(self, text: Text, extra: Extra | None = None) -> Template:
        """A text with `{names}`; each name must be one that expressions know."""
        pieces: list[tuple[str, str | None]] = []
        nodes: dict[str, Node] = {}
        end = 0
        for match in _FILLED_IN.finditer(text):
            words, name = text[end : match.start()], match[1]
            self._check_words(text, words)
            if not name.strip():
                self.reader.problem(text, "a {} with no name in it", "write {name}")
            elif name not in nodes:
                place = text.piece(match.start(1), len(name))
                node = self._shown(Text(name, place), extra)
                if node is not None:
                    nodes[name] = node
            pieces.append((words, name))
            end = match.end()
        self._check_words(text, text[end:])
        return Template((*pieces, (text[end:], None)), nodes)

    def _shown(self, name: Text, extra: Extra | None) -> Node | None:
        """What a text shows: a quantity or an option."""
        node = self.expression(name, extra)
        if node is not None and not isinstance(node.type, tuple) and not isinstance(node, Variable):
            self.reader.problem(
                name, f"{describe(node.type)} can't be shown", "name a figure or a choice"
            )
            return None
        return node

    def _check_words(self, text: Text, words: str) -> None:
        for brace, other in ("{}", "}{"):
            if brace in words:
                self.reader.problem(text, f"a {brace} without its {other}", "write {name}")

    def find(self, name: str, at: tuple[int, int]) -> Node | None:
        """The node of an attribute or derived quantity; None when there is none of that name."""
        if name in self._files:
            return self._find_derived(name)
        attribute = self.attributes.get(name)
        if attribute is None:
            if self.reader.told(name):
                raise Reported
            self._explain_unknown(name, at)
            return None
        if attribute.kind is not None:
            return Variable(attribute.kind.dimension, at, name, attribute.kind, attribute.possible)
        if attribute.text:
            raise ExpressionError(f"'{name}' is free text", "a rule can't read it", at)
        options = self._options_of(attribute)
        return Variable(Some(options) if attribute.several else One(options), at, name)

    def _options_of(self, attribute: Attribute) -> Options:
        if attribute.flag:
            return YES_NO
        name = attribute.options_name
        return self._options.setdefault(name, Options(name, attribute.options))

    def _explain_unknown(self, name: str, at: tuple[int, int]) -> None:
        slot, dot, attribute = name.partition(".")
        own = [known.partition(".")[2] for known in self.attributes if known.startswith(f"{slot}.")]
        if dot and own:
            raise ExpressionError(
                f"the class '{slot}' has no attribute '{attribute}'", nearest(attribute, own), at
            )
        if dot:
            slots = {known.partition(".")[0] for known in self.attributes}
            raise ExpressionError(f"there is no part class '{slot}'", nearest(slot, slots), at)

    def _find_derived(self, name: str) -> Node:
        if name in self.derived:
            return self.derived[name].node
        if self.reader.told(name):
            raise Reported
        key = next(key for key in self._files if key == name)
        if name in self._open:
            circle = " -> ".join([*self._open[self._open.index(name) :], name])
            self.reader.problem(
                key, f"'{name}' is derived from itself: {circle}", "break the circle"
            )
            self.reader.broken.update(self._open[self._open.index(name) :])
            raise Reported
        self._open.append(name)
        try:
            built = self._derived(key, self._files[key])
        finally:
            self._open.pop()
        if built is None:
            self.reader.broken.add(name)
            raise Reported
        self.derived[name] = built
        return built.node

    def _derived(self, key: Text, file: DerivedFile) -> Derived | None:
        kind = self.reader.kind(file.quantity)
        if kind is None:
            return None
        inner = self._inner(key, file, kind)
        plausible = self.reader.quantity(file.plausible, kind) if file.plausible else None
        if inner is None:
            return None
        interval = plausible.interval if plausible else None
        node = Step(kind.dimension, (0, len(key)), str(key), inner, kind, interval)
        return Derived(str(key), file, kind, node)

    def _inner(self, key: Text, file: DerivedFile, kind: Kind) -> Node | None:
        """What is behind the name: an expression, or the ways to the figure one after the other."""
        if (file.is_ is None) == (not file.ways) or (file.ways and file.contradicts is None):
            self.reader.problem(
                key,
                f"'{key}' says neither or both of what it is and by which ways it is known",
                "give 'is', or 'ways' with what contradicts",
            )
            return None
        if file.is_ is not None:
            ranges = self.ranges_named(file.with_)
            node = self.expression(file.is_, stand_for(ranges), want=kind.dimension)
            self.check_used(ranges, [node] if node else [])
            return node
        ways = [self.expression(way, want=kind.dimension) for way in file.ways]
        for text, way in zip(file.ways, ways, strict=True):
            if way is not None and not isinstance(way, Variable | Step):
                self.reader.problem(text, "a way is a name", "derive it under a name of its own")
        *first, last = ways
        inner = last
        for way in reversed(first):
            if way is None or inner is None:
                return None
            inner = Apply(kind.dimension, way.at, "agree", (way, inner))
        return inner


class Reported(Exception):
    """The problem behind this failure stands in the list already."""


def stand_for(ranges: Mapping[Text, Known | None]) -> Extra:
    """What names stand for that are ranges."""
    return {str(name): _stands_for(one) if one else refused for name, one in ranges.items()}


def _known(name: Text, quantity: Quantity) -> Known:
    kind = quantity.kind
    return Known(kind.dimension, (0, len(name)), str(name), quantity.interval, kind)


def _stands_for(node: Node) -> Callable[[tuple[int, int]], Node]:
    return lambda at: node


def refused(at: tuple[int, int]) -> Node:
    """Stands for a name whose own entry was refused."""
    raise Reported
