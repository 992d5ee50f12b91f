"""The handbook: the whole knowledge as linked pages, to read, to check and to print.

A folder of files that need no server. One page runs a script of the folder's own, which searches;
all others run none, and none loads anything from elsewhere.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from fitcheck.knowledge import Knowledge
from fitcheck.quantity import System
from fitcheck.report.handbook.chapters import Chapters
from fitcheck.report.handbook.entries import Article, Chapter
from fitcheck.report.html.frame import render, stamp
from fitcheck.report.phrases import counted

_SCRIPT = Path(__file__).with_name("search.js")
# By this a file says that it was made here (see source/writing.py).
_MADE = '/* content="fitcheck" */\n'


def handbook(knowledge: Knowledge, system: System, day: date) -> Iterator[tuple[str, str]]:
    """The files of the handbook: each one's name and its text."""
    chapters = list(Chapters(knowledge, system).all())
    listed = [(f"{one.file}.html", one.title) for one in chapters]
    groups = {
        "Parts": [one for one in listed if one[0].startswith("part-")],
        "Rules": [one for one in listed if one[0].startswith("rules-")],
        "Work, measuring, and what all rests on": [
            one for one in listed if not one[0].startswith(("part-", "rules-"))
        ],
    }
    shared = {"kind": "Handbook", "about": "", "stamp": stamp(knowledge, system, day)}
    told = (
        f"{counted(len(knowledge.rules), 'rule')} on {counted(len(knowledge.classes), 'part')}, "
        f"{counted(len(knowledge.operations), 'piece')} of work and "
        f"{counted(len(knowledge.procedures), 'way')} of measuring."
    )
    yield (
        "index.html",
        render(
            "handbook_contents",
            title="What fits together, and why",
            told=told,
            groups=groups,
            **shared,
        ),
    )
    yield "search.html", render("handbook_search", title="Search", **shared)
    yield "search.js", _MADE + _SCRIPT.read_text(encoding="utf-8")
    yield "entries.js", _MADE + f"const ENTRIES = {_entries(chapters)};\n"
    for chapter in chapters:
        page = render("handbook", title=chapter.title, chapter=chapter, **shared)
        yield f"{chapter.file}.html", page


def _entries(chapters: list[Chapter]) -> str:
    """What can be found: where it stands, what it is called, what it is, its words."""
    found = [
        [f"{chapter.file}.html#{entry.id}", entry.title, entry.kind, _words(entry)]
        for chapter in chapters
        for entry in chapter.entries
        if entry.kind
    ]
    return json.dumps(found, ensure_ascii=True, separators=(",", ":"))


def _words(entry: Article) -> str:
    """The words of an entry, each once: what a search looks through."""
    pieces = (piece.words for row in entry.rows for piece in row.pieces)
    return " ".join(dict.fromkeys(" ".join([entry.id, *pieces]).lower().split()))
