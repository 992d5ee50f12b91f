"""Plain trees printed as expressions over columns, for an engine that reads SQL.

What is used twice is computed once, in a layer of its own: each layer is a query over the one
beneath. The text steps round what such engines differ in or get wrong: a bare 0.06 may be a
decimal, so every figure is written with an exponent; least() of NULL is no bound, so the inputs
must have none; NaN counts as larger than anything, so a verdict that rests on a calculation which
failed is NEAR. An engine may hand such a NaN back as NULL, which is no isnan(); so each call is
made NaN again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fitcheck.calculations import Calculation
from fitcheck.language.compiled import CONFLICT, FITS, NEAR, SILENT, STRADDLES
from fitcheck.language.operations import OPERATIONS, SIGNS, written
from fitcheck.language.outcome import VerdictConditions, slack
from fitcheck.language.plain import Plain, beneath

Input = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Called:
    """A calculation's bound that a query asks for: its name there, and what it takes."""

    name: str
    calculation: Calculation
    end: int
    count: int


class Columns:
    """Prints trees over one table; `inputs` gives the text of each end of a variable.

    >>> from fitcheck.language.plain import Forest
    >>> forest = Forest()
    >>> a = forest.make_leaf("var", ("a", "lower"), 1.0)
    >>> Columns({("a", "lower"): "a_lo"}, [forest.least(a, forest.multiply(a, a))]).query("parts")
    'SELECT least(i0, (i0 * i0)) AS r0 FROM (SELECT a_lo AS i0 FROM parts)'
    """

    def __init__(self, inputs: Mapping[Input, str], roots: Sequence[Plain]) -> None:
        self._inputs = inputs
        self._used: dict[Input, str] = {}
        self._uses = _uses(roots)
        self._texts: dict[Plain, str] = {}
        self._level: dict[Plain, int] = {}
        self._layers: list[list[str]] = []
        self._temporary = 0
        self.calls: dict[str, Called] = {}
        self.results: list[str] = [self.text(root) for root in roots]

    def query(self, table: str, keep: Sequence[str] = (), results: Sequence[str] = ()) -> str:
        """The query that gives the columns kept, and the results as r0, r1…, or as told."""
        base = ", ".join([*keep, *(f"{text} AS {name}" for text, name in self._base())])
        query = f"SELECT {base or '1 AS nothing'} FROM {table}"
        for layer in self._layers:
            query = f"SELECT *, {', '.join(layer)} FROM ({query})"
        wanted = results or [f"{text} AS r{i}" for i, text in enumerate(self.results)]
        return f"SELECT {', '.join([*keep, *wanted])} FROM ({query})"

    def _base(self) -> list[tuple[str, str]]:
        return [(self._inputs[key], name) for key, name in self._used.items()]

    def standing(self, outcomes: Sequence[VerdictConditions]) -> str:
        """The worst standing that a rule has at several places, as one expression."""
        texts = list(dict.fromkeys(map(self._standing, outcomes)))
        return texts[0] if len(texts) == 1 else f"greatest({', '.join(texts)})"

    def _standing(self, outcome: VerdictConditions) -> str:
        cases = zip(outcome.parts, (SILENT, FITS, CONFLICT, STRADDLES), strict=True)
        calls = [self.text(node) for node in beneath(outcome.parts) if node.op == "call"]
        text = "".join(f" WHEN isnan({call}) THEN {NEAR}" for call in calls)
        for part, standing in cases:
            if part.op == "true":
                return f"CASE{text} ELSE {standing} END" if text else str(standing)
            if part.op != "false":
                text += f" WHEN {self.text(part)} THEN {standing}"
        return f"CASE{text} ELSE {NEAR} END" if text else str(NEAR)

    def text(self, node: Plain) -> str:
        """A node as an expression; what is used twice, as the name of its column."""
        found = self._texts.get(node)
        if found is None:
            args = [self.text(arg) for arg in node.args]
            found = self._written(node, args)
            level = max((self._level[arg] for arg in node.args), default=0)
            if node.args and (self._uses[node] > 1 or node.op == "call"):
                found, level = self._column(found, level), level + 1
            self._texts[node], self._level[node] = found, level
        return found

    def _column(self, text: str, level: int) -> str:
        while len(self._layers) <= level:
            self._layers.append([])
        name = f"t{self._temporary}"
        self._temporary += 1
        self._layers[level].append(f"{text} AS {name}")
        return name

    def _written(self, node: Plain, args: list[str]) -> str:
        if node.op in SIGNS:
            op = ">=" if node.op == "ge" else ">"
            return f"({args[0]} {op} {number(slack(node))})"
        if node.op in OPERATIONS:
            return written(node.op, args, node.value)
        match node.op:
            case "const":
                return str(node.value) if isinstance(node.value, int) else number(node.value)
            case "var":
                key: Input = node.value  # type: ignore[assignment]
                return self._used.setdefault(key, f"i{len(self._used)}")
            case "min" | "max" as op:
                return f"{'least' if op == 'min' else 'greatest'}({', '.join(args)})"
            case "pow":
                return f"({' * '.join([args[0]] * int(str(node.value)))})"
            case "root":
                return f"sqrt(greatest({args[0]}, 0e0))"
            case "call":
                return self._called(node, args)
            case "and" | "or" as op:
                return f"({f' {op.upper()} '.join(args)})"
            case "pick":
                return f"(CASE WHEN {args[0]} THEN {args[1]} ELSE {args[2]} END)"
        return node.op.upper()  # true, false

    def _called(self, node: Plain, args: list[str]) -> str:
        value: Any = node.value
        calculation, end = value
        name = f"{calculation.name}_{'up' if end > 0 else 'down'}"
        self.calls[name] = Called(name, calculation, end, len(args))
        return f"coalesce({name}({', '.join(args)}), CAST('NaN' AS DOUBLE))"


def number(value: object) -> str:
    """A float that every engine reads back as just that float."""
    text = repr(float(value))  # type: ignore[arg-type]
    text = text if "e" in text else f"{text}e0"
    return f"({text})" if text[0] == "-" else text


def _uses(roots: Sequence[Plain]) -> Counter[Plain]:
    uses: Counter[Plain] = Counter()
    stack = list(roots)
    while stack:
        node = stack.pop()
        uses[node] += 1
        if node.op == "pow":  # written as often as it is multiplied
            uses[node.args[0]] += 1
        if node.op == "single":
            uses[node.args[0]] += 1
        if uses[node] == 1:
            stack.extend(node.args)
    return uses
