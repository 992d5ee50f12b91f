"""Plain text on paper is what rich writes to a file."""

import io
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from fitcheck.knowledge import load_knowledge
from fitcheck.report.paper import Paper, plain_output
from fitcheck.report.writer import Writer

LETTERS = st.text("ab,-(§×÷−–…é°½", min_size=1, max_size=9)
ODD = st.text("a \n\t\u00a0\u00ad漢字e\u0301🔧\u200b", min_size=1, max_size=12)
BLANKS = st.sampled_from([" ", " ", " ", "  ", "    "])


def texts(words):
    return st.lists(st.tuples(words, BLANKS), max_size=30).map(
        lambda pairs: "".join(word + blank for word, blank in pairs)
    )


def written(console, file, pieces, indent, hang):
    Writer(console).wrapped(pieces, indent, hang)
    return file.getvalue()


def both(pieces, indent, hang, width):
    file, other = io.StringIO(), io.StringIO()
    console = Console(file=other, width=width, highlight=False)
    return (
        written(Paper(width, file), file, pieces, indent, hang),
        written(console, other, pieces, indent, hang),
    )


@given(
    st.text(" ", max_size=3), texts(LETTERS), texts(LETTERS), st.integers(0, 6), st.integers(40, 60)
)
@settings(max_examples=400, deadline=None, derandomize=True)
def test_usual_words_are_wrapped_as_rich_wraps_them(blanks, label, text, indent, width):
    pieces = [(f"{blanks}{label}", "bold"), text]
    paper, rich = both(pieces, indent, 2, width)
    assert paper == rich


@given(st.text(" ", max_size=3), texts(LETTERS | ODD | st.text("x", min_size=30, max_size=80)))
@settings(max_examples=300, deadline=None, derandomize=True)
def test_wide_long_and_odd_words_too(blanks, text):
    paper, rich = both([blanks + text], 3, 0, 40)
    assert paper == rich


def test_a_heading_and_an_item():
    file, other = io.StringIO(), io.StringIO()
    for console in (Paper(40, file), Console(file=other, width=40, highlight=False)):
        writer = Writer(console)
        writer.heading("What clashes")
        writer.line("- " + "the retainer meets the seal " * 4, "dim", indent=2)
        writer.labelled("Why:", "it tears the seal off")
        writer.labelled("", "nothing before it")
        writer.line("")
    assert file.getvalue() == other.getvalue() != ""


@pytest.mark.parametrize(("wish", "plain"), [({}, True), ({"FORCE_COLOR": "1"}, False)])
def test_colours_are_kept_for_who_asks_for_them(wish, plain, monkeypatch):
    for name in ("FORCE_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE"):
        monkeypatch.delenv(name, raising=False)
    for name, value in wish.items():
        monkeypatch.setenv(name, value)
    assert not sys.stdout.isatty()
    assert plain_output() is plain


def test_a_check_into_a_pipe_needs_no_rich():
    load_knowledge()  # is kept from here on
    code = (
        "import sys; from fitcheck.cli.main import main; "
        "main(['check', 'catalog_demo/work_truck/build.yaml']); "
        "print(*sys.modules, file=sys.stderr)"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(ran.stderr.split())
    assert "fitcheck.report.terminal" in loaded
    assert not loaded & {"rich.console", "pydantic", "numpy", "scipy", "networkx", "jinja2"}
