"""Plain trees printed as Python source and compiled once.

There are two printings of one tree. `fast` computes in floats and answers NEAR where rounding
could matter; `exact` computes in fractions, for those answers and for the figures that are
shown. Only what is inexact by nature (roots, calculations) is rounded there, outward.
"""

from __future__ import annotations

import marshal
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Literal

from fitcheck.language.compiled import (
    CONFLICT,
    FITS,
    NEAR,
    SILENT,
    STRADDLES,
    BoundOf,
    Compiled,
    Input,
)
from fitcheck.language.operations import OPERATIONS, SIGNS, TRUTHS, written
from fitcheck.language.outcome import Condition, VerdictConditions, outcome, slack
from fitcheck.language.plain import Forest, Plain

Style = Literal["fast", "exact"]
MOST_NESTED = 25


def compile_verdicts(conditions: Sequence[Condition], style: Style = "fast") -> Compiled:
    """A function that gives one of FITS, CONFLICT, STRADDLES, NEAR, SILENT for each condition.

    In exact style there is no NEAR.
    """
    printer = _Printer([root for condition in conditions for root in condition.roots], style)
    forest = Forest()
    verdicts = [outcome(condition, forest, exact=printer.exact) for condition in conditions]
    return printer.compiled([_verdict(printer, verdict) for verdict in verdicts])


def compile_intervals(bounds: Sequence[tuple[Plain, Plain]], style: Style = "exact") -> Compiled:
    """A function that gives the lower and upper bound of each pair, one after the other."""
    roots = [root for pair in bounds for root in pair]
    printer = _Printer(roots, style)
    return printer.compiled([printer.text(root) for root in roots])


def _verdict(printer: _Printer, verdict: VerdictConditions) -> str:
    text = str(NEAR)
    for part, code in zip(
        reversed(verdict.parts), (STRADDLES, CONFLICT, FITS, SILENT), strict=True
    ):
        if part.op == "true":
            text = str(code)
        elif part.op != "false":
            text = f"{code} if {printer.text(part)} else {text}"
    return text


class _Printer:
    """Writes nodes as expressions; what is used twice or deep becomes a local variable."""

    def __init__(self, roots: Iterable[Plain], style: Style) -> None:
        self.exact = style == "exact"
        self.inputs: dict[Input, str] = {}
        self.names: dict[str, Fraction | BoundOf] = {}
        self.lines: list[str] = []
        self.texts: dict[Plain, str] = {}
        self.depths: dict[str, int] = {}
        self.uses = _uses(roots)

    def compiled(self, results: list[str]) -> Compiled:
        names = ", ".join(self.inputs.values())
        rows = [f"    {names}, = v"] if names else []
        rows += [f"    {line}" for line in self.lines]
        rows += [f"    return ({''.join(f'{result}, ' for result in results)})"]
        source = "def f(v):\n" + "\n".join(rows) + "\n"
        bytecode = marshal.dumps(compile(source, "<rules>", "exec"))
        return Compiled(tuple(self.inputs), source, self.names, bytecode)

    def text(self, node: Plain) -> str:
        if node in self.texts:
            return self.texts[node]
        text = self._written(node)
        depth = 1 + max((self.depths.get(self.text(arg), 0) for arg in node.args), default=0)
        # A call costs too much to be written out wherever something is asked about its result.
        often = self.uses[node] > 1 or node.op == "call"
        if node.args and node.op not in TRUTHS and (often or depth > MOST_NESTED):
            text, depth = self._local(text), 0
        self.texts[node] = text
        self.depths[text] = depth
        return text

    def _local(self, text: str) -> str:
        """The name of a local variable that holds what the text computes."""
        name = f"t{len(self.lines)}"
        self.lines.append(f"{name} = {text}")
        return name

    def _written(self, node: Plain) -> str:
        if node.op in SIGNS:
            return self._sign(node)
        args = [self.text(arg) for arg in node.args]
        if node.op in OPERATIONS:
            return written(node.op, args, node.value)
        match node.op:
            case "const":
                return self._constant(node.value)
            case "var":
                assert isinstance(node.value, tuple)
                return self.inputs.setdefault(node.value, f"v{len(self.inputs)}")
            case "min" | "max" as op:
                return self._extreme(op, args)
            case "pow":
                return self._power(args[0], node.value)
            case "root":
                name = "sqrt" if not self.exact else "root_up" if node.value == 1 else "root_down"
                return f"{name}({args[0]})"
            case "call":
                return f"{self._calculation(node.value)}({', '.join(args)})"
            case "and" | "or" as op:
                return f"({f' {op} '.join(args)})"
            case "pick":
                return f"({args[1]} if {args[0]} else {args[2]})"
        return node.op.capitalize()  # true, false

    def _constant(self, value: object) -> str:
        assert isinstance(value, Fraction)
        if not self.exact:
            return f"({float(value)!r})" if value < 0 else repr(float(value))
        name = f"k{len(self.names)}"
        self.names[name] = value
        return name

    def _power(self, base: str, exponent: object) -> str:
        if exponent == 2 and not self.exact:  # a product is several times faster than a power
            base = self._named(base)
            return f"({base} * {base})"
        return f"({base} ** {exponent})"

    def _extreme(self, op: str, args: list[str]) -> str:
        sign = "<" if op == "min" else ">"
        best, *others = dict.fromkeys(args)
        for text in others:  # a conditional is several times faster than a call
            best, other = self._named(best), self._named(text)
            best = f"({best} if {best} {sign} {other} else {other})"
        return best

    def _named(self, text: str) -> str:
        """The text, or a local variable for it, such as can be written twice at no cost."""
        return text if text.isidentifier() or _NUMBER.fullmatch(text) else self._local(text)

    def _calculation(self, value: object) -> str:
        assert isinstance(value, tuple)
        calculation, end = value
        name = f"{calculation.name}_{'up' if end > 0 else 'down'}"
        self.names[name] = BoundOf(calculation.name, end, self.exact)
        return name

    def _sign(self, node: Plain) -> str:
        """A margin against zero; a margin over a known limit is asked against the limit."""
        needed = 0.0 if self.exact else slack(node)
        op = ">=" if node.op == "ge" else ">"
        asked, limit, under = against(node.args[0])
        if under:
            op, needed = op.replace(">", "<"), -needed
        bound = (
            repr(float(limit) + needed)
            if not self.exact
            else self._constant(limit)
            if limit
            else "0"
        )
        return f"({self.text(asked)} {op} {bound})"


_NUMBER = re.compile(r"\(?-?[\d.e+-]+\)?")


def _uses(roots: Iterable[Plain]) -> Counter[Plain]:
    uses: Counter[Plain] = Counter()
    stack = list(roots)
    while stack:
        node = stack.pop()
        uses[node] += 1
        if node.op in SIGNS:
            stack.append(against(node.args[0])[0])
        elif uses[node] == 1 or node.op in TRUTHS:
            stack.extend(node.args)
    return uses


def against(margin: Plain) -> tuple[Plain, Fraction, bool]:
    """What a margin is asked of, the known limit it is over, and whether it is to stay under."""
    if margin.op == "-":
        left, right = margin.args
        if isinstance(right.value, Fraction):
            return left, right.value, False
        if isinstance(left.value, Fraction):
            return right, left.value, True
    return margin, Fraction(0), False
