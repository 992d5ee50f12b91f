"""Plain trees evaluated for many values at once: each end of a variable is an array of numbers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fitcheck.language import Plain

Array = NDArray[Any]
Inputs = Mapping[tuple[str, str], Any]


def evaluate(roots: Sequence[Plain], inputs: Inputs) -> list[Any]:
    """The value, or the truth, of each root; what does not vary comes as a single number."""
    found: dict[Plain, Any] = {}
    with np.errstate(all="ignore"):
        for root in roots:
            _visit(root, inputs, found)
    return [found[root] for root in roots]


def has_calls(roots: Sequence[Plain]) -> bool:
    """Whether a calculation is called, which is done one value at a time."""
    stack, seen = list(roots), set()
    while stack:
        node = stack.pop()
        if node not in seen:
            seen.add(node)
            if node.op == "call":
                return True
            stack.extend(node.args)
    return False


def _visit(root: Plain, inputs: Inputs, found: dict[Plain, Any]) -> None:
    stack = [(root, False)]
    while stack:
        node, opened = stack.pop()
        if node in found:
            continue
        if not opened:
            stack.append((node, True))
            stack += [(arg, False) for arg in node.args]
        elif node.op == "var":
            found[node] = inputs[node.value]  # type: ignore[index]
        else:
            found[node] = _TAKEN[node.op](node, [found[arg] for arg in node.args])


def _extreme(function: Callable[[Any, Any], Any]) -> Callable[[Plain, list[Any]], Any]:
    def over(node: Plain, args: list[Any]) -> Any:
        best = args[0]
        for other in args[1:]:
            best = function(best, other)
        return best

    return over


def _joined(function: Callable[[Any, Any], Any]) -> Callable[[Plain, list[Any]], Any]:
    return _extreme(function)


def _call(node: Plain, args: list[Any]) -> Any:
    assert isinstance(node.value, tuple)
    bound = node.value[0].at(node.value[1])
    if all(np.ndim(arg) == 0 for arg in args):
        return bound(*map(float, args))
    rows = np.broadcast_arrays(*args)
    known: dict[tuple[float, ...], float] = {}
    values = []
    for row in zip(*rows, strict=True):
        key = tuple(map(float, row))
        if key not in known:
            try:
                known[key] = bound(*key)
            except (ArithmeticError, ValueError):
                known[key] = float("nan")
        values.append(known[key])
    return np.array(values)


# A margin counts as kept within the rounding of floats, as the exact evaluation would have it.
_TAKEN: dict[str, Callable[[Plain, list[Any]], Any]] = {
    "const": lambda n, a: float(n.value),  # type: ignore[arg-type]
    "+": lambda n, a: a[0] + a[1],
    "-": lambda n, a: a[0] - a[1],
    "*": lambda n, a: a[0] * a[1],
    "/": lambda n, a: a[0] / a[1],
    "neg": lambda n, a: -a[0],
    "pow": lambda n, a: a[0] ** n.value,
    "root": lambda n, a: np.sqrt(np.maximum(a[0], 0)),
    "min": _extreme(np.minimum),
    "max": _extreme(np.maximum),
    "call": _call,
    "ge": lambda n, a: a[0] >= -2 * n.args[0].error,
    "gt": lambda n, a: a[0] > 0,
    "pick": lambda n, a: np.where(a[0], a[1], a[2]),
    "only": lambda n, a: (a[0] | n.value) == n.value,
    "allows": lambda n, a: (a[0] & n.value) != 0,
    "meets": lambda n, a: (a[0] & a[1]) != 0,
    "within": lambda n, a: (a[0] & ~a[1]) == 0,
    "single": lambda n, a: (a[0] & (a[0] - 1)) == 0,
    "and": _joined(np.logical_and),
    "or": _joined(np.logical_or),
    "not": lambda n, a: np.logical_not(a[0]),
    "true": lambda n, a: True,
    "false": lambda n, a: False,
}
