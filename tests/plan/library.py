"""A small random library of rules and operations, as text for fitcheck and as data for tests.

All lengths are whole thousandths of an inch, so that a test can reckon in whole numbers.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from random import Random

MOST = 2000  # every figure is plausible from 0 to this
VALVE = ("valve.a", "valve.b", "valve.c")
CYLINDER = ("head.d", "head.f")
RATIO = (1, 3)  # what valve.r is plausible within


@dataclass
class Work:
    """An operation: where, its steps, and what it does to which figure.

    An effect is (sign, reads the ratio): figure + sign * amount (* valve.r).
    """

    name: str
    each: str
    step: int
    count: int
    effects: dict[str, tuple[int, bool]]
    undoes: list[str]
    hours: int  # hundredths
    after: list[str] = field(default_factory=list)

    def amount(self, steps: int) -> int:
        return self.step * steps


@dataclass
class Demand:
    """A rule: terms by sign and name, how they are joined, and what is wanted of them."""

    name: str
    joined: str  # sum, agree or max
    terms: list[tuple[int, str]]
    op: str
    limit: tuple[int, int]
    severity: str
    fixes: dict[str, bool]  # operation: does it ask for the shortfall
    each: str


def random_works(random: Random, count: int, most: int = 3, linear: bool = False) -> list[Work]:
    works: list[Work] = []
    for number in range(count):
        each = random.choice(["valve", "valve", "cylinder"])
        reach = [*VALVE, *CYLINDER] if each == "valve" else list(CYLINDER)
        names = random.sample(reach, random.randint(1, min(2, len(reach))))
        effects = {
            name: (
                random.choice([1, 1, -1]),
                not linear and each == "valve" and random.random() < 0.2,
            )
            for name in names
        }
        undone = [
            name for name in reach if name in effects or (not linear and random.random() < 0.15)
        ]
        after = [work.name for work in works if random.random() < 0.2]
        works.append(
            Work(
                f"work_{number}",
                each,
                2 * random.randint(2, 12),
                random.randint(1, most),
                effects,
                undone,
                random.randint(1, 40),
                after,
            )
        )
    return works


def random_demands(random: Random, count: int, works: list[Work], linear: bool) -> list[Demand]:
    demands = []
    for number in range(count):
        joined = "sum" if linear else random.choice(["sum", "sum", "sum", "agree", "max"])
        each = random.choice(["valve", "valve", "cylinder"])
        names = [*VALVE, *CYLINDER] if each == "valve" else list(CYLINDER)
        chosen = random.sample(names, 2 if joined != "sum" else random.randint(1, len(names)))
        if joined != "sum" and len(names) < 2:
            joined, chosen = "sum", names
        if each == "valve" and not any(name in VALVE for name in chosen):
            chosen = [random.choice(VALVE), *chosen][:2]
        terms = [(1, name) for name in chosen]
        if joined == "sum":
            terms = [terms[0], *((random.choice([1, -1]), name) for _, name in terms[1:])]
        middle = sum(sign for sign, _ in terms) * MOST // 2 if joined == "sum" else MOST // 2
        low = middle + random.randint(-60, 60)
        band = random.choice([0, 0, 10])
        useful = [
            work.name
            for work in works
            if {name for _, name in terms} & {*work.effects, *work.undoes}
        ]
        fixes = {
            name: random.random() < 0.5
            for name in random.sample(useful, min(len(useful), random.randint(1, 2)))
        }
        demands.append(
            Demand(
                f"demand_{number}",
                joined,
                terms,
                random.choice([">=", "<="]),
                (low, low + band),
                random.choice(["serious", "serious", "advice"]),
                fixes,
                each,
            )
        )
    return [demand for demand in demands if demand.fixes]


def inches(value: int) -> str:
    return f"{'-' if value < 0 else ''}{abs(value) // 1000}.{abs(value) % 1000:03} in"


def span(low: int, high: int) -> str:
    return f"{inches(low).removesuffix(' in')}..{inches(high)}"


def written(folder: Path, works: list[Work], demands: list[Demand]) -> Path:
    """The library as a rules folder."""
    length = "{{title: {0}, quantity: length, plausible: 0.000..2.000 in, measure: scale}}"
    files = {
        "sources.yaml": 'practice: {title: "common practice, no source", kind: practice}\n',
        "cautions.yaml": "grinding_dust: {title: Dust, text: Wear a mask., source: practice}\n",
        "questions.yaml": "tried: {title: does it fit?, short: fits, families: [tried]}\n",
        "choices.yaml": "lobe: {flat: flat lobe, roller: roller lobe}\n",
        "measuring/bench.yaml": "card: {title: by card, tool: card, setup: desk, steps: [Read it.],"
        " resolution: none, minutes: 1, source: practice}\n"
        "scale: {title: by scale, tool: scale, setup: desk, steps: [Read it.],"
        " resolution: 0.002 in, minutes: 1, source: practice}\n",
        "classes/valve.yaml": "title: valve\nabout: A valve.\neach: valve\nattributes:\n"
        + "".join(f"  {name[-1]}: {length.format(name[-1])}\n" for name in VALVE)
        + "  r: {title: r, quantity: number, plausible: 1..3, measure: card}\n",
        "classes/head.yaml": "title: head\nabout: A head.\neach: cylinder\nattributes:\n"
        + "".join(f"  {name[-1]}: {length.format(name[-1])}\n" for name in CYLINDER),
        "operations/works.yaml": "\n".join(map(_work_text, works)),
    }
    for demand in demands:
        files[f"fits/tried/{demand.name}.yaml"] = _demand_text(demand)
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    for name in ("mates", "derived"):
        (folder / name).mkdir(exist_ok=True)
    return folder


def _work_text(work: Work) -> str:
    effects = ", ".join(
        f"{name}: {name} {'+' if sign > 0 else '-'} amount{' * valve.r' if ratio else ''}"
        for name, (sign, ratio) in work.effects.items()
    )
    return f"""\
{work.name}:
  title: {work.name}
  does: It is done.
  sort: [removes_metal, makes_dust]
  on: {"valve" if work.each == "valve" else "head"}
  each: {work.each}
  amount: {{quantity: length, step: {inches(work.step)},
           range: {span(work.step, work.step * work.count)}, means: how much}}
  effects: {{{effects}}}
  undoes: [{", ".join(work.undoes)}]
  after: [{", ".join(work.after)}]
  hours: {work.hours / 100:.2f} h
  cautions: [grinding_dust]
  source: practice
"""


def _demand_text(demand: Demand) -> str:
    names = [name for _, name in demand.terms]
    if demand.joined == "sum":
        first, *others = demand.terms
        figure = first[1] + "".join(f" {'+' if sign > 0 else '-'} {n}" for sign, n in others)
    else:
        figure = f"{demand.joined}({', '.join(names)})"
    low, high = demand.limit
    limit = inches(low) if low == high else span(low, high)
    fixes = "\n".join(
        f"  - {{do: {name}{', amount: shortfall' if asks else ''}}}"
        for name, asks in demand.fixes.items()
    )
    return f"""\
title: {demand.name} is not met
subject: {demand.name}
severity: {demand.severity}
requires: {figure} {demand.op} wanted
limits:
  wanted: {{value: {limit}, source: practice}}
message: It is not met.
why: So it is.
fixes:
{fixes}
examples:
  unmeasured: [{{}}]
"""


def build_text(
    cylinders: int,
    facts: dict[tuple[str, str], tuple[int, int]],
    ratios: dict[str, tuple[int, int]],
) -> str:
    """A build file that states figures by (name, place); places as a selector says them."""
    rows: dict[str, dict[str, list[str]]] = {"valve": {}, "head": {}}
    for (name, place), (low, high) in facts.items():
        slot, _, attribute = name.partition(".")
        text = span(low, high)
        rows[slot].setdefault(attribute, []).append(f"{place}: {text}")
    for place, (low, high) in ratios.items():
        rows["valve"].setdefault("r", []).append(f'{place}: "{low}..{high}"')
    text = f'build: tried\ncylinders: "{cylinders}"\nparts:\n'
    for slot, said in rows.items():
        text += f"  {slot}:\n    measured:\n      by: bench\n"
        for attribute, where in said.items():
            text += f"      {attribute}: {{{', '.join(where)}}}\n"
    return text
