"""A small invented build in several styles of writing, and sheets to fill for it."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from fitcheck.check import read_build
from fitcheck.check.records.filled import Filled, read_filled
from fitcheck.check.records.record import Recorded, record
from fitcheck.check.records.sheet import make_sheet
from fitcheck.model import Origin
from fitcheck.report.sheet import sheet_csv
from fitcheck.source.rewrite import read_original

BUILD = """\
# An invented build; no figure is from a real part.
build: bench four (invented)
cylinders: "4"   # in a row

parts:
  engine:
    measured: {by: owner, when: 2026-01-05, use: road}  # flow style

  head:
    # what the seller says
    claimed: {by: seller's page, chamber_volume: 64 cc, chamber_spread: 0.4 cc}
    measured:
      by: machine shop
      when: 2026-02-01
      with: burette
      # the plug was in
      chamber_volume: {cylinder 1: 64.2 cc}  # twice the same

    contains:
      valve:
        intake:
          measured: {by: owner, when: 2026-01-05, stem_diameter: 0.3413 in}
        exhaust:
          claimed: {head_diameter: 1.600 in}
      spring:
        name: "springs #4"
        claimed:
          installed_height: 1.700 in
          seat_load: 105 lbf
        measured:
          - by: owner
            when: 2026-01-05
            installed_height: {3 exhaust: 1.690 in}
# the end
"""
USUAL = Origin("owner", None, "")


def written(folder: Path, text: str = BUILD) -> Path:
    """The build in a file of its own."""
    path = folder / "build.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def rows(path: Path, knowledge, system="inch", **options) -> list[dict[str, str]]:
    """The rows of the sheet as a spreadsheet would show them."""
    sheet = make_sheet(read_build(path, knowledge), knowledge, **options)
    return list(csv.DictReader(io.StringIO(sheet_csv(sheet, system), newline="")))


def sheet_text(
    path: Path, knowledge, filled: dict[tuple[str, str], str], system="inch", **cells: str
) -> str:
    """The sheet with some figures filled in, by attribute and place."""
    found = rows(path, knowledge, system, again=True)
    out = io.StringIO()
    writer = csv.DictWriter(out, found[0].keys())
    writer.writeheader()
    left = dict(filled)
    for row in found:
        value = left.pop((row["attribute"], row["where"]), None)
        if value is not None:
            row |= {"measured": value, "when": "2026-03-09", **cells}
        writer.writerow(row)
    assert not left, f"not on the sheet: {left}"
    return out.getvalue()


def read_text(path: Path, knowledge, text: str, **options) -> Filled:
    """A sheet read back against the build."""
    sheet = path.parent / "sheet.csv"
    sheet.write_bytes(text.encode())
    usual = options.pop("usual", USUAL)
    return read_filled(sheet, read_build(path, knowledge), knowledge, usual, **options)


def recorded(path: Path, knowledge, text: str, **options) -> Recorded:
    """A sheet recorded in the build."""
    filled = read_text(path, knowledge, text, **options)
    return record(read_original(path), path, filled, knowledge)


def told(filled: Filled | Recorded) -> list[str]:
    """What was rejected: line, column and reason."""
    return [
        f"{problem.place.line}:{problem.place.column} {problem.what}"
        if problem.place
        else problem.what
        for problem in filled.rejected
    ]
