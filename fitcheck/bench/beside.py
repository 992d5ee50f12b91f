"""Beside the engine: one figure and one place a screen, each reading on the disk before the next.

What is claimed of a figure is shown when the reading is in, never before.
"""

from __future__ import annotations

import hashlib
import json
from datetime import date
from typing import Any

from starlette.responses import HTMLResponse, JSONResponse, Response

from fitcheck.bench.answering import in_sight
from fitcheck.bench.asking import Visit, go, shown
from fitcheck.bench.desk import Desk
from fitcheck.bench.fields import (
    MOST_LETTERS,
    SAYS,
    in_a_field,
    in_words,
    refusal,
    said_in_field,
)
from fitcheck.bench.fields import named as named_field
from fitcheck.bench.render import render
from fitcheck.bench.rounds import ANYWHERE, Round, Take, round_of
from fitcheck.check.records.audit import ClaimOutcome, audit
from fitcheck.check.records.keeping import Saying, ToKeep, held, typed, where_of
from fitcheck.check.records.repeats import spread
from fitcheck.check.telling import value_text
from fitcheck.model import Attribute, Evidence, Origin, Selector, Statement
from fitcheck.quantity import Quantity
from fitcheck.report.phrases import capital, disproved_words
from fitcheck.source import BadInput, Problem

MOST_AT_HAND = 60
MOST_KEPT = 5000  # readings that are known again when they are offered once more


# Screens.


def overview(visit: Visit) -> Response:
    """What is to be taken, by set-up, and what became of it."""
    own = round_of(visit)
    setups: dict[str, list[Take]] = {}
    for take in own.takes.values():
        setups.setdefault(capital(take.setup), []).append(take)
    return shown(visit, "beside", "Measure beside the engine", round=own, setups=setups)


def begin(visit: Visit) -> Response:
    """Begin a round anew: what decides most, or everything."""
    visit.bench.more.pop("round", None)
    own = round_of(visit, whole=visit.said.get("whole") == "yes")
    first = own.next_after("")
    return go(f"/beside/take?key={_quoted(first)}" if first else "/beside")


def take(visit: Visit, told: str = "", status: int = 200) -> Response:
    """The screen of one reading."""
    own = round_of(visit)
    found = own.takes.get(visit.said.get("key", "")) or own.takes.get(own.next_after(""))
    if found is None:
        return go("/beside")
    keys = list(own.takes)
    answer = shown(
        visit,
        "take",
        found.where if found.where != ANYWHERE else found.part,
        take=found,
        number=keys.index(found.key) + 1,
        of=len(keys),
        next=own.next_after(found.key),
        saw=_state_of(visit.bench.desk, found.key),
        by=visit.said.get("by") or visit.bench.more.get("by", ""),
        with_=visit.said.get("with") or visit.bench.more.get("with", ""),
        value=visit.said.get("value", ""),
        told=told,
        instead=visit.said.get("instead") == "yes",
        takes=json.dumps(_window(own, found.key, visit.bench.desk)),
    )
    answer.status_code = status
    return answer


def _window(own: Round, key: str, desk: Desk) -> list[dict[str, Any]]:
    """The readings from one on that a page has at hand while there is no connection."""
    keys = list(own.takes)
    return [
        _data(own.takes[one], own, desk) | {"number": number}
        for number, one in list(enumerate(keys, 1))[keys.index(key) :][:MOST_AT_HAND]
    ]


def _data(one: Take, own: Round, desk: Desk) -> dict[str, Any]:
    told = {name: getattr(one, name) for name in one.__dataclass_fields__}
    return told | {"state": own.state(one.key), "saw": _state_of(desk, one.key)}


def _quoted(text: str) -> str:
    from urllib.parse import quote  # noqa: PLC0415

    return quote(text, safe="")


def out_of_reach(visit: Visit) -> Response:
    """A place that nobody can reach now: it is passed over, and told in the list."""
    own, key = round_of(visit), visit.said.get("key", "")
    if key in own.takes:
        own.out_of_reach.add(key)
    if visit.script:
        return JSONResponse({"done": True, "version": visit.bench.desk.version})
    following = own.next_after(key)
    return go(f"/beside/take?key={_quoted(following)}" if following else "/beside")


# What is read.


def reading(visit: Visit) -> Response:
    """Write a reading down; what comes back is shown only once it is on the disk."""
    own, key = round_of(visit), visit.said.get("key", "")
    number = visit.said.get("number", "")[:60]
    if number and number in own.known:  # offered once more, as the answer was lost
        return _answered(visit, own, key, own.known[number])
    try:
        note = _written_down(visit, own, key)
    except BadInput as error:
        if visit.script:
            return JSONResponse({"refused": refusal(error.problems)}, 422)
        return take(visit, refusal(error.problems), 422)
    if number:
        own.known[number] = note
        while len(own.known) > MOST_KEPT:
            own.known.popitem(last=False)
    return _answered(visit, own, key, note)


def _written_down(visit: Visit, own: Round, key: str) -> str:
    """The note on how a reading was kept."""
    desk = visit.bench.desk
    attribute, selector = _place(desk, key)
    said = _said(visit, desk, attribute, selector)
    origin = said[0].origin
    visit.bench.more |= {"by": origin.by, "with": origin.with_}
    there = _same(desk, attribute, selector, origin)
    note = ""
    if there is not None and visit.said.get("instead") != "yes":
        unseen = _state_of(desk, key) != visit.said.get("saw", "")
        said, note = _together(desk, there, said, attribute, unseen=unseen)
    kept = desk.keep(ToKeep((Saying(key, said),)), visit.tab)
    if kept.refused:
        raise BadInput([problem for _, problem in kept.refused])
    own.done[key] = in_words(attribute, in_a_field(held(desk.build, attribute, selector)))
    own.out_of_reach.discard(key)
    return note


def _said(
    visit: Visit, desk: Desk, attribute: Attribute, selector: Selector
) -> tuple[Statement, ...]:
    value = " ".join(visit.said.get("value", "").split())
    if attribute.several:
        value = ", ".join(filter(None, visit.several.get("value", [])))
    if not value or len(value) > MOST_LETTERS:
        raise BadInput([Problem("nothing was read", None, "type the reading, or skip this place")])
    by = " ".join(visit.said.get("by", "").split())[:MOST_LETTERS] or SAYS["me"][2]
    with_ = " ".join(visit.said.get("with", "").split())[:MOST_LETTERS]
    origin = Origin(by, _when(visit.said.get("when", "")), with_)
    who = (Evidence.MEASURED, origin)
    return said_in_field(attribute, selector, value, who, desk.build, desk.knowledge, desk.system)


def _when(text: str) -> date:
    """The day a reading was taken, which may be before it reaches the desk; never one to come."""
    try:
        return min(date.fromisoformat(text), date.today())
    except ValueError:
        return date.today()


def _same(desk: Desk, attribute: Attribute, selector: Selector, origin: Origin) -> Statement | None:
    """A reading of the same place by the same people with the same instrument on the same day."""
    found = [
        one
        for one in desk.build.statements()
        if (one.attribute.name, one.selector, one.origin) == (attribute.name, selector, origin)
        and one.evidence is Evidence.MEASURED
    ]
    return found[-1] if found else None


def _together(
    desk: Desk,
    there: Statement,
    said: tuple[Statement, ...],
    attribute: Attribute,
    *,
    unseen: bool,
) -> tuple[tuple[Statement, ...], str]:
    """A reading together with an earlier one: what both leave possible."""
    new = said[0]
    if not isinstance(new.value, Quantity) or not isinstance(there.value, Quantity):
        return said, ""
    text = spread(there.value, new.value)
    both = typed(
        attribute, where_of(new), text, new.evidence, new.origin, desk.build.layout, desk.knowledge
    )
    if unseen:
        who = "Somebody else took a reading here meanwhile"
        return both, f"{who}: both count, as {text}."
    return both, f"With the reading before: {text}."


def _place(desk: Desk, key: str) -> tuple[Attribute, Selector]:
    attribute, selector = named_field(key, desk.knowledge)
    if attribute is None or selector is None:
        raise BadInput(
            [Problem("there is no such figure to take", None, "choose one from the list")]
        )
    return attribute, selector


def _state_of(desk: Desk, key: str) -> str:
    """What is measured at a place by now, as a mark that tells nothing of the figure."""
    attribute, selector = _place(desk, key)
    told = "".join(
        f"{value_text(one)}|{one.origin};"
        for one in desk.build.statements()
        if one.attribute is attribute
        and one.selector == selector
        and one.evidence is Evidence.MEASURED
    )
    return hashlib.sha256(told.encode()).hexdigest()[:12] if told else ""


def _answered(visit: Visit, own: Round, key: str, note: str) -> Response:
    """What a reading says: what was claimed, and what turned."""
    desk = visit.bench.desk
    attribute, selector = _place(desk, key)
    words = {
        "take": own.takes.get(key),
        "key": key,
        "value": in_words(attribute, in_a_field(held(desk.build, attribute, selector))),
        "measured": attribute.kind is not None,
        "note": note,
        "claimed": _claimed(desk, attribute, selector),
        "off": _off(desk, attribute, selector),
        "turned": in_sight(desk.checked, desk.turned, desk.system).turned,
        "next": own.next_after(key),
        "left": sum(own.state(one) == "open" for one in own.takes),
        "saw": _state_of(desk, key),
    }
    if visit.script:
        piece = render("read_piece", **words)
        return JSONResponse(
            {"html": piece, "version": desk.version, "saw": words["saw"], "next": words["next"]}
        )
    return shown(visit, "read", "On the disk", **words)


def _claimed(desk: Desk, attribute: Attribute, selector: Selector) -> list[str]:
    """What others say of the figure at this place."""
    places = [one for one in desk.build.layout.positions(attribute.each) if selector.covers(one)]
    return [
        f"{one.evidence.word} {value_text(one)}" + (f", {one.origin}" if str(one.origin) else "")
        for one in desk.build.statements()
        if one.attribute is attribute
        and one.evidence is not Evidence.MEASURED
        and any(one.selector.covers(place) for place in places)
    ]


def _off(desk: Desk, attribute: Attribute, selector: Selector) -> str:
    """By how much a claim is off, where the reading disproves it."""
    found = [
        one
        for one in audit(desk.build, (attribute.slot,))
        if one.attribute is attribute
        and one.outcome is ClaimOutcome.OUTSIDE
        and any(selector.covers(place) for place in one.positions)
    ]
    return disproved_words(desk.checked, found, desk.system) if found else ""


def leave(visit: Visit) -> Response:
    """A phone that is done goes out of the door."""
    return HTMLResponse(render("lost", what="The readings are at the desk. This page can be shut."))
