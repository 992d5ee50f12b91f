"""A mapping file proposed from a list's headers, by the words of the trade: to be looked through.

What a header surely means is written; what it could mean stands beside as a question, and what
nobody knows is left out and told.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fitcheck.check.one_figure import with_units
from fitcheck.knowledge import Knowledge
from fitcheck.model import Attribute
from fitcheck.quantity.units import find_unit
from fitcheck.screen.mapping import PLAIN, sided_word

# What lists call the part's number, its price and its stock (common practice, no source).
ABOUT = {
    "item": ("item", "part no", "part number", "part #", "number", "no", "sku", "code", "art no"),
    "name": ("name", "description", "title", "product"),
    "seller": ("seller", "maker", "brand", "manufacturer", "supplier"),
    "price": ("price", "net", "net price", "list price", "retail", "cost", "unit price"),
    "pack": ("pack", "per pack", "pack of", "pack size", "qty per pack"),
    "stock": ("stock", "on hand", "qty", "quantity", "available", "in stock"),
}
_UNIT = re.compile(r"(?P<name>.*?)\s*[\[(]\s*(?P<unit>[^\])]*)\s*[\])]\s*")
_CODE = re.compile("[A-Z]{3}")
_SIGNS = {"€": "EUR", "£": "GBP"}


@dataclass
class Proposal:
    """How a list may be read.

    `columns` are headers with their attribute and unit, `asks` headers with what each could be,
    `unknown` those that no word of the trade names. `units` are headers without a unit, with each
    in which all their figures are plausible.
    """

    slot: str
    about: dict[str, str] = field(default_factory=dict)
    currency: str = ""
    columns: dict[str, tuple[str, str]] = field(default_factory=dict)
    asks: dict[str, tuple[str, ...]] = field(default_factory=dict)
    unknown: list[str] = field(default_factory=list)
    units: dict[str, tuple[str, ...]] = field(default_factory=dict)


def propose(
    headers: Sequence[str],
    title: str,
    knowledge: Knowledge,
    cells: Mapping[str, Sequence[str]] | None = None,
) -> Proposal:
    """What the headers of a list may mean; `cells` are some of what stands beneath each."""
    slot = knowledge.words.part(title).name or _likeliest(headers, knowledge)
    found, taken = Proposal(slot), set[str]()
    for header in filter(None, headers):
        name, unit = _apart(header)
        plain = " ".join(name.lower().replace("_", " ").replace(".", " ").split())
        own = next((o for o, some in ABOUT.items() if plain in some and o not in found.about), "")
        if own:
            found.about[own] = header
            if own == "price":
                found.currency = unit if _CODE.fullmatch(unit) else _SIGNS.get(unit, "")
            continue
        word = sided_word(name, slot, knowledge)
        side = f"{word.side} " if word.side else ""
        if word.name and side + word.name not in taken and not word.sign:
            taken.add(side + word.name)
            attribute = knowledge.attributes[word.name]
            kind, own = attribute.kind, word.name.partition(".")[2]
            if kind is not None and not (unit and find_unit(unit, kind) is not None):
                may = _plausible(attribute, (cells or {}).get(header, ()))
                unit = may[0] if len(may) == 1 else ""
                found.units |= {header: may} if len(may) > 1 else {}
            found.columns[header] = f"{side}{own}", unit if kind is not None else ""
        elif word.name or word.may:
            found.asks[header] = tuple(one.partition(".")[2] for one in word.may or (word.name,))
        elif plain not in PLAIN:
            found.unknown.append(header)
    return found


def _plausible(attribute: Attribute, cells: Sequence[str]) -> tuple[str, ...]:
    """The units in which all bare figures of a column are plausible, those that are none aside."""
    told = [dict.fromkeys(f.rpartition(" ")[2] for f in with_units(attribute, c)) for c in cells]
    some = [units for units in told if units]
    return tuple(unit for unit in (some[0] if some else ()) if all(unit in one for one in some))


def _apart(header: str) -> tuple[str, str]:
    match = _UNIT.fullmatch(header.strip())
    return (match["name"].strip(), match["unit"].strip()) if match else (header.strip(), "")


def _likeliest(headers: Sequence[str], knowledge: Knowledge) -> str:
    """The class of which the headers name most attributes."""
    counts: Counter[str] = Counter()
    for slot in knowledge.classes:
        words = knowledge.words.attributes(slot)
        counts[slot] = sum(bool(words.find(_apart(one)[0]).name) for one in headers if one)
    return counts.most_common(1)[0][0]


def mapping_text(found: Proposal, title: str) -> str:
    """The mapping file, as `--columns` reads it, with questions as comments."""
    lines = [
        "# Proposed by fitcheck from the headers of a list: look through each line, then take the",
        "# list in with --columns and this file.",
        f"catalog: {_quoted(title)}",
        f"classes: {found.slot}",
        *(f"{own}: {_quoted(header)}" for own, header in found.about.items()),
    ]
    if "price" in found.about:
        lines.append(f"currency: {found.currency or 'XXX  # which? write its code, as in EUR'}")
    lines.append("columns:")
    for header, (name, unit) in found.columns.items():
        which = f"  # which unit? {', '.join(found.units[header])}" if header in found.units else ""
        lines.append(f"  {_quoted(header)}: {name}{f' {unit}' if unit else ''}{which}")
    for header, may in found.asks.items():
        lines.append(f"  # {_quoted(header)}: which? {', '.join(may)}")
    for header in found.unknown:
        lines.append(f"  # {_quoted(header)}: no word for it is known; it is not read")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
