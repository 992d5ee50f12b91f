"""Pages and pieces of pages from templates; everything put into one is escaped there."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

import fitcheck
from fitcheck.report.drawings.palette import drawing_style, themes
from fitcheck.report.html.frame import mark
from fitcheck.report.phrases import capital

_HERE = Path(__file__).parent
STATIC = _HERE / "static"


@cache
def environment() -> Environment:
    """Where templates are found."""
    made = Environment(
        loader=FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["zip"] = zip
    made.globals |= {
        "mark": mark,
        "svg": lambda drawing: Markup(drawing.body),
        "capital": capital,
        "version": fitcheck.__version__,
    }
    return made


def render(template: str, **words: Any) -> str:
    """A page, or a piece of one."""
    return environment().get_template(f"{template}.html.j2").render(**words)


@cache
def looks() -> str:
    """The style sheet: the colours and drawings of all pages, and how the bench looks."""
    own = (STATIC / "bench.css").read_text(encoding="utf-8")
    return themes(":root") + drawing_style() + own
