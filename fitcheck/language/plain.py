"""Plain trees: arithmetic on numbers and masks, with nothing left to decide but the values.

A bound of an expression is a plain tree over the ends of its variables. Equal trees are one
object within a `Forest`, so a printer writes a shared part once. Each node knows the largest
magnitude it can take and how far a float evaluation of it can be off; a comparison carries that
as its `slack`: a float margin beyond the slack is certain, one within it is decided exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator
from fractions import Fraction

from fitcheck.calculations import Calculation
from fitcheck.language.compiled import ROOT_DIGITS
from fitcheck.language.operations import COMPUTED
from fitcheck.source import frozen

# One rounding of a float, with room to spare for the bounds of magnitudes being floats too.
ROUNDING = 2.0**-52
# An error so large that the float says nothing; finite, so that it can be reckoned with.
HOPELESS = 1e40


@frozen(eq=False)
class Plain:
    """One node: its operation, its arguments, and what the operation needs besides.

    op        value             args
    const     Fraction          -
    var       (name, end)       -            end: lower, upper (a quantity or set), mask (choice)
    + - * /   -                 2            neg: 1     min max: 2 or more
    pow       exponent          1            root: 1, value -1 (down) or 1 (up)
    call      (calculation, end)  the ends it wants
    ge gt     slack sign        1            margin >= 0, > 0; surely (1) or possibly (-1)
    and or    -                 2 or more    not: 1     true false: -
    pick      -                 condition, then, else
    only      options           mask         nothing but these options is open
    allows    options           mask         one of these options is open
    meets     -                 2 masks      something in common
    within    -                 2 masks      first has nothing outside the second
    single    -                 1 mask       just one option is open
    """

    op: str
    args: tuple[Plain, ...] = ()
    value: object = None
    size: float = 0.0
    error: float = 0.0


TRUE, FALSE = Plain("true"), Plain("false")
_FOLDED: dict[str, Callable[..., Fraction]] = {
    **{op: COMPUTED[op] for op in ("+", "-", "*", "/", "neg")},
    "min": lambda node, args: min(args),
    "max": lambda node, args: max(args),
}


class Forest:
    """Makes plain trees, folding constants and sharing equal parts."""

    def __init__(self) -> None:
        self._nodes: dict[tuple[object, ...], Plain] = {}

    def make(
        self, op: str, *args: Plain, value: object = None, size: float = 0.0, error: float = 0.0
    ) -> Plain:
        """The node with these parts; `size` and `error` as found by the caller."""
        if op in ("min", "max"):
            args = tuple(dict.fromkeys(args))
            if len(args) == 1:
                return args[0]
        if op in _FOLDED and all(arg.op == "const" for arg in args):
            return self.const(_FOLDED[op](None, [arg.value for arg in args]))
        key = (op, value, *map(id, args))
        found = self._nodes.get(key)
        if found is None:
            found = self._nodes[key] = Plain(op, args, value, size, min(error, HOPELESS))
        return found

    def const(self, value: Fraction) -> Plain:
        """A constant."""
        size = abs(float(value))
        return self.make_leaf("const", value, size)

    def make_leaf(self, op: str, value: object, size: float = 0.0) -> Plain:
        """A constant or an end of a variable; its error is that of becoming a float."""
        return self.make(op, value=value, size=size, error=size * ROUNDING)

    # Arithmetic: each bounds its own float error by those of its arguments.

    def add(self, a: Plain, b: Plain) -> Plain:
        """a + b."""
        return self._sum("+", a, b)

    def subtract(self, a: Plain, b: Plain) -> Plain:
        """a - b."""
        return self._sum("-", a, b)

    def _sum(self, op: str, a: Plain, b: Plain) -> Plain:
        size = a.size + b.size
        return self.make(op, a, b, size=size, error=a.error + b.error + size * ROUNDING)

    def multiply(self, a: Plain, b: Plain) -> Plain:
        """a * b."""
        size = a.size * b.size
        error = a.size * b.error + b.size * a.error + a.error * b.error + size * ROUNDING
        return self.make("*", a, b, size=size, error=error)

    def divide(self, a: Plain, b: Plain, least: float) -> Plain:
        """a / b, where b's magnitude is at least `least`, above zero."""
        size = a.size / least
        error = (a.error + size * b.error) / max(least - b.error, least / 2) + size * ROUNDING
        return self.make("/", a, b, size=size, error=error if 2 * b.error < least else HOPELESS)

    def negate(self, a: Plain) -> Plain:
        """-a."""
        return a.args[0] if a.op == "neg" else self.make("neg", a, size=a.size, error=a.error)

    def power(self, a: Plain, exponent: int) -> Plain:
        """A to a whole power."""
        if exponent == 1:
            return a
        size = a.size**exponent
        reach = (a.size + a.error) ** exponent - size
        return self.make(
            "pow", a, value=exponent, size=size, error=reach + exponent * size * ROUNDING
        )

    def root(self, a: Plain, end: int) -> Plain:
        """The square root, rounded down or up."""
        size = a.size**0.5 + 1 / ROOT_DIGITS
        error = a.error**0.5 + size * ROUNDING + 1 / ROOT_DIGITS
        return self.make("root", a, value=end, size=size, error=error)

    def least(self, *args: Plain) -> Plain:
        """The smallest."""
        return self._extreme("min", args)

    def greatest(self, *args: Plain) -> Plain:
        """The largest."""
        return self._extreme("max", args)

    def _extreme(self, op: str, args: tuple[Plain, ...]) -> Plain:
        return self.make(
            op, *args, size=max(arg.size for arg in args), error=max(arg.error for arg in args)
        )

    def call(
        self, calculation: Calculation, end: int, args: tuple[Plain, ...], size: float
    ) -> Plain:
        """A bound of a calculation; its accuracy covers that its arguments are floats."""
        return self.make(
            "call",
            *args,
            value=(calculation, end),
            size=size,
            error=2 * size * calculation.accuracy,
        )

    def pick(self, condition: Plain, yes: Plain, no: Plain) -> Plain:
        """`yes` where the condition holds, else `no`."""
        if condition.op in ("true", "false"):
            return yes if condition.op == "true" else no
        if yes is no:
            return yes
        return self.make(
            "pick", condition, yes, no, size=max(yes.size, no.size), error=max(yes.error, no.error)
        )

    # Conditions.

    def sign(self, op: str, margin: Plain, sureness: int) -> Plain:
        """Whether the margin is at least (`ge`) or above (`gt`) zero: surely (1), possibly (-1)."""
        if margin.op == "const":
            assert isinstance(margin.value, Fraction)
            holds = margin.value >= 0 if op == "ge" else margin.value > 0
            return TRUE if holds else FALSE
        return self.make(op, margin, value=sureness)

    def both(self, *args: Plain) -> Plain:
        """All hold."""
        kept = tuple(arg for arg in dict.fromkeys(args) if arg.op != "true")
        if any(arg.op == "false" for arg in kept):
            return FALSE
        return TRUE if not kept else kept[0] if len(kept) == 1 else self.make("and", *kept)

    def either(self, *args: Plain) -> Plain:
        """At least one holds."""
        kept = tuple(arg for arg in dict.fromkeys(args) if arg.op != "false")
        if any(arg.op == "true" for arg in kept):
            return TRUE
        return FALSE if not kept else kept[0] if len(kept) == 1 else self.make("or", *kept)

    def opposite(self, a: Plain) -> Plain:
        """Does not hold."""
        if a.op in ("true", "false"):
            return FALSE if a.op == "true" else TRUE
        return a.args[0] if a.op == "not" else self.make("not", a)


def in_order(roots: Iterable[Plain], done: Container[Plain] = ()) -> Iterator[Plain]:
    """Every node of some trees, each once and after its arguments; not those that are done."""
    seen: set[Plain] = set()
    stack = [(root, False) for root in roots]
    while stack:
        node, opened = stack.pop()
        if opened:
            yield node
        elif node not in seen and node not in done:
            seen.add(node)
            stack.append((node, True))
            stack += [(arg, False) for arg in node.args]


def beneath(roots: Iterable[Plain]) -> Iterator[Plain]:
    """Every node of some trees, each once."""
    seen: set[Plain] = set()
    stack = list(roots)
    while stack:
        node = stack.pop()
        if node not in seen:
            seen.add(node)
            stack.extend(node.args)
            yield node
