"""The numeric rules' demands in the words of each engine."""

from __future__ import annotations

import ast
from collections.abc import Callable, Sequence
from functools import reduce

from fitcheck.language import CONFLICT, FITS, STRADDLES
from tests.benchmarks.lowered import read_limits
from tests.benchmarks.numeric_rules import CONSTANTS, DEMANDS, LEAST, SHARED

# For figures that meet a limit exactly, which floats may put just beyond it.
SLACK = 1e-9
_SIGNS = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}
Names = Callable[[str], str]


class Infix:
    """Ordinary operators; `a ? b : c` for the rest."""

    def apply(self, sign: str, left: str, right: str) -> str:
        return f"({left} {sign} {right})"

    def extreme(self, name: str, args: Sequence[str]) -> str:
        sign = "<" if name == "min" else ">"
        return reduce(lambda a, b: f"({a} {sign} {b} ? {a} : {b})", args)

    def joined(self, word: str, parts: Sequence[str]) -> str:
        sign = {"and": " && ", "or": " || "}[word]
        return parts[0] if len(parts) == 1 else f"({sign.join(parts)})"

    def chosen(self, condition: str, yes: str, no: str) -> str:
        return f"({condition} ? {yes} : {no})"


class InfixWithLists(Infix):
    """Least and most of a list; `and` and `or` as words."""

    def extreme(self, name: str, args: Sequence[str]) -> str:
        return f"{name}([{', '.join(args)}])"

    def joined(self, word: str, parts: Sequence[str]) -> str:
        return parts[0] if len(parts) == 1 else f"({f' {word} '.join(parts)})"


class Prefix(Infix):
    """The operator first, in brackets."""

    def apply(self, sign: str, left: str, right: str) -> str:
        return f"({sign} {left} {right})"

    def extreme(self, name: str, args: Sequence[str]) -> str:
        return f"({name} {' '.join(args)})"

    def joined(self, word: str, parts: Sequence[str]) -> str:
        return parts[0] if len(parts) == 1 else f"({word} {' '.join(parts)})"

    def chosen(self, condition: str, yes: str, no: str) -> str:
        return f"(if {condition} then {yes} else {no})"


def written(text: str, style: Infix, name: Names) -> str:
    """An expression of the plain syntax in a style; `name` gives the words for a name."""

    def write(node: ast.expr) -> str:
        match node:
            case ast.Constant(value=value):
                return repr(float(value))
            case ast.Name(id=found):
                return repr(CONSTANTS[found]) if found in CONSTANTS else name(found)
            case ast.BinOp(left=left, op=op, right=right):
                return style.apply(_SIGNS[type(op)], write(left), write(right))
            case ast.Call(func=ast.Name(id=found), args=args):
                return style.extreme(found, [write(arg) for arg in args])
        raise ValueError(ast.dump(node))

    return write(ast.parse(text, mode="eval").body)


def unfolded(style: Infix, figure: Names) -> Names:
    """Names for an engine without local variables: what is shared is written out each time."""
    shared = {
        f"{name}_{end}": text
        for name, *ends in SHARED
        for end, text in zip(("lo", "hi"), ends, strict=True)
    }

    def name(found: str) -> str:
        return written(shared[found], style, name) if found in shared else figure(found)

    return name


def verdict(rule: str, style: Infix, name: Names) -> str:
    """The expression that gives the number of a rule's verdict."""
    limits = {"": 0.0} | {key: float(limit.lower) for key, limit in read_limits().items()}
    fits, clashes = [], []
    for kind, low, high, limit_name in DEMANDS[rule]:
        limit = limits[limit_name.removeprefix("-")] * (-1 if limit_name[:1] == "-" else 1)
        lower, upper = written(low, style, name), written(high, style, name)
        if kind == LEAST:
            bound = repr(limit - SLACK)
            fits.append(style.apply(">=", lower, bound))
            clashes.append(style.apply("<", upper, bound))
        else:
            bound = repr(limit + SLACK)
            fits.append(style.apply("<=", upper, bound))
            clashes.append(style.apply(">", lower, bound))
    otherwise = style.chosen(style.joined("or", clashes), str(CONFLICT), str(STRADDLES))
    return style.chosen(style.joined("and", fits), str(FITS), otherwise)
