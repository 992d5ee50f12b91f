"""A filled inspection sheet read back: what can be taken, and why the rest cannot."""

from __future__ import annotations

import re
from dataclasses import field
from datetime import date
from pathlib import Path

from fitcheck.check.one_figure import fits
from fitcheck.check.records.sheet import READ, TOLD
from fitcheck.check.values import ValueReader
from fitcheck.knowledge import Knowledge
from fitcheck.model import Attribute, EngineBuild, Evidence, Origin, Statement
from fitcheck.quantity import Quantity
from fitcheck.source import Place, Problem, TellsProblems, Text, as_node, frozen, nearest
from fitcheck.source.row import Row
from fitcheck.source.table import read_table

NEEDED = ("attribute", "where", "measured")
_OWN_UNIT = re.compile(r"[^\W\d_]|[\"'″°%]")
_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])|^,(?=[0-9])")
_THOUSANDS = re.compile(r"(?<![0-9,.])[1-9][0-9]{0,2}(,[0-9]{3})+(?![0-9])")
_DATE = re.compile(r"([0-9]{4})[-/]([0-9]{1,2})[-/]([0-9]{1,2})")


@frozen
class Filled:
    """The statements of a filled sheet, and a problem for each cell that was not taken.

    Each statement stands with its value as it is to be written in a build file. `understood` tells
    what was typed another way.
    """

    taken: list[tuple[Statement, str | list[str]]] = field(default_factory=list)
    rejected: list[Problem] = field(default_factory=list)
    understood: list[str] = field(default_factory=list)


def read_filled(
    path: Path,
    build: EngineBuild,
    knowledge: Knowledge,
    usual: Origin,
    *,
    decimal_comma: bool = False,
    today: date | None = None,
) -> Filled:
    """Read a filled sheet; `usual` stands in where a row does not say who, when or with what."""
    filled = Filled()
    rows = read_table(path, filled.rejected)
    if not rows:
        if not filled.rejected:
            filled.rejected.append(Problem(f"{path} holds nothing", None, "give a filled sheet"))
        return filled
    columns = _columns(rows[0], filled.rejected)
    if columns is not None:
        reader = _Rows(
            build, knowledge, columns, usual, decimal_comma, today or date.today(), filled
        )
        reader.read(rows[1:], len(rows[0].cells))
    return filled


def _columns(head: Row, rejected: list[Problem]) -> dict[str, int] | None:
    """Where each column stands; None after a problem that leaves the sheet without meaning."""
    found: dict[str, int] = {}
    whole = True
    for number, cell in enumerate(head.cells):
        name = " ".join(cell.lower().split())
        if name in found:
            rejected.append(
                Problem(f"the column '{name}' stands here twice", cell.place, "keep one of them")
            )
            whole = False
        elif name in READ or name in TOLD:
            found[name] = number
        elif name:
            rejected.append(
                Problem(f"the column '{cell}' is not read", cell.place, nearest(name, READ))
            )
    for name in NEEDED:
        if name not in found:
            rejected.append(
                Problem(
                    f"the column '{name}' is missing: no row can be read",
                    head.place,
                    "keep the first row of the sheet",
                )
            )
            whole = False
    return found if whole else None


class _Rows(TellsProblems):
    """Reads row after row; what is wrong with a row leaves the others alone."""

    def __init__(
        self,
        build: EngineBuild,
        knowledge: Knowledge,
        columns: dict[str, int],
        usual: Origin,
        decimal_comma: bool,
        today: date,
        filled: Filled,
    ) -> None:
        self.build = build
        self.knowledge = knowledge
        self.columns = columns
        self.width = max(columns.values()) + 1
        self.usual = usual
        self.decimal_comma = decimal_comma
        self.today = today
        self.filled = filled
        self.problems: list[Problem] = []  # of the row that is read
        self.values = ValueReader(knowledge, self.problems)
        self.first: dict[object, tuple[Statement, Place]] = {}
        self.doubtful: set[object] = set()

    def read(self, rows: list[Row], width: int) -> None:
        for row in rows:
            self.problems.clear()
            read = self._row(row, width) if not row.blank else None
            self.filled.rejected.extend(self.problems)
            if read is not None and not self.problems:
                self._once(*read)
        kept = [one for one in self.filled.taken if self._key(one[0]) not in self.doubtful]
        self.filled.taken[:] = kept

    def _cell(self, row: Row, name: str) -> Text:
        number = self.columns.get(name, len(row.cells))
        if number >= len(row.cells):
            return Text("", row.place)
        cell = row.cells[number]
        return Text(" ".join(cell.split()), cell.place)

    def _row(self, row: Row, width: int) -> tuple[Statement, str | list[str]] | None:
        measured = self._cell(row, "measured")
        if self._cut_off(row) or not measured:
            return None
        if any(cell.strip() for cell in row.cells[width:]):
            self.problem(
                row.place,
                "this row has more cells than the sheet has columns",
                "put quotes around a cell that holds the separator",
            )
            return None
        if not all(cell.isprintable() for cell in row.cells):
            self.problem(
                row.place,
                "a cell of this row holds a character that can't be printed",
                "type the cell anew",
            )
            return None
        name = self._cell(row, "attribute")
        attribute = self.knowledge.attributes.get(self.knowledge.words.figure(name).name)
        if attribute is None or attribute.slot not in self.build.parts:
            self._unknown(name, attribute)
            return None
        where = self._cell(row, "where")
        selector = self.values.selector(
            where or Text("?", where.place), attribute, self.build.layout
        )
        written = self._written(attribute, measured, self._cell(row, "unit"))
        value = (
            self.values.value(attribute, as_node(written, measured.place), Evidence.MEASURED)
            if written is not None
            else None
        )
        origin = self._origin(row)
        if selector is None or value is None or written is None or origin is None:
            return None
        if isinstance(value, Quantity):
            written = value.text  # as it was understood, in plain figures
        return Statement(
            attribute, selector, Evidence.MEASURED, value, origin, measured.place
        ), written

    def _cut_off(self, row: Row) -> bool:
        """Whether the file ends inside this row, in a cell that would be taken."""
        last = len(row.cells) - 1
        told = any(self.columns.get(name) == last for name in TOLD)
        if row.ended or (told and last + 1 >= self.width):
            return False
        self.problem(
            row.place,
            "the file ends in the middle of this row: it may be cut off",
            "save the sheet again; the last row ends with a new line",
        )
        return True

    def _unknown(self, name: Text, attribute: Attribute | None) -> None:
        if attribute is None:
            self.problem(name.place, *self.knowledge.hints.figure(name))
        else:
            title = self.knowledge.classes[attribute.slot].title
            self.problem(
                name.place,
                f"no {title} is listed in this build",
                f"add '{attribute.slot}:' to the build file first",
            )

    # What a row says.

    def _written(self, attribute: Attribute, cell: Text, unit: Text) -> str | list[str] | None:
        """The value as it stands in a build file: a quantity with its unit, options by their id."""
        if attribute.text:
            return str(cell)
        if attribute.kind is None:
            options = _options(attribute, str(cell))
            return options if len(options) > 1 else options[0]
        number = str(cell)
        if self.decimal_comma and "," in number:
            if "." in number:
                self.problem(
                    cell.place,
                    f"'{cell}' has a comma and a point",
                    "write one decimal mark and no separators",
                )
                return None
            number = number.replace(",", ".")
        elif self.decimal_comma and "." in number.replace("..", ""):
            self.problem(
                cell.place,
                f"the point in '{cell}' may part thousands",
                "write a comma, or leave --decimal-comma out",
            )
            return None
        own = _OWN_UNIT.search(number) is not None
        number = number if own or not unit else f"{number} {unit}"
        return self._by_range(attribute, cell, number) if "," in number else number

    def _by_range(self, attribute: Attribute, cell: Text, number: str) -> str:
        """A figure with a comma, read as what alone is plausible; as it stands where both are."""
        ways = {_COMMA.sub(".", number)} if "." not in number else set()
        if _THOUSANDS.search(number):
            ways.add(_COMMA.sub("", number))
        likely = [way for way in ways if fits(attribute, way)]
        if len(likely) != 1:
            return number
        self.filled.understood.append(f"line {cell.place.line}: '{cell}' is read as {likely[0]}")
        return likely[0]

    def _origin(self, row: Row) -> Origin | None:
        by, with_ = self._cell(row, "by"), self._cell(row, "with")
        when = self._when(self._cell(row, "when"), row)
        who = str(by) or self.usual.by
        if not who:
            self.problem(
                by.place,
                "nobody is named who measured this",
                "fill 'by', or give --by for all rows",
            )
        return Origin(who, when, str(with_) or self.usual.with_) if who and when else None

    def _when(self, cell: Text, row: Row) -> date | None:
        if not cell:
            if self.usual.when is None:
                self.problem(
                    cell.place,
                    "no date is given for this measurement",
                    "fill 'when', or give --when for all rows",
                )
            return self.usual.when
        match = _DATE.fullmatch(cell)
        try:
            when = date(*map(int, match.groups())) if match else None
        except ValueError:
            when = None
        if when is None:
            self.problem(
                cell.place,
                f"'{cell}' is no date",
                "write year-month-day, as in 2026-03-09, in a cell of text",
            )
        elif when > self.today:
            self.problem(cell.place, f"{when} is still to come", "give the day it was measured")
            return None
        return when

    # Rows that say something of one figure.

    def _key(self, statement: Statement) -> object:
        return statement.attribute.name, statement.selector, statement.origin

    def _once(self, statement: Statement, written: str | list[str]) -> None:
        key = self._key(statement)
        place = statement.place
        assert place is not None
        if key not in self.first:
            self.first[key] = statement, place
            self.filled.taken.append((statement, written))
            return
        other, at = self.first[key]
        if meaning(other) == meaning(statement):
            what, mend = f"the row repeats line {at.line}: it is taken once", ""
        else:
            self.doubtful.add(key)
            what = f"the row contradicts line {at.line}: neither is taken"
            mend = "keep the one that is right"
        self.filled.rejected.append(Problem(what, place, mend))


def meaning(statement: Statement) -> object:
    """What a statement says, however it is typed."""
    value = statement.value
    shown = value if isinstance(value, str | int) else value.interval
    return (
        statement.attribute.name,
        statement.selector,
        statement.evidence,
        shown,
        statement.origin,
    )


def _options(attribute: Attribute, cell: str) -> list[str]:
    """The options in a cell by their ids, whether ids or words are written."""
    known = {
        name.lower(): option
        for option, words in zip(attribute.options, attribute.option_words, strict=True)
        for name in (words, option)
    }
    pieces = [cell.strip()]
    for separator in "/;," if attribute.several else "":
        # Words may hold a comma themselves: what is an option already is not parted.
        parted = ([one] if one.lower() in known else one.split(separator) for one in pieces)
        pieces = [piece.strip() for some in parted for piece in some]
    return [known.get(piece.lower(), piece) for piece in pieces]
