"""A rule's verdict as plain conditions, and what is left of them once some values are known.

Asked in floats, none of the four holds where rounding could matter. With the parts that are settled
folded in, a rule about many is a short condition on the few that are still open.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import reduce
from math import sqrt
from typing import Any, cast

from fitcheck.language.bounds import LoweredDemand
from fitcheck.language.operations import COMPUTED, SIGNS, TRUTHS
from fitcheck.language.plain import FALSE, TRUE, Forest, Plain, beneath, in_order
from fitcheck.source import frozen


@frozen
class Condition:
    """A rule, lowered: whether it applies, and its clauses."""

    applies: tuple[Plain, Plain]
    clauses: tuple[LoweredDemand, ...]

    @property
    def roots(self) -> list[Plain]:
        """All its trees."""
        demands = [(clause.certain, clause.possible) for clause in self.clauses]
        return [*self.applies, *(root for demand in demands for root in demand)]


@dataclass(frozen=True, slots=True)
class VerdictConditions:
    """What a rule says, to be asked in this order; none of it holds: too near to tell in floats."""

    silent: Plain
    fits: Plain
    conflict: Plain
    straddles: Plain

    @property
    def parts(self) -> tuple[Plain, ...]:
        """The four conditions."""
        return self.silent, self.fits, self.conflict, self.straddles

    @property
    def settled(self) -> bool:
        """Whether the answer is the same whatever is still open."""
        for part in self.parts:
            if part.op == "true":
                return True
            if part.op != "false":
                return False
        return True


def outcome(condition: Condition, forest: Forest, *, exact: bool = False) -> VerdictConditions:
    """The verdict of a rule, asked in floats, or in fractions; `forest` is where it is written."""
    flip = _Flip(forest).of
    applies, may_apply = condition.applies
    certain = forest.both(*(clause.certain for clause in condition.clauses))
    possible = forest.both(*(clause.possible for clause in condition.clauses))

    silent = forest.opposite(may_apply)
    conflict = forest.both(applies, forest.opposite(possible))
    if exact or all(flip(one) is one for one in (applies, may_apply, certain, possible)):
        return VerdictConditions(silent, certain, conflict, TRUE)

    def beyond_rounding(roots: Iterable[Plain]) -> list[Plain]:
        """Each choice inside a figure is the same whichever way rounding goes.

        Where it isn't, the wider figure is taken: enough to be certain, too little to be undecided.
        """
        found = _choices(roots)
        return [_alike(one, flip(one), forest) for one in found if flip(one) is not one]

    still_open = forest.either(forest.opposite(flip(applies)), flip(possible))
    return VerdictConditions(
        silent,
        forest.both(certain, flip(may_apply), *beyond_rounding(condition.applies)),
        conflict,
        forest.both(
            flip(may_apply),
            forest.opposite(flip(certain)),
            still_open,
            *beyond_rounding([applies, may_apply, certain, possible]),
        ),
    )


def _choices(roots: Iterable[Plain]) -> list[Plain]:
    """The conditions on which figures beneath depend."""
    return list(dict.fromkeys(node.args[0] for node in beneath(roots) if node.op == "pick"))


def _alike(one: Plain, other: Plain, forest: Forest) -> Plain:
    """Whether a condition and its flip hold alike; mostly the one holds wherever the other does."""
    ways = _ways(one)
    if len(ways) > 1:
        neither = forest.both(forest.opposite(one), forest.opposite(other))
        return forest.either(forest.both(one, other), neither)
    firm, loose = (one, other) if ways == {1} else (other, one)
    return forest.either(firm, forest.opposite(loose))


def _ways(condition: Plain, turned: int = 1) -> set[int]:
    """Whether rounding makes a condition harder to meet (1) or easier (-1), sign by sign."""
    if condition.op in SIGNS:
        assert isinstance(condition.value, int)
        return {turned * condition.value}
    if condition.op == "not":
        turned = -turned
    inside = condition.args if condition.op in TRUTHS else ()
    return {way for arg in inside for way in _ways(arg, turned)}


class _Flip:
    """The same conditions with the rounding taken the other way; figures stay as they are."""

    def __init__(self, forest: Forest) -> None:
        self._forest = forest
        self._found: dict[Plain, Plain] = {}

    def of(self, node: Plain) -> Plain:
        found = self._found.get(node)
        if found is None:
            found = self._found[node] = self._flipped(node)
        return found

    def _flipped(self, node: Plain) -> Plain:
        if node.op in SIGNS:
            assert isinstance(node.value, int)
            return self._forest.make(node.op, *node.args, value=-node.value)
        if node.op not in TRUTHS or not any(arg.op in TRUTHS for arg in node.args):
            return node
        return self._forest.make(node.op, *map(self.of, node.args), value=node.value)


def slack(node: Plain) -> float:
    """How far a float margin must be beyond zero for a sign to hold."""
    assert isinstance(node.value, int)
    return 2 * node.args[0].error * node.value


class Fold:
    """Puts known values into plain trees and computes what they decide.

    `known` maps an end of a variable, as in ("spring.rate", "lower"), to a float or a mask;
    `named` gives variables another name. Nodes keep the bound of their error, so a folded condition
    is never surer than the whole.
    """

    def __init__(
        self,
        known: Mapping[tuple[str, str], Any],
        nodes: Nodes | None = None,
        named: Mapping[str, str] | None = None,
    ) -> None:
        self._known = dict(known)
        self._named = dict(named or {})
        self._nodes = nodes or Nodes()
        self._found: dict[Plain, Plain] = {}

    def learn(
        self, known: Mapping[tuple[str, str], Any], named: Mapping[str, str] | None = None
    ) -> None:
        """More of what is known; no tree that was folded before may read it."""
        self._known |= known
        self._named |= named or {}

    def outcome(self, whole: VerdictConditions) -> VerdictConditions:
        """The folded conditions of a verdict."""
        return VerdictConditions(*(self.of(part) for part in whole.parts))

    def of(self, root: Plain) -> Plain:
        """The folded tree."""
        for node in in_order([root], self._found):
            args = tuple([self._found[arg] for arg in node.args])
            self._found[node] = self._folded(node, args)
        return self._found[root]

    def _folded(self, node: Plain, args: tuple[Plain, ...]) -> Plain:
        make = self._nodes.make
        match node.op:
            case "true" | "false":
                return TRUE if node.op == "true" else FALSE
            case "const":
                return make("const", (), float(node.value), node)  # type: ignore[arg-type]
            case "var":
                key: Any = node.value
                if key in self._known:
                    return make("const", (), self._known[key], node)
                if key[0] in self._named:
                    return make("var", (), (self._named[key[0]], key[1]), node)
            case "and" | "or":
                return self._joined(node, args)
            case "not":
                return _opposite(args[0], make, node)
            case "pick" if args[0].op in ("true", "false"):
                return args[1] if args[0].op == "true" else args[2]
            case "pick" if args[1] is args[2]:
                return args[1]
            case "min" | "max":
                return self._extreme(node, args)
        if args and all(arg.op == "const" for arg in args):
            value = _computed(node, [arg.value for arg in args])
            if isinstance(value, bool):
                return TRUE if value else FALSE
            if value is not None:
                return make("const", (), value, node)
        return make(node.op, args, node.value, node)

    def _joined(self, node: Plain, args: tuple[Plain, ...]) -> Plain:
        ends, passes = ("false", "true") if node.op == "and" else ("true", "false")
        kept = tuple(arg for arg in dict.fromkeys(args) if arg.op != passes)
        if any(arg.op == ends for arg in kept):
            return TRUE if ends == "true" else FALSE
        if not kept:
            return TRUE if passes == "true" else FALSE
        return kept[0] if len(kept) == 1 else self._nodes.make(node.op, kept, None, node)

    def _extreme(self, node: Plain, args: tuple[Plain, ...]) -> Plain:
        known = [arg for arg in args if arg.op == "const"]
        kept = [arg for arg in dict.fromkeys(args) if arg.op != "const"]
        if known:
            best = (min if node.op == "min" else max)(arg.value for arg in known)  # type: ignore[type-var]
            kept.append(self._nodes.make("const", (), best, node))
        return kept[0] if len(kept) == 1 else self._nodes.make(node.op, tuple(kept), None, node)


class Nodes:
    """Makes nodes so that equal ones are one object."""

    def __init__(self) -> None:
        self._made: dict[tuple[object, ...], Plain] = {}

    def make(self, op: str, args: tuple[Plain, ...], value: object, like: Plain) -> Plain:
        """The node, with the bounds of size and error of another."""
        kind = type(value)  # 1 and 1.0 are equal, a mask and a figure are not
        key = (op, value, kind, like.error, *map(id, args))
        found = self._made.get(key)
        if found is None:
            found = self._made[key] = Plain(op, args, value, like.size, like.error)
        return found


def _opposite(arg: Plain, make: Callable[..., Plain], node: Plain) -> Plain:
    if arg.op in ("true", "false"):
        return FALSE if arg.op == "true" else TRUE
    return arg.args[0] if arg.op == "not" else make("not", (arg,), None, node)


def _computed(node: Plain, values: list[Any]) -> Any:
    """What a node of known arguments comes to; None where it can't be computed."""
    if node.op in SIGNS:
        return values[0] >= slack(node) if node.op == "ge" else values[0] > slack(node)
    try:
        return _COMPUTED[node.op](node, values)
    except (ArithmeticError, ValueError, TypeError):
        return None


def _called(node: Plain, values: list[Any]) -> float:
    value: Any = node.value
    calculation, end = value
    return float(calculation.at(end)(*values))


_COMPUTED: dict[str, Callable[[Plain, list[Any]], Any]] = {
    **COMPUTED,
    "pow": lambda n, v: reduce(lambda a, b: a * b, [v[0]] * cast(int, n.value)),
    "root": lambda n, v: sqrt(max(v[0], 0.0)),
    "call": _called,
}
