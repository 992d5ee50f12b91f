"""A few names to write expressions with, as the knowledge has them."""

from fitcheck.language import (
    YES_NO,
    Known,
    Lowering,
    One,
    Options,
    Some,
    Step,
    Variable,
    compile_intervals,
    parse,
)
from fitcheck.model.evidence import UNTOLD, Evidence
from fitcheck.quantity import EXACT, KINDS, read_quantity

LOCKS = Options("lock angle", ("seven", "ten"))
FOLLOWERS = Options("follower", ("flat", "roller"))
QUANTITIES = {
    "spring.height": ("length", "1.000..2.600 in"),
    "spring.solid": ("length", "0.5..1.8 in"),
    "spring.rate": ("rate", "50..1500 lbf/in"),
    "spring.load": ("force", "20..600 lbf"),
    "cam.lift": ("length", "0.100..0.600 in"),
    "rocker.ratio": ("number", "1.0..2.5"),
    "valve.lift": ("length", "0.100..1.300 in"),
    "shim.offset": ("length", "-0.200..0.200 in"),
    "seat.width": ("length", "0.020..0.200 in"),
    "port.area": ("area", "0.5..6 in2"),
    "guide.wear": ("length", "-0.010..0 in"),
}
CHOICES = {"locks.angle": LOCKS, "retainer.angle": LOCKS, "lifter.type": FOLLOWERS}
FLAGS = ["spring.damper", "seal.fitted"]
SETS = {"cam.suits": FOLLOWERS}
LIMITS = {
    "least": ("length", "0.060 in"),
    "window": ("length", "0.050..0.060 in"),
    "most": ("force", "400 lbf"),
}
NAMES = [*QUANTITIES, *CHOICES, *FLAGS, *SETS, *LIMITS, "open_height"]


def interval(kind, text):
    return read_quantity(text, KINDS[kind], EXACT).interval


def lookup(name, at):
    if name in QUANTITIES:
        kind, plausible = QUANTITIES[name]
        of = KINDS[kind]
        return Variable(of.dimension, at, name, of, interval(kind, plausible))
    if name in LIMITS:
        kind, band = LIMITS[name]
        return Known(KINDS[kind].dimension, at, name, interval(kind, band), KINDS[kind])
    if name in CHOICES:
        return Variable(One(CHOICES[name]), at, name)
    if name in FLAGS:
        return Variable(One(YES_NO), at, name)
    if name in SETS:
        return Variable(Some(SETS[name]), at, name)
    if name == "open_height":
        length = KINDS["length"]
        inner = parse("spring.height - valve.lift", lookup)
        return Step(length.dimension, at, name, inner, length, interval("length", "0.2..2.5 in"))
    return None


def tree(text, **how):
    return parse(text, lookup, NAMES, **how)


def bounds(text, ranks=None, **known):
    """Lower and upper bound of a quantity, in base units; what is not given is as plausible.

    What is given is measured, unless `ranks` tells its evidence.
    """
    compiled = compile_intervals([Lowering().interval(tree(text))])
    ends = []
    for name, which in compiled.inputs:
        kind, plausible = QUANTITIES[name]
        key = name.replace(".", "_")
        if which == "rank":
            told = Evidence.MEASURED if key in known else UNTOLD
            ends.append((ranks or {}).get(key, told))
            continue
        found = interval(kind, known.get(key, plausible))
        ends.append(found.lower if which == "lower" else found.upper)
    return compiled.function(ends)
