"""The folder that the bench was given: its build files, by their names alone.

A name from a request is never made into a path. It is looked up among the files that lie in the
folder itself; what is not found there is refused, links and files elsewhere with it.
"""

from __future__ import annotations

import re
from pathlib import Path

from fitcheck.source import BadInput, Problem, frozen
from fitcheck.source.writing import free_name, write_whole

YAML = (".yaml", ".yml")
# By what a YAML file of a kind starts, and by what names of other kinds end.
STARTS = {"build": "build", "prices": "prices", "routes": "routes", "pile": "pile",
          "house": "house", "columns": "columns|classes", "list": "parts"}  # fmt: skip
ENDS = {".csv": "list", ".tsv": "list", ".xlsx": "list", ".parquet": "list", ".csv.gz": "list",
        ".duckdb": "catalog"}  # fmt: skip
SET_ASIDE = ".set_aside"  # in the name of what an import could not read
_START = 4000  # bytes in which a file says what it is
_MOST_LETTERS = 40
MOST_FILES = 200


@frozen
class Listed:
    """A file of the folder, and what it holds: a build, prices, routes, a list of parts…"""

    name: str
    kind: str


class Folder:
    """The files that can be opened."""

    def __init__(self, path: Path, given: Path | None = None) -> None:
        self.path = path.resolve()
        self._given = given  # the file that the command named, which may be a link

    def files(self, kind: str = "build") -> list[Listed]:
        """The files of one kind, by name."""
        found = [
            Listed(path.name, own)
            for path in sorted(self.path.iterdir())[: MOST_FILES * 10]
            if not path.is_symlink() and path.is_file()
            for own in [_kind(path)]
            if own == kind
        ]
        if kind == "build" and self._given is not None:
            found = [Listed(self._given.name, kind)] + [
                one for one in found if one.name != self._given.name
            ]
        return found[:MOST_FILES]

    def find(self, name: str, kind: str = "build") -> Path:
        """The path of a file by its name; raises BadInput for a name that is not listed."""
        if not any(name == one.name for one in self.files(kind)):
            raise BadInput(
                [
                    Problem(
                        f"there is no {kind} file of that name in this folder", None, "choose one"
                    )
                ]
            )
        if self._given is not None and name == self._given.name and kind == "build":
            return self._given
        return self.path / name

    def new(self, title: str, text: str) -> Path:
        """A new file with a text, named after a title; no file that is there is touched."""
        words = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:_MOST_LETTERS].strip("-")
        path = free_name(self.path / f"{words or 'build'}.yaml", b"\0")
        write_whole(path, text)
        return path


def _kind(path: Path) -> str:
    name = path.name.lower()
    if path.suffix.lower() not in YAML:
        found = next((kind for end, kind in ENDS.items() if name.endswith(end)), "")
        return "" if SET_ASIDE in name else found
    try:
        with path.open("rb") as file:
            start = file.read(_START).decode("utf-8", errors="replace")
    except OSError:
        return ""
    return next(
        (kind for kind, keys in STARTS.items() if re.search(rf"^(?:{keys})\s*:", start, re.M)), ""
    )
