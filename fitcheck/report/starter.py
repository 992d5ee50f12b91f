"""Files to start from: what there is to say, line by line, for whoever holds a page or a tape.

Nothing in them is a figure of any part. A line behind a # waits for its figure; what stays behind
the # counts as wide as such parts come.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from textwrap import wrap

from fitcheck.knowledge import Knowledge
from fitcheck.model import Attribute, PartClass
from fitcheck.quantity import System
from fitcheck.report.parts import value_words, written
from fitcheck.report.phrases import capital
from fitcheck.report.schema import comment
from fitcheck.source import frozen

WIDTH = 100
BLANK = "____"
_LAID_OUT = ("engine.cylinders", "engine.layout")


@frozen
class StartRequest:
    """What a build is started with; `given` are values by part and what they are called there."""

    title: str
    cylinders: int
    layout: str
    given: Mapping[str, str]


def build_starter(
    asked: StartRequest, knowledge: Knowledge, system: System, *, everything: bool = False
) -> str:
    """A build file to fill in; it can be checked as it stands.

    Without `everything` it holds what start.yaml lists: what pages, cards and a tape tell first.
    """
    made = (_Whole if everything or not knowledge.starts else _Short)(asked, knowledge, system)
    return "\n".join(made.lines()) + "\n"


class _Build:
    """What both kinds of build file to start from share."""

    HOW = (
        f"Take the # away from each line you can fill, and put the figure in the place of {BLANK}, "
        "as the page has it: 2.02/1.60 where intake and exhaust differ, 125 lbs @ 1.800, .550. "
        "What you leave counts as wide as is told behind it."
    )

    def __init__(self, asked: StartRequest, knowledge: Knowledge, system: System) -> None:
        self.asked = asked
        self.knowledge = knowledge
        self.system: System = system

    def lines(self) -> Iterator[str]:
        yield comment("build")
        yield from _note(self.HOW)
        yield f"build: {_quoted(self.asked.title)}"
        yield f'cylinders: "{self.asked.cylinders}"'
        yield from self.banks()
        yield "parts:"
        listed: set[str] = set()
        for heading, slots in self.places().items():
            yield f"  # {heading.upper()}"
            for slot in slots:
                yield from self.part(self.knowledge.classes[slot])
            listed.update(slots)
        others = [slot for slot in self.knowledge.classes if slot not in listed]
        if others:
            yield from _note(
                f"Not listed: {', '.join(others)}. 'fitcheck parts SLOT' tells what there is to "
                "say of each, 'fitcheck start --all' writes a line for all of it.",
                2,
            )

    def places(self) -> dict[str, tuple[str, ...]]:
        """The parts listed, by where somebody looks; what is given of others comes last."""
        found = {str(one.title): tuple(map(str, one.figures)) for one in self.knowledge.starts}
        named = {slot for slots in found.values() for slot in slots}
        rest = {name.partition(".")[0] for name in self.asked.given} - named
        return found | ({"Other parts": tuple(sorted(rest))} if rest else {})

    def banks(self) -> Iterator[str]:
        if self.asked.layout == "inline" or self.asked.cylinders < 2:
            return
        numbers = [f'"{number}"' for number in range(1, self.asked.cylinders + 1)]
        left, right = ", ".join(numbers[::2]), ", ".join(numbers[1::2])
        yield f"banks: {{left: [{left}], right: [{right}]}}  # as your engine counts them"

    def part(self, part_class: PartClass) -> Iterator[str]:
        raise NotImplementedError

    def said(self, slot: str) -> dict[str, str]:
        """What is given of a part, by what it is called."""
        given = {
            name.partition(".")[2]: value
            for name, value in self.asked.given.items()
            if name.partition(".")[0] == slot
        }
        return (
            {"layout": self.asked.layout, **given}
            if slot == "engine" and self.asked.layout
            else given
        )

    def left(self, part_class: PartClass, names: Iterable[str] | None = None) -> list[Attribute]:
        """The figures of a part that are not given, all or those named."""
        words = self.knowledge.words
        slot = part_class.id
        said = {words.attribute(slot, name).name for name in self.said(slot)} | set(_LAID_OUT)
        every = {one.short_name: one for one in written(part_class)}
        return [
            every[name]
            for name in (every if names is None else names)
            if every[name].name not in said
        ]

    def blank(self, attribute: Attribute) -> str:
        """What waits for a figure or an option."""
        kind = attribute.kind
        unit = "" if kind is None else (kind.inch if self.system == "inch" else kind.metric)[0]
        signed = self.signed(attribute)
        name = signed[0] if signed else attribute.short_name
        return f"{name}: {BLANK} {unit}".rstrip()

    def signed(self, attribute: Attribute) -> tuple[str, str] | None:
        """The words for a figure with either sign, where sellers print it the other way round."""
        slot, _, name = attribute.name.partition(".")
        lists = self.knowledge.word_lists
        if slot not in lists.forms or name not in lists.forms[slot].signs:
            return None
        said = lists.attributes[slot]
        return said.positive[attribute.name][0], said.negative[attribute.name][0]

    def note(self, attribute: Attribute) -> str:
        """What it is, and what may be written or how wide it is without."""
        value = value_words(attribute, self.system)
        if attribute.kind is not None:
            value = f"else {value.rpartition('within ')[2]}"
        if signed := self.signed(attribute):
            return f"or {signed[1]}, {attribute.title}: {value}"
        return f"{attribute.title}: {value}"


class _Short(_Build):
    """What pages, cards and a tape tell first: a line for each figure."""

    def part(self, part_class: PartClass) -> Iterator[str]:
        slot = part_class.id
        said = self.said(slot)
        figures, measured = (
            self.left(part_class, [str(name) for name in names])
            for names in (self.listed("figures", slot), self.listed("measured", slot))
        )
        if len(figures) == 1 and not (said or measured):
            yield self.line(f"  # {slot}: {{claimed: {{{self.blank(figures[0])}}}}}", figures[0])
            return
        yield f"  {slot}:"
        if said or figures:
            yield "    claimed:"
        yield from (f"      {name}: {_value(value)}" for name, value in said.items())
        yield from (self.line(f"      # {self.blank(one)}", one) for one in figures)
        if measured:
            yield "    measured:  # beneath it also by: me, when: 2026-03-09, with: caliper"
        yield from (self.line(f"      # {self.blank(one)}", one) for one in measured)

    def listed(self, which: str, slot: str) -> list[str]:
        """What start.yaml lists of a part, read or measured."""
        return [name for one in self.knowledge.starts for name in getattr(one, which).get(slot, ())]

    def line(self, start: str, attribute: Attribute) -> str:
        """A line with its note, where there is room for it."""
        note = self.note(attribute)
        options = note.rpartition(": ")[2]
        told = (
            f"{start:<34}  # {note}",
            f"{start}  # {note}",
            f"{start}  # one of: {options}",
            f"{start:<34}  # {attribute.title}: 'fitcheck parts {attribute.slot}' lists them",
        )
        return next((one for one in told if len(one) <= WIDTH), start)


class _Whole(_Build):
    """A line for everything that can be said."""

    def places(self) -> dict[str, tuple[str, ...]]:
        found = super().places()
        named = {slot for slots in found.values() for slot in slots}
        rest = tuple(slot for slot in self.knowledge.classes if slot not in named)
        given = found.pop("Other parts", ())
        return found | ({"Other parts": (*given, *rest)} if given or rest else {})

    def part(self, part_class: PartClass) -> Iterator[str]:
        slot, said = part_class.id, self.said(part_class.id)
        # A part that may be left out is listed only where it is there.
        mark = "# " if part_class.optional and not said else ""
        about = " (leave it out, or write none, where there is none)" if part_class.optional else ""
        yield ""
        yield from _note(f"{capital(part_class.title)}: {part_class.about}{about}", 2)
        yield f"  {mark}{slot}:"
        yield f"  {mark}  claimed:"
        yield from (f"      {name}: {_value(value)}" for name, value in said.items())
        for attribute in self.left(part_class):
            yield from self.figure(attribute)

    def figure(self, attribute: Attribute) -> Iterator[str]:
        """A line to fill, its note behind it or, where that is long, above it."""
        line = f"      # {self.blank(attribute)}"
        about = f"{attribute.title} ({attribute.about})" if attribute.about else attribute.title
        note = self.note(attribute).replace(attribute.title, about, 1)
        if len(line) + len(note) + 4 <= WIDTH:
            yield f"{line}  # {note}"
        else:
            yield from _note(capital(note), 6)
            yield line


def _note(text: str, indent: int = 0) -> Iterator[str]:
    start = f"{' ' * indent}# "
    yield from wrap(text, WIDTH, initial_indent=start, subsequent_indent=start)


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _value(text: str) -> str:
    """A value as it was given: a list or places stay as they are."""
    return text if text[:1] in "[{" else _quoted(text)


def prices_starter(knowledge: Knowledge) -> str:
    """A price file to fill in."""
    lines = [
        comment("prices"),
        *_note(
            "What is not priced is said to have no price. Operations without one go by the hour."
        ),
        "prices: Prices of my shop",
        f"# hour: {BLANK} EUR",
        "operations: {}",
        *_note(
            "In the place of {}, one line for each operation that has a price of its own a place:"
        ),
    ]
    for name, operation in knowledge.operations.items():
        lines.append(f"#  {name}: {BLANK} EUR  # {operation.file.title}, {operation.file.hours}")
    lines += [
        "parts: []",
        *_note("In the place of [], parts on offer (price for all places, or those of one side):"),
        "#  - fits: spring",
        f"#    price: {BLANK} EUR",
        "#    keeps: [installed_height]  # found on the head, not on the part",
        "#    part: {name: what it is, claimed: {by: shop, rate: ____ lbf/in}}",
    ]
    return "\n".join(lines) + "\n"


def house_starter(knowledge: Knowledge) -> str:
    """A house file to fill in."""
    rule = next(
        rule
        for rule in knowledge.rules.values()
        if (rule.severity, rule.each) == ("stop", "valve")
        and any(limit.by is None for limit in rule.limits.values())
    )
    limit = next(limit for limit in rule.limits.values() if limit.by is None)
    value = limit.entries[""].text
    lines = [
        comment("house"),
        *_note(
            "Limits and waivers of a shop, each with who decides and why; every report says so. "
            "'fitcheck rules' lists the rules, 'fitcheck rule RULE' the limits of one."
        ),
        "house: My shop",
        "limits: {}",
        *_note("In the place of {}, for example, with a figure of your own:"),
        f"#  {rule.id}.{limit.name}: {{value: {value}, reason: why, name: who, until: 2027-12-31}}",
        "waivers: []",
        *_note("In the place of [], clashes that you accept:"),
        f"#  - {{rule: {rule.id}, at: 3 exhaust, reason: why, name: who, until: 2027-12-31}}",
    ]
    return "\n".join(lines) + "\n"


def routes_starter(knowledge: Knowledge) -> str:
    """A routes file to fill in."""
    return "\n".join(
        [
            comment("routes"),
            *_note("Each way's build and price file stand beside this one; two ways at least."),
            "routes: Ways to a head",
            "ways:",
            "  - way: rework what I have",
            "    build: build.yaml",
            "    prices: prices.yaml",
            f"    # bought: {{taking it apart: {BLANK} h}}",
            "  - way: start from bare castings",
            "    build: build.yaml  # another build file, with the castings in it",
            "    prices: prices.yaml",
            f"    # bought: {{bare castings: {BLANK} EUR, finishing them: {BLANK} h}}",
            "",
        ]
    )


def pile_starter(knowledge: Knowledge) -> str:
    """A pile file to fill in."""
    return "\n".join(
        [
            comment("pile"),
            *_note(
                "One entry for each lot of pieces alike: its part, how many, and what is known of "
                "it, as in a build file; 'fitcheck parts PART' tells what there is to say."
            ),
            "pile: What lies on the bench",
            "parts:",
            "  - spring:",
            "      name: springs from the first box",
            f'      # pieces: "{BLANK}"',
            f"      # price: {BLANK} EUR",
            '      # unidentified: "yes"  # where nobody knows which part it is',
            "      measured:",
            "        by: me",
            f"        # outside_diameter: {BLANK} in",
            f"        # installed_height: {BLANK} in",
            "",
        ]
    )


def columns_starter(knowledge: Knowledge) -> str:
    """A file that says what a list's columns are, to fill in."""
    lines = [
        comment("columns"),
        *_note("Left, the header of a column in your list; right, what it is and its unit."),
        "classes: spring",
        "# item: Part no",
        "# price: Net",
        "# currency: EUR",
        '# thousands: ","',
        "columns:",
        "  Rate: rate lbf/in",
    ]
    for attribute in written(knowledge.classes["spring"]):
        name = attribute.short_name
        unit = attribute.kind.inch[0] if attribute.kind else ""
        if name != "rate":
            lines.append(f"  # {capital(attribute.title)}: {name} {unit}".rstrip())
    return "\n".join(lines) + "\n"


STARTERS: dict[str, Callable[[Knowledge], str]] = {
    "prices": prices_starter,
    "house": house_starter,
    "routes": routes_starter,
    "pile": pile_starter,
    "columns": columns_starter,
}
