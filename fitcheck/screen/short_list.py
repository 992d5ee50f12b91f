"""Short lists as YAML: parts one after the other, each as in a build file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from fitcheck.check.naming import Naming
from fitcheck.check.read import read_part
from fitcheck.model import MOST_CYLINDERS, Evidence, Layout, Statement
from fitcheck.quantity import Quantity
from fitcheck.screen.aside import Imported, write_aside
from fitcheck.screen.cells import Cells
from fitcheck.screen.mapping import ListFormat
from fitcheck.screen.money import Money
from fitcheck.screen.raw import refuse
from fitcheck.screen.store import Catalog
from fitcheck.screen.tables import AT
from fitcheck.source import BadInput, Mapping, Problem, Problems, Text, read_yaml
from fitcheck.source import Sequence as Listed


def take_short_list(catalog: Catalog, path: Path, found: Imported, aside: Path | None) -> None:
    """Take a list in YAML into the catalog; raises BadInput for a file that is none."""
    problems = Problems()
    node = read_yaml(path, problems)
    if problems or node is None:
        raise BadInput(problems)
    parts = node.get(Text("parts", node.place)) if isinstance(node, Mapping) else None
    if not isinstance(parts, Listed):
        refuse(path, "a list of parts starts with 'parts:'", "write one '- spring: {…}' a part")
        return
    rows: dict[str, list[dict[str, Any]]] = {}
    kept: list[tuple[int, str, str, Sequence[str]]] = []
    money = Money(catalog.currency)
    for one in parts:
        own: list[Problem] = []
        told = _yaml_part(catalog, one, own, found.source, money)
        if told is None:
            why = "; ".join(f"{p.what}{f' ({p.mend})' if p.mend else ''}" for p in own)
            kept.append((one.place.line, "", why, [_written(one)]))
        else:
            rows.setdefault(told[0], []).append(told[1])
    if not rows:
        found.kept = catalog.listed_by(found.source)
    else:
        catalog.drop(found.source)
    if money.currency:
        catalog.priced_in(money.currency)
    for slot, some in rows.items():
        catalog.add(slot, some)
        found.added[slot] = len(some)
        found.unpriced += sum(row["price"] is None for row in some)
    assert len(parts) == len(kept) + sum(map(len, rows.values()))
    write_aside(path, ["part"], kept, found, aside)


def _written(node: Any) -> str:
    if isinstance(node, Mapping):
        return "{" + ", ".join(f"{key}: {_written(value)}" for key, value in node.items()) + "}"
    if isinstance(node, Listed):
        return "[" + ", ".join(map(_written, node)) + "]"
    return str(node)


def _yaml_part(
    catalog: Catalog, node: Any, problems: list[Problem], source: str, money: Money
) -> tuple[str, dict[str, Any]] | None:
    if not isinstance(node, Mapping) or len(node) != 1:
        problems.append(Problem("a part is one class with what is known of it", node.place))
        return None
    slot, told = next(iter(node.items()))
    named = Naming(catalog.knowledge, problems).part(slot)
    if named is None:
        return None
    slot = named
    row: dict[str, Any] = {
        "source": source,
        "row": node.place.line,
        "price": None,
        "pack": None,
        "stock": None,
        "evidence": int(Evidence.CLAIMED),
        "item": f"line {node.place.line}",
    }
    own = Mapping()
    own.place = told.place
    cells = Cells(catalog.knowledge, ListFormat("", "", "", {}, {}, ()))
    for key, value in told.items() if isinstance(told, Mapping) else ():
        if key == "item" and isinstance(value, Text):
            row["item"] = str(value)
        elif key == "price" and isinstance(value, Text):
            row["price"] = money.read(value, problems)
        elif key in ("pack", "stock") and isinstance(value, Text):
            row[str(key)], wrong = getattr(cells, key)(value)
            if wrong:
                problems.append(Problem(wrong, value.place))
        else:
            own[key] = value
    part = read_part(slot, own, "", Layout(MOST_CYLINDERS), catalog.knowledge, problems)
    if part is None or problems:
        return None
    row |= {"name": part.name or None, "seller": part.seller or None}
    for statement in part.statements:
        if statement.selector.cylinder or statement.selector.bank:
            what = f"{statement.attribute.title}: a list tells of no single cylinder or bank"
            problems.append(Problem(what, statement.place, "write one figure, or one of each side"))
            return None
        row |= _row_of(statement)
        row["evidence"] = int(statement.evidence)
    return str(slot), row


def _row_of(statement: Statement) -> dict[str, Any]:
    own, value = statement.attribute.short_name, statement.value
    if statement.selector.side:
        own = f"{own}{AT}{statement.selector.side}"
    if isinstance(value, Quantity):
        return {own: value.text, f"{own}__lo": float(value.lower), f"{own}__hi": float(value.upper)}
    if isinstance(value, int):
        some = [one for i, one in enumerate(statement.attribute.options) if value >> i & 1]
        return {own: ", ".join(some), f"{own}__mask": value}
    return {}
