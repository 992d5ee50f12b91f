"""The parts, one form each: what is typed is answered at once, and kept when it is done."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from starlette.responses import HTMLResponse, JSONResponse, Response

from fitcheck.bench.answering import InSight, in_sight
from fitcheck.bench.asking import TYPED, WAS, Visit, asks, go, shown, sight
from fitcheck.bench.desk import Desk
from fitcheck.bench.fields import (
    SAYS,
    Answered,
    Field,
    Fields,
    Form,
    Wants,
    in_a_field,
    in_words,
    named,
    origin_of,
    read_as,
    read_form,
)
from fitcheck.bench.render import render
from fitcheck.check import BuildCheck
from fitcheck.check.comparing import turned
from fitcheck.check.records.keeping import ToKeep, held
from fitcheck.model import EngineBuild, Statement
from fitcheck.report.parts import written as may_be_written
from fitcheck.report.phrases import capital
from fitcheck.report.stacking import stacked
from fitcheck.source import BadInput, Problem, frozen

TOP = {"build": "What the build is called", "about": "What it is for, in a sentence",
       "cylinders": "How many cylinders"}  # fmt: skip


@frozen
class InList:
    """A part in the list: whether it is there, how many figures it has, how many are asked for."""

    slot: str
    title: str
    state: str
    figures: int
    asked: int


def part_list(visit: Visit) -> dict[str, list[InList]]:
    """The parts in stacking order."""
    desk = visit.bench.desk
    build, classes = desk.build, desk.knowledge.classes
    said: dict[str, set[str]] = {}
    for one in build.statements():
        said.setdefault(one.attribute.slot, set()).add(one.attribute.name)
    asked = [one.name.partition(".")[0] for one in asks(visit) or ()]
    return {
        place: [
            InList(
                slot,
                capital(classes[slot].title),
                "listed" if slot in build.parts else "none" if slot in build.absent else "open",
                len(said.get(slot, ())),
                asked.count(slot),
            )
            for slot in slots
        ]
        for place, slots in stacked(classes).items()
    }


def fields_of(visit: Visit, check: BuildCheck | None = None) -> Fields:
    """What makes fields of the open build."""
    desk = visit.bench.desk
    wants = [Wants(one.name, one.why) for one in asks(visit) or ()]
    return Fields(check or desk.checked, desk.system, wants)


def slot_of(visit: Visit) -> str:
    """The part that a request is about."""
    slot = visit.path["slot"]
    if slot not in visit.bench.desk.knowledge.classes:
        raise BadInput([Problem("there is no such part", None, "choose one from the list")])
    return slot


def first_part(visit: Visit) -> Response:
    """The part to begin with: the job."""
    return go("/part/engine" if "engine" in visit.bench.desk.knowledge.classes else "/files")


def show_part(visit: Visit, answered: Answered | None = None, status: int = 200) -> Response:
    """The form of a part."""
    slot = slot_of(visit)
    known = asks(visit, wait=answered is None) is not None
    form = fields_of(visit).form(slot)
    form = _with_refused(form, visit, answered) if answered else form
    one = visit.said.get("one", "")
    answer = shown(
        visit,
        "part",
        form.title,
        form=form,
        known=known,
        parts=part_list(visit),
        says=SAYS,
        chosen=visit.bench.desk.who,
        top=_top(visit.bench.desk) if slot == "engine" else (),
        apart=_apart(visit, one) if one else None,
        tools=_tools(visit.bench.desk, slot),
    )
    answer.status_code = status
    return answer


def _top(desk: Desk) -> list[Field]:
    build = desk.build
    now = {"build": build.title, "about": build.about, "cylinders": str(build.layout.cylinders)}
    return [Field(key, title, "", "", now[key], "", "") for key, title in TOP.items()]


def _tools(desk: Desk, slot: str) -> list[str]:
    """What figures of a part are measured with."""
    found = desk.knowledge.procedures
    own = may_be_written(desk.knowledge.classes[slot])
    procedures = [found[one.measure] for one in own if one.measure in found]
    return sorted({str(one.file.tool) for one in procedures if not one.asked})


def _apart(visit: Visit, name: str) -> tuple[str, list[Field]] | None:
    attribute = visit.bench.desk.knowledge.attributes.get(name)
    if attribute is None or attribute.each == "engine":
        return None
    return name, fields_of(visit).places(attribute)


def show_places(visit: Visit) -> Response:
    """A figure place by place, as a piece of the page."""
    name = visit.said.get("one", "")
    found = _apart(visit, name)
    if found is None:
        raise BadInput([Problem("there is no such figure", None, "choose one from the form")])
    return HTMLResponse(render("places", apart=found))


# What is typed.


def _read(visit: Visit) -> Answered:
    desk = visit.bench.desk
    origin = origin_of(*_who(visit), date.today())
    return read_form(
        visit.under(TYPED), visit.under(WAS), origin, desk.build, desk.knowledge, desk.system
    )


def _who(visit: Visit) -> tuple[str, str, str]:
    return visit.said.get("says", "page"), visit.said.get("by", ""), visit.said.get("with", "")


def draft(visit: Visit) -> Response:
    """What the answer would be with what stands in the form now; nothing is written."""
    desk, answered = visit.bench.desk, _read(visit)
    check = desk.draft(answered.sayings)
    told = turned(desk.checked, check)
    read = {one.name: read_as(one.said) for one in answered.sayings if one.said}
    found = in_sight(check, told, desk.system)
    return JSONResponse(
        {
            "answer": render("insight", sight=found, draft=bool(answered.sayings)),
            "bar": _bar(found),
            "read": read,
            "holds": {one.name: _stronger(desk.build, one.said) for one in answered.sayings},
            "version": desk.version,
        }
    )


def _stronger(build: EngineBuild, said: Sequence[Statement]) -> str:
    """What is better known than what was typed, at just its places, and so holds; else nothing."""
    for one in said:
        now = held(build, one.attribute, one.selector)
        if now is not None and now.evidence < one.evidence:  # the strongest first
            value = in_words(one.attribute, in_a_field(now))
            return (
                f"Kept as {one.evidence.word}, but {value} is {now.evidence.word}, and that holds."
            )
    return ""


def _bar(found: InSight) -> str:
    return render("bar", sight=found)


def keep(visit: Visit) -> Response:
    """Keep what stands in the form; what cannot be is told at its field and the rest is kept."""
    desk, slot = visit.bench.desk, slot_of(visit)
    desk.who = _who(visit)
    answered = _read(visit)
    top = {key: " ".join(value.split()) for key, value in visit.under("top:").items() if key in TOP}
    now = {one.id: one.value for one in _top(desk)}
    top = {key: value for key, value in top.items() if value != now[key]}
    refused = dict(answered.refused)
    if answered.sayings or top:
        kept = desk.keep(ToKeep(answered.sayings, top=top), visit.tab)
        refused |= {one.name: f"{capital(p.what)}; {p.mend}." for one, p in kept.refused}
    told = Answered(answered.sayings, refused)
    if visit.script:
        return _kept(visit, told)
    return show_part(visit, told, 422) if refused else go(f"/part/{slot}#form")


def _kept(visit: Visit, told: Answered) -> Response:
    desk = visit.bench.desk
    fields = fields_of(visit)
    names = [*told.refused, *(one.name for one in told.sayings), *visit.under(TYPED)]
    found = sight(visit)
    return JSONResponse(
        {
            "answer": render("insight", sight=found, draft=False),
            "bar": _bar(found),
            "fields": {name: _field_data(fields, name, told) for name in dict.fromkeys(names)},
            "holds": {one.name: _stronger(desk.build, one.said) for one in told.sayings},
            "version": desk.version,
            "news": desk.news(visit.seen, visit.tab),
        }
    )


def _field_data(fields: Fields, name: str, told: Answered) -> dict[str, str]:
    attribute, selector = named(name, fields.knowledge)
    if attribute is None or selector is None:
        return {}
    one = fields.field(attribute, selector)
    bad = told.refused.get(name, "")
    return {
        "value": one.value,
        "said": one.said,
        "taken": one.taken,
        "bad": bad,
        "hint": one.hint,
    }


def _with_refused(form: Form, visit: Visit, told: Answered) -> Form:
    """The form as it was typed, with what is wrong at each field."""
    from dataclasses import replace  # noqa: PLC0415

    typed_in = visit.under(TYPED)

    def as_typed(one: Field) -> Field:
        if one.id not in told.refused:
            return one
        return replace(one, bad=told.refused[one.id], typed=typed_in.get(one.id))

    return replace(
        form,
        first=tuple(map(as_typed, form.first)),
        given=tuple(map(as_typed, form.given)),
        more=tuple(map(as_typed, form.more)),
    )


def leave_out(visit: Visit) -> Response:
    """Say of a part that there is none."""
    slot = slot_of(visit)
    visit.bench.desk.keep(ToKeep(absent=(slot,)), visit.tab)
    return go(f"/part/{slot}")


def put_back(visit: Visit) -> Response:
    """Undo the last change."""
    desk = visit.bench.desk
    desk.undo(visit.tab)
    return go("/history")
