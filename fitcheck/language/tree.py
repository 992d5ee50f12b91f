"""The typed tree of an expression, as parsed and checked.

Every node knows its type and where in the text it stands. A `Step` is a named derived quantity
with its own expression inside, so one tree holds the whole derivation of an answer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field
from fractions import Fraction

from fitcheck.calculations import Calculation
from fitcheck.quantity import Dimension, Interval, Kind
from fitcheck.source import frozen


@frozen
class Options:
    """The options of a choice, in order; option i is bit i of a mask."""

    name: str
    ids: tuple[str, ...]

    def bit(self, option: str) -> int:
        """The mask of one option."""
        return 1 << self.ids.index(option)

    @property
    def all(self) -> int:
        """The mask of every option: nothing is known."""
        return (1 << len(self.ids)) - 1

    def chosen(self, mask: int) -> list[str]:
        """The options a mask leaves open."""
        return [option for i, option in enumerate(self.ids) if mask >> i & 1]


@frozen
class Truth:
    """Type of a condition."""


@frozen
class One:
    """Type of a choice: one of the options."""

    options: Options


@frozen
class Some:
    """Type of a set of options."""

    options: Options


Type = Dimension | One | Some | Truth
TRUTH = Truth()
# Which of two ways to a figure holds: one alone, what they share, or, where they do not meet, both.
FIRST, SECOND, SHARED, BOTH = range(4)
YES_NO = Options("yes or no", ("no", "yes"))
FLAG = One(YES_NO)


@frozen(eq=False)
class Node:
    """A node of a typed tree; `at` is (offset, width) in the text it was parsed from."""

    type: Type
    at: tuple[int, int] = field(repr=False)

    @property
    def parts(self) -> tuple[Node, ...]:
        """The nodes directly inside."""
        return ()


@frozen(eq=False)
class Number(Node):
    """A bare number."""

    value: Fraction


@frozen(eq=False)
class Variable(Node):
    """An attribute of a part, or the valve's side.

    `kind` and `plausible` are None for a choice.
    """

    name: str
    kind: Kind | None = None
    plausible: Interval | None = None


@frozen(eq=False)
class Known(Node):
    """A named limit or constant: an interval known beforehand."""

    name: str
    interval: Interval
    kind: Kind | None = None


@frozen(eq=False)
class Step(Node):
    """A derived quantity by name, clipped to the range in which it is plausible."""

    name: str
    inner: Node
    kind: Kind | None = None
    plausible: Interval | None = None

    @property
    def parts(self) -> tuple[Node, ...]:
        """The expression behind the name."""
        return (self.inner,)


@frozen(eq=False)
class Apply(Node):
    """An operator or built-in function on its arguments.

    `op` is one of: + - * / neg abs sqrt min max agree pick and or not, and of what is asked of
    evidence alone: stated alike. `agree` takes the way to a figure that is better known.
    """

    op: str
    args: tuple[Node, ...]

    @property
    def parts(self) -> tuple[Node, ...]:
        """The arguments."""
        return self.args


@frozen(eq=False)
class Power(Node):
    """A whole power."""

    base: Node
    exponent: int

    @property
    def parts(self) -> tuple[Node, ...]:
        """The base."""
        return (self.base,)


@frozen(eq=False)
class Call(Node):
    """A registered calculation on its arguments."""

    calculation: Calculation
    args: tuple[Node, ...]

    @property
    def parts(self) -> tuple[Node, ...]:
        """The arguments."""
        return self.args


@frozen(eq=False)
class Compare(Node):
    """`left op right` on two quantities; op is one of: >= > <= < == !=."""

    op: str
    left: Node
    right: Node

    @property
    def parts(self) -> tuple[Node, ...]:
        """Both sides."""
        return (self.left, self.right)


@frozen(eq=False)
class Is(Node):
    """Whether a choice is one of `mask`'s options."""

    choice: Node
    mask: int

    @property
    def parts(self) -> tuple[Node, ...]:
        """The choice."""
        return (self.choice,)


@frozen(eq=False)
class Same(Node):
    """Whether two choices from the same options are equal."""

    left: Node
    right: Node

    @property
    def parts(self) -> tuple[Node, ...]:
        """Both choices."""
        return (self.left, self.right)


@frozen(eq=False)
class Among(Node):
    """Whether a choice is in a set of options."""

    choice: Node
    among: Node

    @property
    def parts(self) -> tuple[Node, ...]:
        """The choice and the set."""
        return (self.choice, self.among)


def walk(node: Node) -> Iterator[Node]:
    """Every node of the tree once, the root first; derivations included."""
    seen: set[int] = set()
    stack = [node]
    while stack:
        current = stack.pop()
        if id(current) in seen:
            continue
        seen.add(id(current))
        yield current
        stack.extend(reversed(current.parts))


def variables(node: Node) -> dict[str, Variable]:
    """The variables that a tree reads, by name, in order of appearance."""
    return {found.name: found for found in walk(node) if isinstance(found, Variable)}
