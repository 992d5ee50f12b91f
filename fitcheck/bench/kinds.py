"""The kinds of longer work: what each answers, its command, and what its form asks.

A form chooses among names of the folder's files, parts, figures and a few words; what is typed
freely becomes one argument each that no command reads as an option.
"""

from __future__ import annotations

import re
from pathlib import Path

from fitcheck.bench.desk import Desk
from fitcheck.report.phrases import capital
from fitcheck.report.stacking import stacked
from fitcheck.source import BadInput, Problem, frozen


@frozen
class JobKind:
    """A kind of work: what it answers, its command, and what it asks.

    `asks` are names of ASKS. `page` is the option that its page is written by. `of_build`: the
    command takes the open build first; `units`: it takes `--units`.
    """

    title: str
    about: str
    command: tuple[str, ...]
    asks: tuple[str, ...] = ()
    page: str = ""
    of_build: bool = True
    units: bool = True


KINDS = {
    "plan": JobKind(
        "A plan and its work order",
        "the cheapest work that is proven to leave no clash, or what leaves none",
        ("plan",),
        ("prices", "objective", "seconds"),
        "--page",
    ),
    "routes": JobKind(
        "Routes compared",
        "rework, bare castings or other heads side by side",
        ("routes",),
        ("routes", "seconds"),
        "--page",
        of_build=False,
        units=False,
    ),
    "page": JobKind("The page of the check", "all of it, with drawings", ("page",), (), "--output"),
    "sheet": JobKind(
        "The inspection sheet",
        "what to measure, how, with blanks",
        ("page", "--kind=sheet"),
        (),
        "--output",
    ),
    "audit": JobKind(
        "Claims against readings",
        "each claimed figure against its measurement",
        ("page", "--kind=audit"),
        (),
        "--output",
    ),
    "measure": JobKind(
        "All that is worth measuring",
        "what to measure or ask first, how finely, and what it can settle",
        ("measure", "--all"),
    ),
    "reach": JobKind(
        "How far one figure can go",
        "from where to where, and which question ends it",
        ("reach",),
        ("figure",),
    ),
    "compare": JobKind(
        "Another build beside this one",
        "what differs in the answers of two builds of this folder",
        ("compare",),
        ("other",),
    ),
    "screen": JobKind(
        "Parts of a list that fit",
        "which parts fit an open place or likely do, what rules the others out",
        ("screen",),
        ("catalog", "slot", "also", "first", "prices"),
    ),
    "order": JobKind(
        "What to ask a seller for", "what the other parts leave one part", ("order",), ("slot",)
    ),
    "identify": JobKind(
        "Which listed part an unlabelled one may be",
        "and the figure whose measurement leaves fewest",
        ("identify",),
        ("catalog", "slot", "figures"),
        of_build=False,
        units=False,
    ),
    "take": JobKind(
        "Take a seller's list in",
        "into the catalog parts.duckdb of this folder; rows that can't be read are set aside",
        ("catalog",),
        ("list", "columns"),
        of_build=False,
        units=False,
    ),
    "pile": JobKind(
        "What of a pile goes together",
        "what to use, buy, identify or leave aside",
        ("pile",),
        ("pile", "catalog"),
        "--page",
    ),
    "record": JobKind(
        "A filled sheet into the file",
        "the readings of a sheet (CSV or xlsx) of this folder; Undo takes them back",
        ("record",),
        ("filled", "by"),
        units=False,
    ),
    "samples": JobKind(
        "Where only some are measured", "what can be said of the rest", ("samples",)
    ),
    "chance": JobKind("The chance", "the share of assemblies that clear", ("chance",)),
    "rule": JobKind(
        "One question's page",
        "what goes wrong, why, by which figures and sources",
        ("rule",),
        ("rule",),
        of_build=False,
    ),
}  # fmt: skip
OBJECTIVES = {"": "as it comes", "hours": "the fewest hours", "price": "the lowest price",
              "metal": "the least cut", "parts": "the fewest new parts"}  # fmt: skip
ORDERS = {"price": "the cheapest order", "room": "the most room",
          "work": "the least work"}  # fmt: skip
SECONDS = {"20": "20", "60": "60", "180": "180"}
# What a form can ask, as it is labelled.
ASKS = {
    "prices": "Prices", "routes": "Routes file", "pile": "Pile file", "slot": "Part",
    "also": "Together with", "objective": "What shall count", "seconds": "Seconds at most",
    "catalog": "List or catalog", "list": "List", "columns": "What its columns are",
    "other": "Other build", "figure": "Figure", "by": "Measured by", "filled": "Filled sheet",
    "first": "What comes first", "figures": "What was measured of it, one a line",
    "rule": "Question",
}  # fmt: skip
# What each that is asked of the folder's files can be; and what stands for none, where one need
# not be named.
FILES = {"prices": ("prices",), "routes": ("routes",), "pile": ("pile",), "other": ("build",),
         "catalog": ("catalog", "list"), "list": ("list",), "columns": ("columns",),
         "filled": ("list",)}  # fmt: skip
NO_FILE = {"prices": "none: by hours", "catalog": "the invented parts",
           "columns": "as its headers say"}  # fmt: skip
TYPED = ("figures", "by")
# What is told by an option; the rest stands alone.
OPTIONS = {one: one for one in ("prices", "catalog", "columns", "objective", "seconds", "by")}
OPTIONS |= {"list": "add", "first": "by"}
CATALOG = "parts.duckdb"
MOST_FIGURES, MOST_LETTERS = 20, 80
Group = tuple[str, list[tuple[str, str]]]


def choices(ask: str, desk: Desk) -> list[Group]:
    """What can be chosen, in groups; a group without a title where there are none."""
    if ask in FILES:
        none = [("", NO_FILE[ask])] if ask in NO_FILE else []
        return [("", none + [(name, name) for name in _names(ask, desk)])]
    if ask in ("slot", "also"):
        return [("", [("", "nothing else")])] * (ask == "also") + _parts(desk)
    if ask == "figure":
        return _figures(desk)
    if ask == "rule":
        return [("", [(id_, capital(str(rule.file.subject)))
                      for id_, rule in desk.knowledge.rules.items()])]  # fmt: skip
    return [("", list({"objective": OBJECTIVES, "seconds": SECONDS}.get(ask, ORDERS).items()))]


def _names(ask: str, desk: Desk) -> dict[str, str]:
    """The files of the folder that can be chosen, with their kinds."""
    found = {one.name: kind for kind in FILES[ask] for one in desk.folder.files(kind)}
    return {name: kind for name, kind in found.items() if (ask, name) != ("other", desk.name)}


def _parts(desk: Desk) -> list[Group]:
    classes = desk.knowledge.classes
    return [
        (title, [(slot, capital(classes[slot].title)) for slot in slots])
        for title, slots in stacked(classes).items()
    ]


def _figures(desk: Desk) -> list[Group]:
    """The figures that somebody gave, by part: what has no figure has no reach to go from."""
    given = {one.attribute.name for one in desk.build.statements() if one.attribute.kind}
    return [
        (
            capital(part.title),
            [(one.name, capital(one.title)) for one in part.attributes.values()
             if one.name in given],
        )
        for part in desk.knowledge.classes.values()
    ]  # fmt: skip


def arguments(work: JobKind, said: dict[str, str], desk: Desk) -> tuple[list[str], list[str]]:
    """What a form says, as the command takes it: options, then what stands alone."""
    options: list[str] = []
    alone = [str(desk.folder.path / CATALOG)] if "list" in work.asks else []
    for ask in work.asks:
        value = said.get(ask, "")
        for one in _read(ask, value, desk):
            if ask in OPTIONS:
                options.append(f"--{OPTIONS[ask]}={one}")
            else:
                alone.append(one)
    return options, alone


def _read(ask: str, value: str, desk: Desk) -> list[str]:
    """What is said to one that is asked: nothing where it may be left out; raises BadInput."""
    if ask in TYPED:
        return _lines(value)
    if ask in FILES:
        return [] if not value and ask in NO_FILE else [str(_file(ask, value, desk))]
    known = {own for _, some in choices(ask, desk) for own, _ in some}
    if ask == "seconds" and value not in known:
        value = next(iter(SECONDS))
    if value not in known:
        raise BadInput([Problem(f"{ASKS[ask].lower()}: which?", None, "choose one")])
    return [value] if value else []


def _file(ask: str, name: str, desk: Desk) -> Path:
    kind = _names(ask, desk).get(name)
    if kind is None:
        raise BadInput([Problem(f"{ASKS[ask].lower()}: which?", None, "choose one")])
    return desk.folder.find(name, kind)


def _lines(text: str) -> list[str]:
    found = [" ".join(one.split())[:MOST_LETTERS] for one in re.split(r"[\n;]", text)]
    if len(found) > MOST_FIGURES:
        what = f"more than {MOST_FIGURES} figures"
        raise BadInput([Problem(what, None, "give those that tell such parts apart")])
    return [one for one in found if one]
