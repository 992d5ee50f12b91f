"""The form of a part: a field for each figure, who says so, what is taken while it is empty.

The figures that open questions need come first, then those that are given, then the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from fitcheck.check import BuildCheck, describe_fact
from fitcheck.check.records.keeping import Saying, held, typed, where_of, written
from fitcheck.knowledge import Knowledge
from fitcheck.model import (
    EVERYWHERE,
    SIDES,
    Attribute,
    EngineBuild,
    Evidence,
    Fact,
    Origin,
    Selector,
    Statement,
)
from fitcheck.quantity import System, show
from fitcheck.report.parts import written as may_be_written
from fitcheck.report.phrases import capital
from fitcheck.source import BadInput, Problem, frozen

# Who can say so: what it is called on a form, its evidence, who is meant where nobody is named.
SAYS = {
    "page": ("a seller's page or box", Evidence.CLAIMED, "seller's page"),
    "paper": ("a cam card, manual or paper", Evidence.CLAIMED, "papers"),
    "me": ("I measured or saw it", Evidence.MEASURED, "me"),
    "guess": ("only a guess", Evidence.ASSUMED, "me"),
}
MOST_FIRST, MOST_APART = 8, 4
MOST_LETTERS = 200
AT = "@"
APART = "told place by place"


@frozen
class Field:
    """One figure at all its places, or at one."""

    id: str
    title: str
    about: str
    unit: str
    value: str
    said: str
    taken: str
    options: tuple[tuple[str, str], ...] = ()
    several: bool = False
    chosen: tuple[str, ...] = ()
    places: str = ""
    differs: str = ""
    why: str = ""
    how: str = ""
    bad: str = ""
    typed: str | None = None

    @property
    def hint(self) -> str:
        """What an empty field says of itself where its figure is told place by place."""
        return APART if self.differs and not self.value else ""

    @property
    def shown(self) -> str:
        """What stands in the field."""
        return self.value if self.typed is None else self.typed


@frozen
class Form:
    """The fields of a part: needed first, given, the rest."""

    slot: str
    title: str
    about: str
    optional: bool
    state: str
    first: tuple[Field, ...]
    given: tuple[Field, ...]
    more: tuple[Field, ...]


@frozen
class Wants:
    """A figure that an open question needs, as the ranking says it."""

    name: str
    why: str


class Fields:
    """Makes the fields of a check's build."""

    def __init__(self, check: BuildCheck, system: System, wants: Sequence[Wants] = ()) -> None:
        self.check = check
        self.build = check.build
        self.knowledge = check.knowledge
        self.system: System = system
        self.wants = {one.name: one.why for one in wants}

    def form(self, slot: str) -> Form:
        """The form of a part."""
        part_class = self.knowledge.classes[slot]
        attributes = may_be_written(part_class)
        names = {one.attribute.name for one in self.build.statements()}
        first = [
            self.knowledge.attributes[name]
            for name in self.wants
            if name.partition(".")[0] == slot and self.knowledge.attributes[name] in attributes
        ]
        first = [one for one in first if one.name not in names][:MOST_FIRST]
        given = [one for one in attributes if one.name in names]
        rest = [one for one in attributes if one not in first and one not in given]
        return Form(
            slot,
            capital(part_class.title),
            part_class.about,
            part_class.optional and not part_class.needed,
            self._state(slot),
            tuple(map(self.field, first)),
            tuple(map(self.field, given)),
            tuple(map(self.field, rest)),
        )

    def _state(self, slot: str) -> str:
        if slot in self.build.parts:
            return "listed"
        return "none" if slot in self.build.absent else "open"

    def field(self, attribute: Attribute, selector: Selector = EVERYWHERE) -> Field:
        """The field of a figure at all places, or at those of a selector."""
        said = next(iter(held_here(self.build, attribute, selector)), None)
        own = [one for one in self.build.statements() if one.attribute.name == attribute.name]
        where = where_words(selector)
        procedure = self.knowledge.procedures.get(attribute.measure)
        several = attribute.several
        value = written(said) if said is not None else ""
        return Field(
            field_id(attribute, selector),
            capital(attribute.title if selector == EVERYWHERE else where),
            attribute.about if selector == EVERYWHERE else "",
            unit_of(attribute, self.system),
            in_a_field(said),
            said_words(said) or (_apart_words(own) if selector == EVERYWHERE else ""),
            "" if said or (own and selector == EVERYWHERE) else self._taken(attribute, selector),
            options_of(attribute),
            several,
            tuple(value) if isinstance(value, list) else (value,) if value else (),
            "" if attribute.each == "engine" or selector != EVERYWHERE else attribute.each,
            _differs(own) if selector == EVERYWHERE else "",
            self.wants.get(attribute.name, ""),
            str(procedure.file.tool) if procedure and not procedure.asked else "",
        )

    def places(self, attribute: Attribute) -> list[Field]:
        """A field for each place of a figure, sides and banks before single ones."""
        return [self.field(attribute, selector) for selector in self._selectors(attribute)]

    def _selectors(self, attribute: Attribute) -> Iterator[Selector]:
        layout = self.build.layout
        if attribute.each in ("bank", "valve", "cylinder"):
            yield from (Selector(bank=name) for name, _ in layout.banks)
        if attribute.each == "valve":
            yield from (Selector(side=side) for side in SIDES)
        for place in layout.positions(attribute.each):
            if place.cylinder:
                yield Selector(None, place.cylinder, place.side)

    def _taken(self, attribute: Attribute, selector: Selector) -> str:
        """What is taken for a figure that nobody gave."""
        positions = self.build.layout.positions(attribute.each)
        place = next((one for one in positions if selector.covers(one)), positions[0])
        if attribute.text or attribute.slot in self.build.absent:
            return ""
        return taken_words(self.check.likelihoods.fact(attribute.name, place), self.system)


def held_here(build: EngineBuild, attribute: Attribute, selector: Selector) -> list[Statement]:
    """What holds of what is said of a figure at just these places.

    Of a part with an entry for each side, what both say alike is said of all.
    """
    said = held(build, attribute, selector)
    if said is not None or selector != EVERYWHERE or attribute.each != "valve":
        return [said] if said is not None else []
    # The same said of either side, even where something better known holds on one of them.
    said_of = [
        {_as_said(one): one for one in build.statements()
         if one.attribute.name == attribute.name and one.selector == Selector(side=side)}
        for side in SIDES
    ]  # fmt: skip
    both = max(said_of[0].keys() & said_of[1].keys(), key=lambda key: said_of[0][key].strength,
               default=None)  # fmt: skip
    return [said[both] for said in said_of] if both else []


def _as_said(one: Statement) -> tuple[str, Evidence, Origin]:
    return str(written(one)), one.evidence, one.origin


def in_a_field(said: Statement | None) -> str:
    """What stands in a field."""
    value = "" if said is None else written(said)
    return value if isinstance(value, str) else ", ".join(value)


def in_words(attribute: Attribute, text: str) -> str:
    """What stands in a field as it is said aloud: options by their words."""
    words = dict(options_of(attribute))
    return ", ".join(words.get(one, one) for one in text.split(", "))


def read_as(said: Sequence[Statement]) -> str:
    """How a figure was understood: of several, which each is and where."""
    return ", ".join(
        " ".join(filter(None, (one.selector.side, one.attribute.title, text)))
        if len(said) > 1
        else text
        for one in said
        if (text := getattr(one.value, "text", ""))
    )


def taken_words(fact: Fact, system: System) -> str:
    """What is taken for a figure while nobody gives it, and how sure that is."""
    kind = fact.attribute.kind
    if fact.interval is not None and kind is not None:
        value = show(fact.interval, kind, system)
    else:
        options = fact.attribute.option_words
        named = [word for i, word in enumerate(options) if fact.mask >> i & 1]
        value = " or ".join(named) if 0 < len(named) < len(options) else "any"
    if fact.evidence is Evidence.USUAL:
        return f"While empty, as usual: {value}; for “likely” alone."
    if fact.given:
        return f"While empty: {value}, {describe_fact(fact)}."
    return f"While empty: anything from {value}." if fact.interval else "While empty: open."


def unit_of(attribute: Attribute, system: System) -> str:
    """The unit that a figure is usually written in; empty for what has none."""
    kind = attribute.kind
    return "" if kind is None else (kind.inch if system == "inch" else kind.metric)[0]


def options_of(attribute: Attribute) -> tuple[tuple[str, str], ...]:
    """The options of a choice, with their words."""
    return tuple(zip(attribute.options, attribute.option_words, strict=True))


def said_words(said: Statement | None) -> str:
    """Who says so, of what stands in a field."""
    if said is None:
        return ""
    origin = str(said.origin)
    return f"{said.evidence.word} {origin}".strip()


def where_words(selector: Selector) -> str:
    """The places of a selector, as they are written in a file."""
    bank = f"bank {selector.bank}" if selector.bank else ""
    cylinder = str(selector.cylinder or "")
    if cylinder and not selector.side:
        cylinder = f"cylinder {cylinder}"
    return " ".join(filter(None, (bank, cylinder, selector.side))) or "all"


def _apart_words(own: list[Statement]) -> str:
    """What is said of a figure where no one value is said of all its places."""
    places: dict[str, Statement] = {}
    for one in sorted(own, key=lambda one: one.strength):
        places[where_of(one)] = one
    told = [f"{where} {in_a_field(one)}" for where, one in places.items()]
    more = f" and {len(told) - MOST_APART} more" if len(told) > MOST_APART else ""
    return f"{', '.join(told[:MOST_APART])}{more}" if told else ""


def _differs(own: list[Statement]) -> str:
    places = {where_of(one) for one in own} - {"all"}
    return f"{len(places)} {'place' if len(places) == 1 else 'places'} told apart" if places else ""


def field_id(attribute: Attribute, selector: Selector = EVERYWHERE) -> str:
    """What a field is called in a form."""
    where = where_words(selector)
    return attribute.name if where == "all" else f"{attribute.name}{AT}{where}"


@frozen
class Answered:
    """What a form says: changes, by the field; and what is refused, by the field."""

    sayings: tuple[Saying, ...]
    refused: dict[str, str]


def read_form(
    typed_in: dict[str, str],
    was: dict[str, str],
    origin: tuple[Evidence, Origin],
    build: EngineBuild,
    knowledge: Knowledge,
    system: System,
) -> Answered:
    """The changes that a form makes; each field that cannot be is told, the rest is taken.

    `was` is what stood in a field when somebody saw it: where something else stands there by now
    and was not seen, the change is asked about and not made.
    """
    sayings: list[Saying] = []
    refused: dict[str, str] = {}
    for name, text in typed_in.items():
        attribute, selector = named(name, knowledge)
        if attribute is None or selector is None:
            continue  # not of a form that this bench made
        value = " ".join(text.split())
        now = in_a_field(next(iter(held_here(build, attribute, selector)), None))
        if value == was.get(name, "").strip() or value == now:
            continue
        if now != was.get(name, "").strip():
            refused[name] = (
                f"Somebody else wrote {now or 'nothing'} here meanwhile. "
                f"Write {value or 'nothing'} again to put it in its place, or leave it."
            )
            continue
        try:
            own = _saying(name, value, attribute, selector, origin, build, knowledge, system)
            sayings.append(own)
        except BadInput as error:
            refused[name] = refusal(error.problems)
    return Answered(tuple(sayings), refused)


def _saying(
    name: str,
    value: str,
    attribute: Attribute,
    selector: Selector,
    origin: tuple[Evidence, Origin],
    build: EngineBuild,
    knowledge: Knowledge,
    system: System,
) -> Saying:
    if not value:
        return Saying(name, gone=tuple(held_here(build, attribute, selector)))
    said = said_in_field(attribute, selector, value, origin, build, knowledge, system)
    return Saying(name, said, typed=value)


def said_in_field(
    attribute: Attribute,
    selector: Selector,
    value: str,
    origin: tuple[Evidence, Origin],
    build: EngineBuild,
    knowledge: Knowledge,
    system: System,
) -> tuple[Statement, ...]:
    """What a field says; a bare figure that can't be read else is in the unit shown behind it."""
    if len(value) > MOST_LETTERS:
        raise BadInput(
            [Problem(f"more than {MOST_LETTERS} letters", None, "write the figure alone")]
        )
    where = where_words(selector)
    try:
        return typed(attribute, where, value, *origin, build.layout, knowledge)
    except BadInput:
        if attribute.kind is None or any(letter.isalpha() for letter in value):
            raise
        with_unit = f"{value} {unit_of(attribute, system)}"
        return typed(attribute, where, with_unit, *origin, build.layout, knowledge)


def named(name: str, knowledge: Knowledge) -> tuple[Attribute | None, Selector | None]:
    """The figure and the places that a field is about; None for what is no field."""
    own, _, where = name.partition(AT)
    return knowledge.attributes.get(own), Selector.read(where) if where else EVERYWHERE


def refusal(problems: Iterable[Problem]) -> str:
    """What is wrong and what to write, in a line or two."""
    told = [capital(one.what) + (f"; {one.mend}" if one.mend else "") for one in problems]
    return ". ".join(dict.fromkeys(told)) + "."


def origin_of(says: str, by: str, with_: str, today: date) -> tuple[Evidence, Origin]:
    """The evidence of what is typed now, and who says so."""
    _, evidence, usual = SAYS.get(says, SAYS["page"])
    by = " ".join(by.split())[:MOST_LETTERS] or usual
    if evidence is Evidence.MEASURED:
        return evidence, Origin(by, today, " ".join(with_.split())[:MOST_LETTERS])
    return evidence, Origin(by)
