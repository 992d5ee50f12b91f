"""Text to typed tree: a small subset of Python's expression syntax, checked as it is read.

Python's own parser reads the text; everything it accepts beyond the subset is refused with the
place of the piece that is refused. Bounded: length, depth, size, exponents.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterable
from fractions import Fraction

from fitcheck.calculations import CALCULATIONS
from fitcheck.language.tree import (
    FLAG,
    TRUTH,
    YES_NO,
    Among,
    Apply,
    Call,
    Compare,
    Is,
    Known,
    Node,
    Number,
    One,
    Power,
    Same,
    Some,
    Truth,
    Type,
)
from fitcheck.quantity import KINDS, NUMBER, Dimension, Interval
from fitcheck.source import nearest

MOST_CHARACTERS = 1000
MOST_DEPTH = 30
MOST_NODES = 300
MOST_EXPONENT = 6

# Twenty digits either way; wider than any use of it needs.
_PI = Fraction("3.14159265358979323846")
_CONSTANTS = {"pi": Interval(_PI, _PI + Fraction(1, 10**20))}
_FUNCTIONS = {"abs": (1, 1), "sqrt": (1, 1), "min": (2, 8), "max": (2, 8), "agree": (2, 2)}
# Conditions on who told a figure, not on what it is.
_ON_EVIDENCE = {"stated": 1, "measured": 1, "alike": 2}
_OPERATORS: dict[type[ast.operator], str] = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
}
_COMPARISONS: dict[type[ast.cmpop], str] = {
    ast.GtE: ">=",
    ast.Gt: ">",
    ast.LtE: "<=",
    ast.Lt: "<",
    ast.Eq: "==",
    ast.NotEq: "!=",
}

Lookup = Callable[[str, tuple[int, int]], Node | None]


class ExpressionError(ValueError):
    """An expression that can't be right; `offset` and `width` mark the piece."""

    def __init__(self, what: str, mend: str, at: tuple[int, int]) -> None:
        super().__init__(what)
        self.what = what
        self.mend = mend
        self.offset, self.width = at


def parse(text: str, lookup: Lookup, names: Iterable[str] = (), *, numbers: bool = True) -> Node:
    """Parse `text`; `lookup` turns a name into a node, `names` are offered for a misspelt one.

    With `numbers` False a bare number is refused (rules name their limits). Raises
    ExpressionError.

    >>> parse("2 + 3 < 6", lambda name, at: None).op
    '<'
    >>> parse("1 + cat", lambda name, at: None, ["cam", "rod"])
    Traceback (most recent call last):
        ...
    fitcheck.language.parsing.ExpressionError: 'cat' is not known
    """
    if len(text) > MOST_CHARACTERS:
        raise ExpressionError(
            f"longer than {MOST_CHARACTERS} characters",
            "move parts of it into derived quantities",
            (0, 1),
        )
    if "#" in text:
        raise ExpressionError(
            "a remark can't stand in an expression",
            "write it in the line above",
            (text.index("#"), 1),
        )
    flat = re.sub(r"\s", " ", text)  # lines don't matter, and offsets stay as they are
    shift = len(flat) - len(flat.lstrip())
    try:
        tree = ast.parse(flat.strip() or "?", mode="eval")
    except SyntaxError as error:
        # No offset: the text ends too early.
        at = shift + (error.offset or len(flat.strip())) - 1
        raise ExpressionError(
            f"not an expression: {error.msg}",
            "write it as in: (a.length - b.length) >= least",
            (max(0, at), 1),
        ) from None
    except (ValueError, MemoryError, RecursionError):
        raise ExpressionError("not an expression that can be read", "simplify it", (0, 1)) from None
    return _Parser(lookup, list(names), numbers, flat, shift).node(tree.body, 0)


def describe(type_: Type) -> str:
    """A type in words, for error messages."""
    if isinstance(type_, Truth):
        return "a condition"
    if isinstance(type_, One):
        return "a yes-or-no" if type_.options is YES_NO else f"a choice ({type_.options.name})"
    if isinstance(type_, Some):
        return f"a set of options ({type_.options.name})"
    return describe_dimension(type_)


def describe_dimension(dimension: Dimension) -> str:
    """A dimension by the kinds that have it, else by its exponents."""
    found = [kind.name for kind in KINDS.values() if kind.dimension == dimension]
    if found:
        return found[0].replace("_", " ")
    bases = ("length", "mass", "time", "temperature", "angle", "money")
    parts = [
        f"{base}^{exponent}" for base, exponent in zip(bases, dimension, strict=True) if exponent
    ]
    return " ".join(parts)


class _Parser:
    def __init__(
        self, lookup: Lookup, names: list[str], numbers: bool, text: str, shift: int
    ) -> None:
        self.lookup = lookup
        self.names = names
        self.numbers = numbers
        self.parsed = text.strip().encode()
        self.shift = shift
        self.count = 0

    def at(self, tree: ast.expr) -> tuple[int, int]:
        # Python counts bytes, a reader counts characters.
        before = len(self.parsed[: tree.col_offset].decode())
        width = len(self.parsed[tree.col_offset : tree.end_col_offset].decode())
        return before + self.shift, max(width, 1)

    def fail(self, tree: ast.expr, what: str, mend: str = "") -> ExpressionError:
        return ExpressionError(what, mend, self.at(tree))

    def node(self, tree: ast.expr, depth: int) -> Node:
        self.count += 1
        if depth > MOST_DEPTH or self.count > MOST_NODES:
            raise self.fail(
                tree,
                "the expression is too deep or too long",
                "move parts of it into derived quantities",
            )
        at, deeper = self.at(tree), depth + 1
        match tree:
            case ast.Constant(value=value):
                return self.number(tree, value)
            case ast.Name() | ast.Attribute():
                return self.name(tree)
            case ast.UnaryOp(op=ast.USub(), operand=inner):
                operand = self.quantity(inner, deeper)
                return Apply(operand.type, at, "neg", (operand,))
            case ast.UnaryOp(op=ast.Not(), operand=inner):
                return Apply(TRUTH, at, "not", (self.condition(inner, deeper),))
            case ast.BinOp(op=ast.Pow()):
                return self.power(tree, deeper)
            case ast.BinOp(op=operator) if type(operator) in _OPERATORS:
                return self.arithmetic(tree, _OPERATORS[type(operator)], deeper)
            case ast.BoolOp(op=operator, values=values):
                op = "and" if isinstance(operator, ast.And) else "or"
                return Apply(TRUTH, at, op, tuple(self.condition(v, deeper) for v in values))
            case ast.Compare():
                return self.comparison(tree, deeper)
            case ast.IfExp(test=test, body=body, orelse=orelse):
                condition = self.condition(test, deeper)
                yes, no = self.quantity(body, deeper), self.quantity(orelse, deeper)
                self.same_dimension(tree, "both results of 'if'", yes, no)
                return Apply(yes.type, at, "pick", (condition, yes, no))
            case ast.Call(func=ast.Name(id=name), args=args, keywords=[]):
                return self.call(tree, name, args, deeper)
        raise self.fail(
            tree,
            "this is not part of the expression language",
            "use + - * / **, comparisons, and or not, if else, named functions",
        )

    def number(self, tree: ast.expr, value: object) -> Node:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.fail(
                tree,
                "only numbers and names can stand here",
                "compare a choice with its option: a.choice == 'option'",
            )
        if not self.numbers:
            raise self.fail(tree, "a bare number in a rule", "name it as a limit, with its source")
        if abs(value) > 10**9:
            raise self.fail(tree, "the number is too large")
        return Number(NUMBER, self.at(tree), Fraction(str(value)))

    def name(self, tree: ast.expr) -> Node:
        name = self.path(tree)
        found = self.lookup(name, self.at(tree))
        if found is None and name in _CONSTANTS:
            return Known(NUMBER, self.at(tree), name, _CONSTANTS[name])
        if found is None:
            raise self.fail(tree, f"'{name}' is not known", nearest(name, self.names))
        return found

    def path(self, tree: ast.expr) -> str:
        match tree:
            case ast.Name(id=name):
                return name
            case ast.Attribute(value=ast.Name(id=slot), attr=attribute):
                return f"{slot}.{attribute}"
        raise self.fail(tree, "a name is slot.attribute, a derived quantity or a limit")

    def quantity(self, tree: ast.expr, depth: int) -> Node:
        node = self.node(tree, depth)
        if not isinstance(node.type, tuple):
            raise self.fail(tree, f"{describe(node.type)} where a quantity is wanted")
        return node

    def condition(self, tree: ast.expr, depth: int) -> Node:
        node = self.node(tree, depth)
        if node.type == FLAG:
            return Is(TRUTH, self.at(tree), node, YES_NO.bit("yes"))
        if not isinstance(node.type, Truth):
            raise self.fail(
                tree,
                f"{describe(node.type)} where a condition is wanted",
                "compare it with something",
            )
        return node

    def same_dimension(self, tree: ast.expr, what: str, left: Node, right: Node) -> None:
        if left.type != right.type:
            raise self.fail(
                tree,
                f"{what}: {describe(left.type)} and {describe(right.type)} do not go together",
                "check the units on both sides",
            )

    def arithmetic(self, tree: ast.BinOp, op: str, depth: int) -> Node:
        left, right = self.quantity(tree.left, depth), self.quantity(tree.right, depth)
        if op in "+-":
            self.same_dimension(tree, f"'{op}'", left, right)
            dimension = left.type
        else:
            sign = 1 if op == "*" else -1
            assert isinstance(left.type, tuple) and isinstance(right.type, tuple)
            dimension = tuple(a + sign * b for a, b in zip(left.type, right.type, strict=True))
        return Apply(dimension, self.at(tree), op, (left, right))

    def power(self, tree: ast.BinOp, depth: int) -> Node:
        base = self.quantity(tree.left, depth)
        exponent = tree.right.value if isinstance(tree.right, ast.Constant) else None
        if type(exponent) is not int or not 1 <= exponent <= MOST_EXPONENT:
            raise self.fail(tree.right, f"an exponent is a whole number from 1 to {MOST_EXPONENT}")
        assert isinstance(base.type, tuple)
        dimension = tuple(exponent * part for part in base.type)
        return Power(dimension, self.at(tree), base, exponent)

    def call(self, tree: ast.Call, name: str, args: list[ast.expr], depth: int) -> Node:
        if name in CALCULATIONS:
            return self.calculation(tree, name, args, depth)
        if name in _ON_EVIDENCE:
            return self.on_evidence(tree, name, args, depth)
        if name not in _FUNCTIONS:
            raise self.fail(
                tree.func,
                f"there is no function or calculation '{name}'",
                nearest(name, [*_FUNCTIONS, *_ON_EVIDENCE, *CALCULATIONS]),
            )
        least, most = _FUNCTIONS[name]
        if not least <= len(args) <= most:
            raise self.fail(tree, f"'{name}' takes {least} to {most} values, not {len(args)}")
        nodes = tuple(self.quantity(arg, depth) for arg in args)
        for other in nodes[1:]:
            self.same_dimension(tree, f"'{name}'", nodes[0], other)
        dimension = nodes[0].type
        if name == "sqrt":
            assert isinstance(dimension, tuple)
            dimension = tuple(part / 2 for part in dimension)
        return Apply(dimension, self.at(tree), name, nodes)

    def on_evidence(self, tree: ast.Call, name: str, args: list[ast.expr], depth: int) -> Node:
        """`stated(a)`: somebody gave it; `measured(a)`; `alike(a, b)`: on evidence of one kind."""
        if len(args) != _ON_EVIDENCE[name]:
            raise self.fail(tree, f"'{name}' takes {_ON_EVIDENCE[name]} names, not {len(args)}")
        return Apply(TRUTH, self.at(tree), name, tuple(self.node(arg, depth) for arg in args))

    def calculation(self, tree: ast.Call, name: str, args: list[ast.expr], depth: int) -> Node:
        found = CALCULATIONS[name]
        wanted = ", ".join(argument.name for argument in found.arguments)
        if len(args) != len(found.arguments):
            raise self.fail(tree, f"'{name}' takes {len(found.arguments)} values: {wanted}")
        nodes = tuple(self.quantity(arg, depth) for arg in args)
        for arg, node, argument in zip(args, nodes, found.arguments, strict=True):
            if node.type != argument.dimension:
                wanted = describe(argument.dimension)
                raise self.fail(
                    arg, f"'{argument.name}' of {name} is {wanted}, not {describe(node.type)}"
                )
        return Call(found.dimension, self.at(tree), found, nodes)

    def comparison(self, tree: ast.Compare, depth: int) -> Node:
        sides = [tree.left, *tree.comparators]
        links = [
            self.link(tree, op, left, right, depth)
            for op, left, right in zip(tree.ops, sides, sides[1:], strict=False)
        ]
        return links[0] if len(links) == 1 else Apply(TRUTH, self.at(tree), "and", tuple(links))

    def link(
        self, tree: ast.Compare, op: ast.cmpop, left: ast.expr, right: ast.expr, depth: int
    ) -> Node:
        at = self.at(tree)
        if isinstance(op, ast.In | ast.NotIn):
            found = self.membership(at, left, right, depth)
            return Apply(TRUTH, at, "not", (found,)) if isinstance(op, ast.NotIn) else found
        symbol = _COMPARISONS.get(type(op))
        if symbol is None:
            raise self.fail(tree, "use >= > <= < == != in or not in")
        for text, other in ((right, left), (left, right)):
            if isinstance(text, ast.Constant) and isinstance(text.value, str):
                if symbol not in ("==", "!="):
                    raise self.fail(text, "an option is compared with == or !=")
                found = Is(TRUTH, at, *self.options(other, [text], depth))
                return Apply(TRUTH, at, "not", (found,)) if symbol == "!=" else found
        first, second = self.node(left, depth), self.node(right, depth)
        if isinstance(first.type, One):
            if first.type != second.type or symbol not in ("==", "!="):
                raise self.fail(
                    tree,
                    f"{describe(first.type)} and {describe(second.type)} "
                    f"can't be compared with {symbol}",
                )
            same = Same(TRUTH, at, first, second)
            return Apply(TRUTH, at, "not", (same,)) if symbol == "!=" else same
        for side, node in ((left, first), (right, second)):
            if not isinstance(node.type, tuple):
                raise self.fail(side, f"{describe(node.type)} can't be compared with {symbol}")
        self.same_dimension(tree, f"'{symbol}'", first, second)
        return Compare(TRUTH, at, symbol, first, second)

    def membership(self, at: tuple[int, int], left: ast.expr, right: ast.expr, depth: int) -> Node:
        if isinstance(right, ast.Tuple):
            return Is(TRUTH, at, *self.options(left, right.elts, depth))
        choice, among = self.node(left, depth), self.node(right, depth)
        if not isinstance(among.type, Some) or choice.type != One(among.type.options):
            raise self.fail(
                right,
                f"{describe(choice.type)} can't be in {describe(among.type)}",
                "write: a.choice in ('one', 'other'), or a set of these options",
            )
        return Among(TRUTH, at, choice, among)

    def options(self, choice: ast.expr, texts: list[ast.expr], depth: int) -> tuple[Node, int]:
        node = self.node(choice, depth)
        if not isinstance(node.type, One):
            raise self.fail(choice, f"{describe(node.type)} has no options to compare with")
        mask = 0
        for text in texts:
            value = text.value if isinstance(text, ast.Constant) else None
            if not isinstance(value, str) or value not in node.type.options.ids:
                raise self.fail(
                    text,
                    f"{value!r} is no option of {node.type.options.name}",
                    nearest(str(value), node.type.options.ids),
                )
            mask |= node.type.options.bit(value)
        return node, mask
