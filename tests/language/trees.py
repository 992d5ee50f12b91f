"""Random typed trees, and their values at a point by the plainest means there are.

A tree is made over variables whose plausible ranges and values are typed in decimals, so that
margins often meet exactly. The value at a point is found by recursion over the tree in fractions:
nothing of lowering, ranges or printing is used for it.
"""

from fractions import Fraction
from math import isqrt
from random import Random

from fitcheck.calculations import CALCULATIONS
from fitcheck.language import (
    TRUTH,
    Compare,
    Is,
    Known,
    One,
    Options,
    Some,
    Step,
    Variable,
    walk,
    words,
)
from fitcheck.language.tree import Among, Apply, Call, Number, Power, Same
from fitcheck.quantity import KINDS, NUMBER, Interval

AT = (0, 1)
INCH = Fraction(254, 10)
OPTIONS = Options("follower", ("hydraulic_flat", "solid_flat", "hydraulic_roller", "solid_roller"))

LENGTH, AREA = KINDS["length"].dimension, KINDS["area"].dimension
FORCE, RATE = KINDS["force"].dimension, KINDS["rate"].dimension

# In thousandths of the kind's own unit: a positive range, one around zero, one below it.
PLAUSIBLE = {
    LENGTH: (INCH, [(100, 3000), (-500, 500), (0, 60), (-900, -100)]),
    NUMBER: (Fraction(1), [(500, 2000), (-1500, 1500), (0, 1000), (-3000, -250)]),
    FORCE: (Fraction("4.4482216152605"), [(20_000, 500_000), (-10_000, 10_000)]),
    RATE: (Fraction("0.1751268352465"), [(50_000, 900_000)]),
    AREA: (INCH**2, [(10, 4000), (-100, 100)]),
}
OTHERS = (Fraction(1), [(1000, 90_000), (-5000, 5000)])

# One direction each, both directions, and bounds of their own.
CALLED = [
    CALCULATIONS[name]
    for name in (
        "swept_volume",
        "compression_ratio",
        "spring_rate",
        "solid_height",
        "bolt_grip",
        "overlap",
        "intake_closing",
        "mean_piston_speed",
        "valve_curtain_area",
        "relative_radius",
        "spring_rate_from_loads",
        "deck_volume",
    )
]


class Grower:
    """Grows trees over a few variables of each dimension."""

    def __init__(self, seed):
        self.random = Random(seed)
        self.variables = {}  # by name
        self._of = {}  # by dimension
        self._twins = 0
        self._steps, self._agreed = [], []  # derived figures, to be met again

    def variable(self, dimension):
        known = self._of.setdefault(dimension, [])
        if len(known) < 4:
            known.append(self._new(dimension, f"part.a{len(self.variables)}"))
        return self.random.choice(known)

    def _new(self, dimension, name):
        unit, ranges = PLAUSIBLE.get(dimension, OTHERS)
        low, high = self.random.choice(ranges)
        plausible = Interval(low * unit / 1000, high * unit / 1000)
        found = self.variables[name] = Variable(dimension, AT, name, None, plausible)
        return found

    def _choice(self, kind=One):
        name = f"{kind.__name__.lower()}{self.random.randrange(2)}"
        return self.variables.setdefault(name, Variable(kind(OPTIONS), AT, name))

    def quantity(self, dimension, depth):
        """A tree of this dimension, at most `depth` operators deep."""
        if depth <= 0 or self.random.random() < 0.2:
            return self._leaf(dimension)
        grow = self.random.choices(_WAYS, _WEIGHTS)[0]
        return grow(self, dimension, depth - 1)

    def _leaf(self, dimension):
        dice = self.random.random()
        if dice < 0.06 and dimension == NUMBER:
            return Number(NUMBER, AT, Fraction(self.random.randint(0, 400), 100))
        if dice < 0.18:
            unit, ranges = PLAUSIBLE.get(dimension, OTHERS)
            low, high = sorted(self.random.randint(*self.random.choice(ranges)) for _ in "ab")
            high = low if self.random.random() < 0.7 else high
            return Known(dimension, AT, "limit", Interval(low * unit / 1000, high * unit / 1000))
        return self.variable(dimension)

    def _sum(self, dimension, depth):
        args = self.quantity(dimension, depth), self.quantity(dimension, depth)
        return Apply(dimension, AT, self.random.choice("+-"), args)

    def _product(self, dimension, depth):
        if dimension == AREA and self.random.random() < 0.6:
            parts = (LENGTH, LENGTH)
        elif dimension == FORCE and self.random.random() < 0.6:
            parts = (RATE, LENGTH)
        else:
            parts = (NUMBER, dimension)
        args = [self.quantity(part, depth - 1) for part in parts]
        self.random.shuffle(args)
        return Apply(dimension, AT, "*", tuple(args))

    def _quotient(self, dimension, depth):
        below = self.random.choice([NUMBER, LENGTH])
        above = tuple(a + b for a, b in zip(dimension, below, strict=True))
        args = self.quantity(above, depth - 1), self._positive(below, depth - 2)
        return Apply(dimension, AT, "/", args)

    def _positive(self, dimension, depth):
        """A tree clipped to one side of zero, as a divisor or under a root."""
        unit, _ = PLAUSIBLE.get(dimension, OTHERS)
        low = self.random.randint(1, 300)
        clip = Interval(low * unit / 1000, (low + self.random.randint(100, 3000)) * unit / 1000)
        if self.random.random() < 0.2:
            clip = Interval(-clip.upper, -clip.lower)
        return Step(dimension, AT, "clipped", self.quantity(dimension, depth), None, clip)

    def _power(self, dimension, depth):
        if dimension == AREA:
            return Power(AREA, AT, self.quantity(LENGTH, depth), 2)
        if dimension == NUMBER:
            exponent = self.random.choice([2, 2, 3, 4])
            return Power(NUMBER, AT, self.quantity(NUMBER, depth - 1), exponent)
        return Apply(dimension, AT, "neg", (self.quantity(dimension, depth),))

    def _root(self, dimension, depth):
        square = tuple(2 * part for part in dimension)
        inside = Power(square, AT, self.quantity(dimension, depth - 1), 2)
        if self.random.random() < 0.7 and square in PLAUSIBLE:
            inside = Apply(square, AT, "abs", (self.quantity(square, depth - 1),))
        return Apply(dimension, AT, "sqrt", (inside,))

    def _extreme(self, dimension, depth):
        count = self.random.choice([2, 2, 3])
        args = tuple(self.quantity(dimension, depth) for _ in range(count))
        return Apply(dimension, AT, self.random.choice(["min", "max"]), args)

    def _absolute(self, dimension, depth):
        return Apply(dimension, AT, "abs", (self.quantity(dimension, depth),))

    def _pick(self, dimension, depth):
        args = (
            self.condition(depth - 1),
            self.quantity(dimension, depth),
            self.quantity(dimension, depth),
        )
        return Apply(dimension, AT, "pick", args)

    def _step(self, dimension, depth):
        """A derived quantity: one that stands in the tree already, or a new one."""
        same = [step for step in self._steps if step.type == dimension]
        if same and self.random.random() < 0.5:
            return self.random.choice(same[-3:])
        inner = self.quantity(dimension, depth)
        clip = self._new(dimension, "clip").plausible if self.random.random() < 0.6 else None
        self.variables.pop("clip", None)
        self._steps.append(Step(dimension, AT, f"d{len(self._steps)}", inner, None, clip))
        return self._steps[-1]

    def _agree(self, dimension, depth):
        """Two ways to one figure; at any point both give it."""
        same = [node for node in self._agreed if node.type == dimension]
        if same and self.random.random() < 0.5:
            return same[-1]
        self._twins += 1
        first = self._new(dimension, f"part.twin{self._twins}")
        name = f"{first.name}_again"
        again = Variable(dimension, AT, name, None, first.plausible)
        self.variables[name] = again
        self._agreed.append(Apply(dimension, AT, "agree", (first, again)))
        return self._agreed[-1]

    def _call(self, dimension, depth):
        found = [called for called in CALLED if called.dimension == dimension]
        if not found:
            return self._sum(dimension, depth)
        called = self.random.choice(found)
        args = []
        for argument in called.arguments:
            low, high = argument.base_range
            ends = sorted(
                low + (high - low) * Fraction(self.random.randint(0, 100), 100) for _ in "ab"
            )
            inner = self.quantity(argument.dimension, depth - 2)
            args.append(Step(argument.dimension, AT, "argument", inner, None, Interval(*ends)))
        return Call(dimension, AT, called, tuple(args))

    def condition(self, depth):
        dice = self.random.random()
        if depth > 0 and dice < 0.35:
            if dice < 0.10:
                return Apply(TRUTH, AT, "not", (self.condition(depth - 1),))
            count = self.random.choice([2, 2, 3])
            args = tuple(self.condition(depth - 1) for _ in range(count))
            return Apply(TRUTH, AT, self.random.choice(["and", "or"]), args)
        if dice > 0.80:
            return self._question()
        dimension = self.random.choice([LENGTH, LENGTH, NUMBER, FORCE, AREA, RATE])
        left, right = self.quantity(dimension, depth), self.quantity(dimension, depth - 1)
        op = self.random.choices([">=", ">", "<=", "<", "==", "!="], [4, 2, 3, 2, 1, 1])[0]
        return Compare(TRUTH, AT, op, left, right)

    def _question(self):
        dice = self.random.random()
        if dice < 0.6:
            return Is(TRUTH, AT, self._choice(), self.random.randint(1, OPTIONS.all - 1))
        if dice < 0.8:
            return Same(TRUTH, AT, self._choice(), self._choice())
        return Among(TRUTH, AT, self._choice(), self._choice(Some))


_WAYS = (
    Grower._sum,
    Grower._product,
    Grower._quotient,
    Grower._power,
    Grower._root,
    Grower._extreme,
    Grower._absolute,
    Grower._pick,
    Grower._step,
    Grower._agree,
    Grower._call,
)
_WEIGHTS = (10, 5, 3, 3, 2, 3, 1.5, 3, 4, 0.7, 2)


def shown(node):
    """A tree for the message of a failed test."""
    return words(node, lambda named: getattr(named, "name", str(getattr(named, "mask", "?"))))


def is_exact(node):
    """Whether nothing in a tree is rounded or a band: at a point it has one value."""
    return not any(
        isinstance(part, Call)
        or (isinstance(part, Apply) and part.op in ("sqrt", "agree"))
        or (isinstance(part, Known) and part.interval.width)
        for part in walk(node)
    )


def box(random, variables, *, points=False):
    """Ends for every variable inside its plausible range, equal ones for `points`; masks."""
    ends = {}
    for name, variable in variables.items():
        if isinstance(variable.type, One):
            ends[name] = 1 << random.randrange(4) if points else random.randint(1, OPTIONS.all)
        elif isinstance(variable.type, Some):
            sure = random.randint(0, OPTIONS.all)
            ends[name] = (sure, sure if points else sure | random.randint(0, OPTIONS.all))
        elif points:
            ends[name] = (_ends(random, variable)[0],) * 2
        elif name.endswith("_again"):
            low, high = ends[name.removesuffix("_again")]
            room = (high - low) / 2
            ends[name] = (low + random.choice([0, room, -room]), high + random.choice([0, room]))
            ends[name] = tuple(_inside(end, variable.plausible) for end in ends[name])
        else:
            ends[name] = _ends(random, variable)
    return ends


def _ends(random, variable):
    low, high = variable.plausible.lower, variable.plausible.upper
    dice = random.random()
    if dice < 0.1:
        return low, high  # nothing is known
    step = (high - low) / random.choice([4, 10, 100, 1000])
    start = low + step * random.randrange(int((high - low) / step) + 1)
    if dice < 0.45:
        return start, start
    return start, _inside(start + step * random.randint(1, 4), variable.plausible)


def _inside(end, plausible):
    return min(max(end, plausible.lower), plausible.upper)


def point(random, ends, variables):
    """One value for every variable, inside the box."""
    values = {"share": random.choice(_SHARES)}  # where in its band a limit lies
    for name, variable in variables.items():
        found = ends[name]
        if isinstance(variable.type, One):
            values[name] = random.choice([i for i in range(4) if found >> i & 1])
        elif isinstance(variable.type, Some):
            values[name] = found[0] | (found[1] & random.randint(0, OPTIONS.all))
        elif name.endswith("_again"):
            values[name] = values[name.removesuffix("_again")]
        else:
            low, high = found
            other = ends.get(f"{name}_again")
            if other is not None:  # what both ways to the figure leave
                low, high = max(low, other[0]), min(high, other[1])
            values[name] = low + (high - low) * random.choice(_SHARES)
    return values


_SHARES = [Fraction(0), Fraction(1), Fraction(1, 2), Fraction(1, 3), Fraction(7, 10)]


def value(node, values):
    """The value of a quantity at a point, or whether a condition holds there."""
    return _VALUES[type(node)](node, values)


def _apply(node, values):
    op = node.op
    if op == "pick":
        return value(node.args[1 if value(node.args[0], values) else 2], values)
    args = [value(arg, values) for arg in node.args]
    return _OPERATORS[op](*args)


def _root_of(square):
    scale = 10**40
    return Fraction(isqrt(square.numerator * scale**2 // square.denominator), scale)


def _called(node, values):
    calculation = node.calculation
    args = [
        float(value(arg, values) / argument.unit.factor - argument.unit.offset)
        for arg, argument in zip(node.args, calculation.arguments, strict=True)
    ]
    return (
        Fraction(calculation.function(*args)) + calculation.gives.offset
    ) * calculation.gives.factor


def _clipped(node, values):
    raw = value(node.inner, values)
    return raw if node.plausible is None else _inside(raw, node.plausible)


_OPERATORS = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
    "/": lambda a, b: a / b,
    "neg": lambda a: -a,
    "abs": abs,
    "sqrt": _root_of,
    "min": min,
    "max": max,
    "agree": lambda a, b: a,
    "not": lambda a: not a,
    "and": lambda *all_: all(all_),
    "or": lambda *all_: any(all_),
}
_COMPARED = {
    ">=": lambda a, b: a >= b,
    ">": lambda a, b: a > b,
    "<=": lambda a, b: a <= b,
    "<": lambda a, b: a < b,
    "==": lambda a, b: a == b,
    "!=": lambda a, b: a != b,
}
_VALUES = {
    Number: lambda node, values: node.value,
    Known: lambda node, values: node.interval.lower + values["share"] * node.interval.width,
    Variable: lambda node, values: values[node.name],
    Step: _clipped,
    Power: lambda node, values: value(node.base, values) ** node.exponent,
    Call: _called,
    Apply: _apply,
    Compare: lambda node, values: _COMPARED[node.op](
        value(node.left, values), value(node.right, values)
    ),
    Is: lambda node, values: bool(1 << values[node.choice.name] & node.mask),
    Same: lambda node, values: values[node.left.name] == values[node.right.name],
    Among: lambda node, values: bool(1 << values[node.choice.name] & values[node.among.name]),
}
