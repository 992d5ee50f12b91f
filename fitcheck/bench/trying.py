"""Try: other figures or parts supposed, side by side; nothing is written before one is kept."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date

from starlette.responses import Response

from fitcheck.bench.answering import mark_of, standing
from fitcheck.bench.asking import TYPED, Visit, asks, go, shown
from fitcheck.bench.desk import Desk
from fitcheck.bench.fields import (
    SAYS,
    Field,
    Wants,
    field_id,
    in_words,
    named,
    origin_of,
    read_as,
    refusal,
    said_in_field,
    where_words,
)
from fitcheck.bench.fields import Fields as Made
from fitcheck.check import BuildCheck, recheck
from fitcheck.check.comparing import turned
from fitcheck.check.records.keeping import Saying, ToKeep
from fitcheck.model import EngineBuild, Evidence, Origin, Selector, Statement
from fitcheck.report.answers import worst_place
from fitcheck.report.phrases import capital, counts, missing_words, summary
from fitcheck.report.stacking import stacked
from fitcheck.report.story import by_rule
from fitcheck.source import BadInput, Problem, frozen

NAMES = "ABCD"
NO_ONE = Origin("", None, "")


@dataclass
class Try:
    """What is supposed: figures by their fields as typed, and parts left out."""

    name: str
    figures: dict[str, str] = field(default_factory=dict)
    absent: set[str] = field(default_factory=set)


@frozen
class Tried:
    """A try beside the file as it is: what is supposed in words, and how all of it stands."""

    name: str
    supposed: tuple[tuple[str, str, str], ...]
    summary: str
    clashes: int
    open: int
    fits: int


@frozen
class TriedRow:
    """A question whose answer a try turns, with how it stands now and in each try."""

    rule: str
    subject: str
    cells: tuple[tuple[str, str, str], ...]


def tries_of(visit: Visit) -> dict[str, Try]:
    """The tries of the open file."""
    kept, desk = visit.bench.more, visit.bench.desk
    if kept.get("tries_of") != desk.name:
        kept["tries_of"], kept["tries"] = desk.name, {}
    found: dict[str, Try] = kept["tries"]
    return found


def show(visit: Visit, told: dict[str, str] | None = None, status: int = 200) -> Response:
    """All tries side by side, and the form of a part to suppose another of."""
    desk, tries = visit.bench.desk, tries_of(visit)
    slot = visit.said.get("slot", "")
    slot = slot if slot in desk.knowledge.classes else "spring"
    slot = slot if slot in desk.knowledge.classes else next(iter(desk.knowledge.classes))
    name = visit.said.get("name", "")
    name = name if name in tries else _free(tries)
    checks = {one.name: check_of(desk, one) for one in tries.values()}
    answer = shown(
        visit,
        "try",
        "Try",
        tried=[_tried(desk, one, checks[one.name]) for one in tries.values()],
        rows=_rows(desk, checks),
        names=list(checks),
        slot=slot,
        name=name,
        form=_form(visit, slot, tries.get(name), told or {}),
        places={
            title: [(one, capital(desk.knowledge.classes[one].title)) for one in some]
            for title, some in stacked(desk.knowledge.classes).items()
        },
        optional=desk.knowledge.classes[slot].optional,
        says=SAYS,
    )
    answer.status_code = status
    return answer


def _free(tries: dict[str, Try]) -> str:
    return next((one for one in NAMES if one not in tries), NAMES[-1])


def _form(
    visit: Visit, slot: str, own: Try | None, told: dict[str, str]
) -> dict[str, tuple[Field, ...]]:
    desk = visit.bench.desk
    wants = [Wants(one.name, one.why) for one in asks(visit, wait=not told) or ()]
    made = Made(desk.checked, desk.system, wants).form(slot)
    typed_in = visit.under(TYPED)

    def empty(one: Field) -> Field:
        now = f"In the file: {one.value} ({one.said})." if one.value else one.taken
        value = typed_in.get(one.id, own.figures.get(one.id, "") if own else "")
        chosen = tuple(value.split(", ")) if value else ()
        return replace(one, value=value, said=now, taken="", why="", places="", chosen=chosen,
                       bad=told.get(one.id, ""))  # fmt: skip

    first = (*made.given, *made.first)
    return {"first": tuple(map(empty, first)), "more": tuple(map(empty, made.more))}


# What is supposed.


def suppose(visit: Visit) -> Response:
    """Suppose figures of a part, or that there is none."""
    desk, tries = visit.bench.desk, tries_of(visit)
    desk.checked  # noqa: B018  raises where nothing is open
    name, slot = visit.said.get("name", ""), visit.said.get("slot", "")
    if name not in NAMES or slot not in desk.knowledge.classes:
        raise BadInput([Problem("there is no such try", None, "choose one on the page")])
    own = tries.get(name, Try(name))
    figures = {one: text for one, text in own.figures.items() if one.partition(".")[0] != slot}
    figures |= {one: " ".join(text.split()) for one, text in visit.under(TYPED).items()
                if text.strip() and one.partition(".")[0] == slot}  # fmt: skip
    told = _refused(desk, figures)
    if told:
        return show(visit, told, 422)
    absent = (own.absent - {slot}) | ({slot} if visit.said.get("none") == "yes" else set())
    made = Try(name, figures, absent)
    if figures or absent:
        tries[name] = made
    else:
        tries.pop(name, None)
    return go(f"/try?slot={slot}")


def _refused(desk: Desk, figures: dict[str, str]) -> dict[str, str]:
    told = {}
    for name, text in figures.items():
        try:
            _statements(desk, name, text, Evidence.MEASURED, NO_ONE)
        except BadInput as error:
            told[name] = refusal(error.problems)
    return told


def _statements(
    desk: Desk, name: str, text: str, evidence: Evidence, origin: Origin
) -> tuple[Statement, ...]:
    attribute, selector = named(name, desk.knowledge)
    if attribute is None or selector is None:
        return ()
    who = (evidence, origin)
    return said_in_field(attribute, selector, text, who, desk.build, desk.knowledge, desk.system)


def check_of(desk: Desk, own: Try) -> BuildCheck:
    """The check of the open file with what a try supposes."""
    build: EngineBuild = desk.build
    changed: set[str] = set()
    for slot in own.absent:
        parts = {name: part for name, part in build.parts.items() if name != slot}
        build = replace(build, parts=parts, absent=build.absent | {slot})
        changed |= set(desk.knowledge.classes[slot].attributes)
    for name, text in own.figures.items():
        said = _statements(desk, name, text, Evidence.MEASURED, NO_ONE)
        for one in said:
            slot = one.attribute.slot
            listed = slot in build.parts
            changed |= (
                {one.attribute.name} if listed else {*desk.knowledge.classes[slot].attributes}
            )
        build = build.supposing(said)
    return recheck(desk.checked, build, changed)


def _tried(desk: Desk, own: Try, check: BuildCheck) -> Tried:
    number = counts(check)
    knowledge = desk.knowledge
    supposed = [
        (
            name,
            f"{capital(knowledge.classes[name.partition('.')[0]].title)}: {_title(desk, name)}",
            _value(desk, name, text),
        )
        for name, text in own.figures.items()
    ]
    supposed += [(slot, capital(knowledge.classes[slot].title), "none") for slot in own.absent]
    return Tried(
        own.name, tuple(supposed), summary(check), number.clashes, number.open, number.fits
    )


def _value(desk: Desk, name: str, text: str) -> str:
    attribute, _ = named(name, desk.knowledge)
    said = _statements(desk, name, text, Evidence.MEASURED, NO_ONE)
    return read_as(said) or (text if attribute is None else in_words(attribute, text))


def _title(desk: Desk, name: str) -> str:
    attribute, selector = named(name, desk.knowledge)
    assert attribute is not None and selector is not None
    where = "" if selector == Selector() else f", {where_words(selector)}"
    return f"{attribute.title}{where}"


def _rows(desk: Desk, checks: dict[str, BuildCheck]) -> list[TriedRow]:
    """Each question that some try turns, as it stands now and in each try."""
    before = desk.checked
    rules = {one.rule.id: one.rule for check in checks.values() for one in turned(before, check)}
    every = [before, *checks.values()]
    worst = [
        {found[0].rule.id: worst_place(found) for found in by_rule(check.findings)}
        for check in every
    ]
    return [
        TriedRow(
            id_,
            capital(str(rule.file.subject)),
            tuple(
                (mark_of(one), standing(one), missing_words(one, desk.system) if one else "")
                for one in (found.get(id_) for found in worst)
            ),
        )
        for id_, rule in rules.items()
    ]


# Kept or dropped.


def drop(visit: Visit) -> Response:
    """Forget a try."""
    tries_of(visit).pop(visit.said.get("name", ""), None)
    return go("/try")


def keep(visit: Visit) -> Response:
    """Write what a try supposes into the file, in the place of what it differs from."""
    desk, tries = visit.bench.desk, tries_of(visit)
    own = tries.get(visit.said.get("name", ""))
    if own is None:
        raise BadInput([Problem("there is no such try any more", None, "suppose it again")])
    who = (visit.said.get("says", "page"), visit.said.get("by", ""), visit.said.get("with", ""))
    evidence, origin = origin_of(*who, date.today())
    sayings = [_saying(desk, name, text, evidence, origin) for name, text in own.figures.items()]
    kept = desk.keep(ToKeep(tuple(sayings), absent=tuple(sorted(own.absent))), visit.tab)
    if kept.refused:
        raise BadInput([problem for _, problem in kept.refused])
    del tries[own.name]
    return go("/try")


def _saying(desk: Desk, name: str, text: str, evidence: Evidence, origin: Origin) -> Saying:
    """A supposed figure as it is kept: what was said of the old part there goes out."""
    said = _statements(desk, name, text, evidence, origin)
    at = {(one.attribute.name, place) for one in said
          for place in desk.build.layout.positions(one.attribute.each)
          if one.selector.covers(place)}  # fmt: skip
    gone = [
        one
        for one in desk.build.statements()
        if any(one.attribute.name == name for name, _ in at)
        and all((one.attribute.name, place) in at
                for place in desk.build.layout.positions(one.attribute.each)
                if one.selector.covers(place))
    ]  # fmt: skip
    return Saying(field_id(said[0].attribute) if said else name, said, tuple(gone))
