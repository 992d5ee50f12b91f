"""Where a value stands in a file, and what is wrong there.

Errors are values: code that reads a file adds a `Problem` to a list and reads on, so that one
run names everything. `BadInput` carries the whole list to whoever started the run.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import field
from difflib import get_close_matches
from functools import lru_cache
from typing import Any, Self

from fitcheck.source.frozen import frozen

# Characters that a terminal takes for commands, or that turn the direction of what is shown.
UNSHOWN = re.compile(
    r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\xad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e"
    r"\u2060-\u206f\ufff9-\ufffb\ufffe\uffff\ud800-\udfff\U000e0000-\U000e007f]"
)
MOST_LISTED = 40
MOST_PROBLEMS = 100
MOST_LETTERS = 80  # of a word that is compared with names


@lru_cache(maxsize=4)  # a file with many problems is split once
def _lines(text: str) -> list[str]:
    return text.splitlines()


@frozen
class Source:
    """A text that was read, by the name the user knows it by."""

    name: str
    text: str = field(repr=False)

    def __reduce__(self) -> tuple[Any, ...]:
        return Source, (self.name, "")  # the name is enough for what is kept between runs

    def line(self, number: int) -> str:
        """The text of line `number`, counted from 1; empty past the end."""
        lines = _lines(self.text)
        return lines[number - 1] if 0 < number <= len(lines) else ""


@frozen
class Place:
    """A stretch of one line of a source; line and column count from 1.

    >>> Place(Source("truck.yaml", "bore: 4.00"), 1, 7, 4)
    truck.yaml:1:7
    """

    source: Source
    line: int = 1
    column: int = 1
    width: int = 1

    def shifted(self, offset: int, width: int) -> Place:
        """The place `offset` characters to the right, `width` wide."""
        return Place(self.source, self.line, self.column + offset, max(width, 1))

    def caret(self) -> str:
        """The line itself with a row of carets under the stretch; long lines are cut around it."""
        line = self.source.line(self.line).replace("\t", " ")
        start = max(0, self.column - 61)
        shown = line[start : start + 100]
        width = max(1, min(self.width, len(shown) - (self.column - 1 - start)))
        return f"{shown}\n{' ' * (self.column - 1 - start)}{'^' * width}"

    def __str__(self) -> str:
        return f"{self.source.name}:{self.line}:{self.column}"

    __repr__ = __str__


def shown_safely(text: str) -> str:
    r"""A text with each character that could command a terminal, or turn its direction, spelt out.

    >>> shown_safely("a\x1b[31mb")
    'a\\x1b[31mb'
    """
    return text if text.isprintable() else UNSHOWN.sub(lambda found: ascii(found[0])[1:-1], text)


@frozen
class Problem:
    """One thing that is wrong: what, where, and what to do about it."""

    what: str
    place: Place | None = None
    mend: str = ""

    def __str__(self) -> str:
        return shown_safely(self._whole())

    def _whole(self) -> str:
        where = f"{self.place}: " if self.place else ""
        mend = f"\n  {self.mend}" if self.mend else ""
        caret = ""
        if self.place and self.place.source.text:
            caret = "".join(f"\n    {row}" for row in self.place.caret().splitlines())
        return f"{where}{self.what}{caret}{mend}"


class BadInput(Exception):
    """Input that can't be used; holds every problem found in the run."""

    exit_code = 2

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = list(problems)
        super().__init__("\n".join(map(str, self.problems)))


class Problems(list[Problem]):
    """What is wrong with one input; past `MOST_PROBLEMS` what else is wrong is not looked for.

    Adding one more raises BadInput with all so far: who mends the first sees what the others are.
    """

    def append(self, problem: Problem) -> None:
        """Add one; raises BadInput past the most."""
        if len(self) < MOST_PROBLEMS:
            super().append(problem)
            return
        more = "what else is wrong is left untold"
        raise BadInput([*self, Problem(more, problem.place, "mend these first")])

    def extend(self, problems: Iterable[Problem]) -> None:
        """Add some."""
        for problem in problems:
            self.append(problem)

    def __iadd__(self, problems: Iterable[Problem]) -> Self:  # type: ignore[override, misc]
        self.extend(problems)
        return self


class TellsProblems:
    """Whoever reads on after adding what is wrong to `problems`."""

    problems: list[Problem]

    def problem(self, place: Place | None, what: str, mend: str = "") -> None:
        """Add a problem."""
        self.problems.append(Problem(what, place, mend))


def nearest(word: str, known: Iterable[str]) -> str:
    """`did you mean 'x'?` for the nearest known name, else the names there are.

    >>> nearest("sprnig", ["spring", "valve"])
    "did you mean 'spring'?"
    >>> nearest("q", ["no", "yes"])
    'one of: no, yes'
    """
    names = list(known)
    close = get_close_matches(word[:MOST_LETTERS].lower(), names, n=1, cutoff=0.6)
    if close:
        return f"did you mean '{close[0]}'?"
    listed = ", ".join(sorted(names)[:MOST_LISTED])
    more = f", and {len(names) - MOST_LISTED} more" if len(names) > MOST_LISTED else ""
    return f"one of: {listed}{more}" if listed else "no name is known here"
