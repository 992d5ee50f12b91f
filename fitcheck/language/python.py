"""Plain trees printed as Python source and compiled once.

There are two printings of one tree. `fast` computes in floats and answers NEAR where rounding
could matter; `exact` computes in fractions, for those answers and for the figures that are
shown. Only what is inexact by nature (roots, calculations) is rounded there, outward.
"""

from __future__ import annotations

import marshal
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Literal

from fitcheck.language.bounds import LoweredDemand
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
from fitcheck.language.plain import Plain, beneath
from fitcheck.source import frozen

Style = Literal["fast", "exact"]
MOST_NESTED = 25


@frozen
class Condition:
    """A rule, lowered: whether it applies, and its clauses."""

    applies: tuple[Plain, Plain]
    clauses: tuple[LoweredDemand, ...]


def compile_verdicts(conditions: Sequence[Condition], style: Style = "fast") -> Compiled:
    """A function that gives one of FITS, CONFLICT, STRADDLES, NEAR, SILENT for each condition.

    In exact style there is no NEAR.
    """
    printer = _Printer([root for condition in conditions for root in _roots(condition)], style)
    return printer.compiled([_verdict(printer, condition) for condition in conditions])


def compile_intervals(bounds: Sequence[tuple[Plain, Plain]], style: Style = "exact") -> Compiled:
    """A function that gives the lower and upper bound of each pair, one after the other."""
    roots = [root for pair in bounds for root in pair]
    printer = _Printer(roots, style)
    return printer.compiled([printer.text(root) for root in roots])


def _roots(condition: Condition) -> list[Plain]:
    roots = list(condition.applies)
    for clause in condition.clauses:
        roots += [clause.certain, clause.possible]
    return roots


def _verdict(printer: _Printer, condition: Condition) -> str:
    always = condition.applies[0].op == "true"
    applies, may_apply, certain, possible = asked = _asked(printer, condition)
    fits, undecided = certain, str(STRADDLES)
    if not printer.exact:
        # The same conditions asked the other way round: is it beyond any rounding?
        printer.flipped = True
        turned = _asked(printer, condition)
        also_applies, surely_may_apply, may_fit, surely_possible = turned
        printer.flipped = False
        if turned != asked:
            open_ = surely_possible if always else f"(not {also_applies} or {surely_possible})"
            beyond = [f"not {may_fit}", open_, *_settled(printer, _roots(condition))]
            if not always:
                beyond.insert(0, surely_may_apply)
                settled = _settled(printer, condition.applies)
                fits = " and ".join([certain, surely_may_apply, *settled])
            undecided = f"{STRADDLES} if {' and '.join(beyond)} else {NEAR}"
    conflict = f"not {possible}" if always else f"{applies} and not {possible}"
    verdict = f"{FITS} if {fits} else {CONFLICT} if {conflict} else {undecided}"
    return verdict if always else f"{SILENT} if not {may_apply} else {verdict}"


def _asked(printer: _Printer, condition: Condition) -> tuple[str, str, str, str]:
    """Whether a rule surely and possibly applies, whether its demands surely, possibly hold."""
    applies, may_apply = (printer.text(root) for root in condition.applies)
    certain = _joined([printer.text(clause.certain) for clause in condition.clauses])
    possible = _joined([printer.text(clause.possible) for clause in condition.clauses])
    return applies, may_apply, certain, possible


def _settled(printer: _Printer, roots: Iterable[Plain]) -> Iterator[str]:
    """Whether each choice inside a figure is the same beyond any rounding.

    Where it isn't, the wider figure is taken: enough to be certain, too little to be undecided.
    """
    for choice in choices(roots):
        text = printer.text(choice)
        printer.flipped = True
        turned = printer.text(choice)
        printer.flipped = False
        if text != turned:
            yield f"{text} == {turned}"


def _joined(conditions: list[str]) -> str:
    return conditions[0] if len(conditions) == 1 else f"({' and '.join(conditions)})"


class _Printer:
    """Writes nodes as expressions; what is used twice or deep becomes a local variable."""

    def __init__(self, roots: Iterable[Plain], style: Style) -> None:
        self.exact = style == "exact"
        self.flipped = False
        self.inputs: dict[Input, str] = {}
        self.names: dict[str, Fraction | BoundOf] = {}
        self.lines: list[str] = []
        self.texts: dict[tuple[Plain, bool], str] = {}
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
        # A figure is computed one way only, that of the wider answer.
        key = (node, self.flipped and node.op in _CONDITIONS)
        if key in self.texts:
            return self.texts[key]
        text = self._written(node)
        depth = 1 + max((self.depths.get(self.text(arg), 0) for arg in node.args), default=0)
        # A call costs too much to be written out wherever something is asked about its result.
        often = self.uses[node] > 1 or node.op == "call"
        if node.args and node.op not in _CONDITIONS and (often or depth > MOST_NESTED):
            text, depth = self._local(text), 0
        self.texts[key] = text
        self.depths[text] = depth
        return text

    def _local(self, text: str) -> str:
        """The name of a local variable that holds what the text computes."""
        name = f"t{len(self.lines)}"
        self.lines.append(f"{name} = {text}")
        return name

    def _written(self, node: Plain) -> str:
        if node.op in _SIGNS:
            return self._sign(node)
        args = [self.text(arg) for arg in node.args]
        match node.op:
            case "const":
                return self._constant(node.value)
            case "var":
                assert isinstance(node.value, tuple)
                return self.inputs.setdefault(node.value, f"v{len(self.inputs)}")
            case "+" | "-" | "*" | "/" as op:
                return f"({args[0]} {op} {args[1]})"
            case "neg":
                return f"(-{args[0]})"
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
            case "not":
                return f"(not {args[0]})"
            case "pick":
                return f"({args[1]} if {args[0]} else {args[2]})"
            case "only":
                assert isinstance(node.value, int)
                return f"(not {args[0]} & {~node.value})"
            case "allows":
                return f"(({args[0]} & {node.value}) != 0)"
            case "meets":
                return f"(({args[0]} & {args[1]}) != 0)"
            case "within":
                return f"(not {args[0]} & ~{args[1]})"
            case "single":
                return f"(not {args[0]} & ({args[0]} - 1))"
        return "True" if node.op == "true" else "False"

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
        assert isinstance(node.value, int)
        slack = 0.0 if self.exact else 2 * node.args[0].error * node.value
        if self.flipped:
            slack = -slack
        op = ">=" if node.op == "ge" else ">"
        asked, limit, under = against(node.args[0])
        if under:
            op, slack = op.replace(">", "<"), -slack
        bound = (
            repr(float(limit) + slack)
            if not self.exact
            else self._constant(limit)
            if limit
            else "0"
        )
        return f"({self.text(asked)} {op} {bound})"


_NUMBER = re.compile(r"\(?-?[\d.e+-]+\)?")
_SIGNS = {"ge", "gt"}
_CONDITIONS = _SIGNS | {"and", "or", "not", "only", "allows", "meets", "within", "single"}


def _uses(roots: Iterable[Plain]) -> Counter[Plain]:
    uses: Counter[Plain] = Counter()
    stack = list(roots)
    while stack:
        node = stack.pop()
        uses[node] += 1
        if node.op in _SIGNS:
            stack.append(against(node.args[0])[0])
        elif uses[node] == 1 or node.op in _CONDITIONS:
            stack.extend(node.args)
    return uses


def choices(roots: Iterable[Plain]) -> list[Plain]:
    """The conditions on which figures beneath depend."""
    return list(dict.fromkeys(node.args[0] for node in beneath(roots) if node.op == "pick"))


def against(margin: Plain) -> tuple[Plain, Fraction, bool]:
    """What a margin is asked of, the known limit it is over, and whether it is to stay under."""
    if margin.op == "-":
        left, right = margin.args
        if isinstance(right.value, Fraction):
            return left, right.value, False
        if isinstance(left.value, Fraction):
            return right, left.value, True
    return margin, Fraction(0), False
