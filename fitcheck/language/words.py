"""Typed trees printed as words a machinist reads, with the numbers in place."""

from __future__ import annotations

from collections.abc import Callable

from fitcheck.language.tree import (
    Among,
    Apply,
    Call,
    Compare,
    Is,
    Known,
    Node,
    Number,
    Power,
    Same,
    Step,
    Variable,
)

Name = Callable[[Node], str]
_SIGNS = {"+": "+", "-": "−", "*": "×", "/": "÷"}
_COMPARISONS = {
    ">=": "is at least",
    ">": "is more than",
    "<=": "is at most",
    "<": "is less than",
    "==": "is",
    "!=": "is not",
}
_FUNCTIONS = {
    "abs": "size of",
    "sqrt": "root of",
    "min": "the smaller of",
    "max": "the larger of",
    "agree": "what is best known of",
    "stated": "somebody gave",
    "measured": "somebody measured",
    "alike": "as well known as each other:",
}
_TIGHTNESS = {"or": 1, "and": 2, "not": 3, "pick": 0, "+": 5, "-": 5, "*": 6, "/": 6, "neg": 7}


def words(node: Node, name: Name, inside: int = 0) -> str:
    """The node in words; `name` gives the words for variables, limits and derived quantities."""
    match node:
        case Variable() | Known() | Step():
            return name(node)
        case Number(value=value):
            return f"{float(value):.12g}"
        case Power(base=base, exponent=exponent):
            return _around(f"{words(base, name, 8)}{'¹²³⁴⁵⁶'[exponent - 1]}", 7, inside)
        case Call(calculation=calculation, args=args):
            listed = ", ".join(words(arg, name) for arg in args)
            return f"{calculation.name.replace('_', ' ')} of ({listed})"
        case Compare(op=op, left=left, right=right):
            return _around(
                f"{words(left, name, 4)} {_COMPARISONS[op]} {words(right, name, 4)}", 4, inside
            )
        case Is(choice=choice):
            return f"{name(choice)} is {name(node)}"
        case Same(left=left, right=right):
            return f"{name(left)} and {name(right)} are the same"
        case Among(choice=choice, among=among):
            return f"{name(choice)} is one of {name(among)}"
        case Apply():
            return _apply(node, name, inside)
    raise TypeError(f"no words for {node}")


def _apply(node: Apply, name: Name, inside: int) -> str:
    if node.op in _FUNCTIONS:
        return f"{_FUNCTIONS[node.op]} ({', '.join(words(arg, name) for arg in node.args)})"
    own = _TIGHTNESS[node.op]
    if node.op == "neg":
        text = f"−{words(node.args[0], name, own)}"
    elif node.op == "not" and isinstance(node.args[0], Apply) and node.args[0].op == "stated":
        text = f"nobody gave {words(node.args[0].args[0], name, own)}"
    elif node.op == "not":
        text = f"not {words(node.args[0], name, own)}"
    elif node.op == "pick":
        condition, yes, no = node.args
        text = f"{words(yes, name, 1)} if {words(condition, name, 1)}, else {words(no, name, 1)}"
    elif node.op in ("and", "or"):
        text = f" {node.op} ".join(words(arg, name, own) for arg in node.args)
    else:
        left, right = node.args
        stricter = own + (node.op in "-/")
        text = f"{words(left, name, own)} {_SIGNS[node.op]} {words(right, name, stricter)}"
    return _around(text, own, inside)


def _around(text: str, own: int, inside: int) -> str:
    return f"({text})" if own < inside else text
