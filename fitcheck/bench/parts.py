"""The parts, one form each: what is typed is answered at once, and kept when it is done."""

from __future__ import annotations

from datetime import date
from typing import Any

from starlette.responses import HTMLResponse, JSONResponse, Response

from fitcheck.bench.answering import InSight, in_sight
from fitcheck.bench.asking import TYPED, WAS, Visit, go, shown, sight, slow
from fitcheck.bench.desk import Desk
from fitcheck.bench.fields import SAYS, Answered, Field, Fields, Form, Wants, origin_of, read_form
from fitcheck.bench.render import render
from fitcheck.check import Check
from fitcheck.check.comparing import turned
from fitcheck.check.records.keeping import ToKeep
from fitcheck.model import Attribute
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


def part_list(ask: Visit) -> dict[str, list[InList]]:
    """The parts in stacking order."""
    desk = ask.bench.desk
    build, classes = desk.build, desk.knowledge.classes
    said: dict[str, set[str]] = {}
    for one in build.statements():
        said.setdefault(one.attribute.slot, set()).add(one.attribute.name)
    asked = [one.name.partition(".")[0] for one in _asks(ask)]
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


def _asks(ask: Visit) -> Any:
    """What open questions need: of this state of the file, or of the one before."""
    latest = ask.bench.aside.latest
    found = slow(ask, wait=latest is None) or latest
    return found.asks if found is not None else ()


def fields_of(ask: Visit, check: Check | None = None) -> Fields:
    """What makes fields of the open build."""
    desk = ask.bench.desk
    wants = [Wants(one.name, one.why) for one in _asks(ask)]
    return Fields(check or desk.checked, desk.system, wants)


def slot_of(ask: Visit) -> str:
    """The part that a request is about."""
    slot = ask.path["slot"]
    if slot not in ask.bench.desk.knowledge.classes:
        raise BadInput([Problem("there is no such part", None, "choose one from the list")])
    return slot


def first_part(ask: Visit) -> Response:
    """The part to look at first: the job."""
    if ask.bench.desk.check is None:
        return go("/files")
    return go("/part/engine" if "engine" in ask.bench.desk.knowledge.classes else "/files")


def show_part(ask: Visit, answered: Answered | None = None, status: int = 200) -> Response:
    """The form of a part."""
    slot = slot_of(ask)
    form = fields_of(ask).form(slot)
    form = _with_refused(form, ask, answered) if answered else form
    one = ask.said.get("one", "")
    answer = shown(
        ask,
        "part",
        form.title,
        form=form,
        parts=part_list(ask),
        says=SAYS,
        chosen=ask.bench.desk.who,
        top=_top(ask.bench.desk) if slot == "engine" else (),
        apart=_apart(ask, one) if one else None,
        tools=_tools(ask.bench.desk, slot),
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


def _apart(ask: Visit, name: str) -> tuple[str, list[Field]] | None:
    attribute = ask.bench.desk.knowledge.attributes.get(name)
    if attribute is None or attribute.each == "engine":
        return None
    return name, fields_of(ask).places(attribute)


def show_places(ask: Visit) -> Response:
    """A figure place by place, as a piece of the page."""
    name = ask.said.get("one", "")
    found = _apart(ask, name)
    if found is None:
        raise BadInput([Problem("there is no such figure", None, "choose one from the form")])
    return HTMLResponse(render("places", apart=found))


# What is typed.


def _read(ask: Visit) -> Answered:
    desk = ask.bench.desk
    origin = origin_of(*_who(ask), date.today())
    return read_form(ask.under(TYPED), ask.under(WAS), origin, desk.build, desk.knowledge)


def _who(ask: Visit) -> tuple[str, str, str]:
    return ask.said.get("says", "page"), ask.said.get("by", ""), ask.said.get("with", "")


def draft(ask: Visit) -> Response:
    """What the answer would be with what stands in the form now; nothing is written."""
    desk, answered = ask.bench.desk, _read(ask)
    check = desk.draft(answered.sayings)
    told = turned(desk.checked, check)
    read = {one.name: _read_as(one.said) for one in answered.sayings if one.said}
    found = in_sight(check, told, desk.system)
    return JSONResponse(
        {
            "answer": render("insight", sight=found, draft=bool(answered.sayings)),
            "bar": _bar(found),
            "read": read,
            "version": desk.version,
        }
    )


def _read_as(said: Any) -> str:
    texts = [getattr(one.value, "text", "") for one in said]
    return ", ".join(
        f"{one.attribute.title} {text}" if len(said) > 1 else text
        for one, text in zip(said, texts, strict=True)
        if text
    )


def _bar(found: InSight) -> str:
    return render("bar", sight=found)


def keep(ask: Visit) -> Response:
    """Keep what stands in the form; what cannot be is told at its field and the rest is kept."""
    desk, slot = ask.bench.desk, slot_of(ask)
    desk.who = _who(ask)
    answered = _read(ask)
    top = {key: " ".join(value.split()) for key, value in ask.under("top:").items() if key in TOP}
    now = {one.id: one.value for one in _top(desk)}
    top = {key: value for key, value in top.items() if value != now[key]}
    refused = dict(answered.refused)
    if answered.sayings or top:
        kept = desk.keep(ToKeep(answered.sayings, top=top), ask.tab)
        refused |= {one.name: f"{capital(p.what)}; {p.mend}." for one, p in kept.refused}
    told = Answered(answered.sayings, refused)
    if ask.script:
        return _kept(ask, told)
    return show_part(ask, told, 422) if refused else go(f"/part/{slot}#form")


def _kept(ask: Visit, told: Answered) -> Response:
    desk = ask.bench.desk
    fields = fields_of(ask)
    names = [*told.refused, *(one.name for one in told.sayings), *ask.under(TYPED)]
    found = sight(ask)
    return JSONResponse(
        {
            "answer": render("insight", sight=found, draft=False),
            "bar": _bar(found),
            "fields": {name: _field_data(ask, fields, name, told) for name in dict.fromkeys(names)},
            "version": desk.version,
            "news": desk.news(ask.seen, ask.tab),
        }
    )


def _field_data(ask: Visit, fields: Fields, name: str, told: Answered) -> dict[str, str]:
    found = _named(ask, name)
    if found is None:
        return {}
    one = fields.field(*found)
    bad = told.refused.get(name, "")
    return {"value": one.value, "said": one.said, "taken": one.taken, "bad": bad}


def _named(ask: Visit, name: str) -> tuple[Attribute, Any] | None:
    from fitcheck.model import EVERYWHERE, Selector  # noqa: PLC0415

    own, _, where = name.partition("@")
    attribute = ask.bench.desk.knowledge.attributes.get(own)
    selector = Selector.read(where) if where else EVERYWHERE
    return (attribute, selector) if attribute is not None and selector is not None else None


def _with_refused(form: Form, ask: Visit, told: Answered) -> Form:
    """The form as it was typed, with what is wrong at each field."""
    from dataclasses import replace  # noqa: PLC0415

    typed_in = ask.under(TYPED)

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


def leave_out(ask: Visit) -> Response:
    """Say of a part that there is none."""
    slot = slot_of(ask)
    ask.bench.desk.keep(ToKeep(absent=(slot,)), ask.tab)
    return go(f"/part/{slot}")


def put_back(ask: Visit) -> Response:
    """Undo the last change."""
    desk = ask.bench.desk
    desk.undo(ask.tab)
    return go("/history")
