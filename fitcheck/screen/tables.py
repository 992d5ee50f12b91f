"""What the table of a class looks like, and what a rule reads of its columns.

A figure that some part tells of one side alone has columns for the intakes and the exhausts
besides, as `lobe_lift@intake`.
"""

from __future__ import annotations

from collections.abc import Iterable, Set

from fitcheck.knowledge import Knowledge
from fitcheck.language.columns import number
from fitcheck.model import SIDES, Attribute, Evidence
from fitcheck.model.evidence import UNTOLD

# Between a figure's name and the side that it is told of.
AT = "@"
# How far a difference of two floats may be off, as a share of the greater.
ROUNDING = 1e-12
_FROM_LISTING = ("present", "comes_with_head")


def figures(slot: str, knowledge: Knowledge) -> dict[str, Attribute]:
    """The attributes of a class that a catalog can state, by their own short names."""
    own = knowledge.classes[slot].attributes
    return {
        name.partition(".")[2]: attribute
        for name, attribute in own.items()
        if not attribute.text and name.partition(".")[2] not in _FROM_LISTING
    }


def sided_in(columns: Iterable[str], slot: str, knowledge: Knowledge) -> frozenset[str]:
    """The attributes that a table tells by side, by its columns; spreads follow their figures."""
    told = frozenset(f"{slot}.{name.partition(AT)[0]}" for name in columns if AT in name)
    own = knowledge.classes[slot].attributes.values()
    return told | {one.name for one in own if one.spread_of and one.spread_of in told}


def names_of(own: Iterable[str], sided: Iterable[str]) -> list[str]:
    """Figures by their short names, and those of each side."""
    some = set(sided)
    both = [f"{name}{AT}{side}" for name in own if name in some for side in SIDES]
    return [*own, *both]


def columns_of(own: str, attribute: Attribute) -> list[tuple[str, str]]:
    """The columns of an attribute."""
    if attribute.kind is not None:
        return [(own, "VARCHAR"), (f"{own}__lo", "DOUBLE"), (f"{own}__hi", "DOUBLE")]
    return [(own, "VARCHAR"), (f"{own}__mask", "BIGINT")]


def inputs_of(
    slot: str, knowledge: Knowledge, keep: Iterable[str] = (), sided: Set[str] = frozenset()
) -> dict[tuple[str, str], str]:
    """The text of each end that a rule can read of a candidate, over the table of its class.

    Of `sided` attributes also that of a side, as in ("cam.lobe_lift@intake", "lower").
    """
    found: dict[tuple[str, str], str] = {}
    for own, attribute in figures(slot, knowledge).items():
        if attribute.name not in keep:
            found |= _inputs(own, attribute)
            for side in SIDES if attribute.name in sided else ():
                texts = _inputs(own, attribute, side)
                found |= {(f"{name}{AT}{side}", end): t for (name, end), t in texts.items()}
    return found


def column_of(own: str, part: str = "", side: str = "") -> str:
    """A column of a figure; of a side, what is told of it alone before what is of both."""
    both = f'"{own}{part}"'
    return f'coalesce("{own}{AT}{side}{part}", {both})' if side else both


def _inputs(own: str, attribute: Attribute, side: str = "") -> dict[tuple[str, str], str]:
    name = attribute.name
    if attribute.spread_of:
        return _spread_inputs(own, attribute, side)
    said = f"({column_of(own, side=side)} IS NOT NULL)"
    found = {(name, "given"): said}
    # A number, as one less than an evidence of a byte's width would be out of the byte's range.
    untold, told = number(float(UNTOLD)), "CAST(evidence AS DOUBLE)"
    found[name, "rank"] = f"CASE WHEN {said} THEN {told} ELSE {untold} END"
    if attribute.kind is not None and attribute.plausible is not None:
        ends = attribute.plausible.lower, attribute.plausible.upper
        for end, column, bound in zip(("lower", "upper"), ("lo", "hi"), ends, strict=True):
            found[name, end] = f"coalesce({column_of(own, f'__{column}', side)}, {number(bound)})"
        return found
    every, mask = (1 << len(attribute.options)) - 1, column_of(own, "__mask", side)
    found[name, "mask"] = found[name, "upper"] = f"coalesce({mask}, {every})"
    found[name, "lower"] = f"coalesce({mask}, 0)"
    return found


def _spread_inputs(own: str, attribute: Attribute, side: str) -> dict[tuple[str, str], str]:
    """A spread that is not told is at most what its single figures, all alike, leave open."""
    assert attribute.plausible is not None
    base = attribute.spread_of.partition(".")[2]
    most = number(attribute.plausible.upper)
    least = number(attribute.plausible.lower)
    low, high = (column_of(base, part, side) for part in ("__lo", "__hi"))
    stated = f"{column_of(base, side=side)} IS NOT NULL"
    single = f"least({high} - {low}, {most})"
    # Ends that meet as typed may miss each other by the rounding of the difference.
    meets = f'"{own}__lo" <= {single} + abs({high}) * {number(ROUNDING)}'
    told = f'("{own}" IS NOT NULL AND (NOT {stated} OR evidence = 0 OR {meets}))'
    known = f"({stated} AND evidence <= {int(Evidence.PREDICTED)})"
    return {
        (attribute.name, "given"): f'("{own}" IS NOT NULL)',
        (attribute.name, "rank"): f"CASE WHEN {told} OR {known} THEN CAST(evidence AS DOUBLE) "
        f"ELSE {number(float(UNTOLD))} END",
        (attribute.name, "lower"): f'CASE WHEN {told} THEN "{own}__lo" '
        f"WHEN {stated} THEN 0e0 ELSE {least} END",
        (attribute.name, "upper"): f'CASE WHEN {told} THEN "{own}__hi" '
        f"WHEN {stated} THEN {single} ELSE {most} END",
    }
