"""The files of folders of rules: the one that travels with fitcheck, and a shop's own beside it.

What stands in one file of the first may be added to by a file of the same name in the others; an id
stands once in all of them.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeVar

from fitcheck.knowledge.reading import Reader
from fitcheck.model import shaped
from fitcheck.source import BadInput, Mapping, Place, Problem, Source, Text, nearest, read_yaml

S = TypeVar("S")
FOLDERS = ("classes", "derived", "fits", "mates", "measuring", "operations", "usual", "words")
SINGLE_FILES = (
    "cautions.yaml",
    "choices.yaml",
    "questions.yaml",
    "sources.yaml",
    "start.yaml",
)
# A shop's folder may hold its limits and waivers too; they are read after all rules.
HOUSE = "house.yaml"


class Folders:
    """Reads the files of folders, and collects what is wrong with them."""

    def __init__(self, roots: tuple[Path, ...], problems: list[Problem]) -> None:
        self.roots = roots
        self.problems = problems
        self.reader = Reader(problems)
        self.digest = hashlib.sha256()

    def check(self) -> None:
        """Add a problem for all that would not be read; raises BadInput for a missing folder."""
        for root in self.roots:
            if not root.is_dir():
                mend = "give the folder that holds classes/ and fits/"
                self.problems.append(Problem(f"there is no folder {root}", None, mend))
                raise BadInput(self.problems)
            self._check_names(root)

    def _check_names(self, root: Path) -> None:
        files = SINGLE_FILES if root is self.roots[0] else (*SINGLE_FILES, HOUSE)
        for path in sorted(root.iterdir()):
            if path.is_dir() and path.name not in FOLDERS and path.name[0] != ".":
                self._not_read(
                    path,
                    f"the folder {path.name}/ is not known under rules",
                    nearest(path.name, FOLDERS),
                )
            if path.suffix == ".yaml" and path.name not in files:
                self._not_read(
                    path,
                    f"the file {path.name} is not known under rules",
                    nearest(path.name, files),
                )
        for path in sorted(root.rglob("*.yml")):
            self._not_read(path, f"{path.name} is not read", "name it .yaml")

    def _not_read(self, path: Path, what: str, mend: str) -> None:
        self.problems.append(Problem(what, Place(Source(str(path), "")), mend))

    def _mapping(self, path: Path) -> Mapping | None:
        node = read_yaml(path, self.problems)
        if node is None:
            self.reader.broken |= _names_in(path)
            return None
        self.digest.update(node.place.source.text.encode())
        if not isinstance(node, Mapping):
            self.problems.append(
                Problem(
                    "keys with values are wanted in this file",
                    node.place,
                    "write it as the files beside it",
                )
            )
            self.reader.broken |= _names_in(path)
            return None
        return node

    def families(self) -> set[str]:
        """The families of rules: the folders under fits/, whether or not their rules are read."""
        return {path.parent.name for root in self.roots for path in root.glob("fits/*/*.yaml")}

    def files(self, folder: str) -> Iterator[tuple[Path, Mapping]]:
        """The files of a folder."""
        for root in self.roots:
            for path in sorted((root / folder).rglob("*.yaml")):
                node = self._mapping(path)
                if node is not None:
                    yield path, node

    def entries_of(self, name: str) -> Iterator[tuple[Text, Any]]:
        """The entries of one file, as they stand; only the first folder must have it."""
        found: dict[Text, Text] = {}
        for root in self.roots:
            path = root / name
            if root is not self.roots[0] and not path.exists():
                continue
            for key, value in (self._mapping(path) or {}).items():
                if self._once(key, found):
                    yield key, value

    def _once(self, key: Text, found: dict[Text, Text]) -> bool:
        first = found.setdefault(key, key)
        if first is not key:
            self.reader.problem(key, f"'{key}' stands already at {first.place}", "keep one of them")
        return first is key

    def _shaped(self, key: Text, value: Any, shape: type[S]) -> S | None:
        built = shaped(shape, value, self.problems)
        if built is None:
            self.reader.broken.add(str(key))
        return built

    def single(self, name: str, shape: type[S]) -> dict[Text, S]:
        """The entries of one file."""
        entries = self.entries_of(name)
        built = {key: self._shaped(key, value, shape) for key, value in entries}
        return {key: value for key, value in built.items() if value is not None}

    def several(self, folder: str, shape: type[S]) -> dict[Text, S]:
        """The entries of all files of a folder; an id stands once."""
        found: dict[Text, S] = {}
        keys: dict[Text, Text] = {}
        for _, node in self.files(folder):
            for key, value in node.items():
                built = self._shaped(key, value, shape)
                if built is not None and self._once(key, keys):
                    found[key] = built
        return found

    def named(self, folder: str, shape: type[S]) -> Iterator[tuple[Text, Path, S]]:
        """Files that hold one thing each, named by the file."""
        for path, node in self.files(folder):
            value = shaped(shape, node, self.problems)
            if value is None:
                self.reader.broken.add(path.stem)
            else:
                yield Text(path.stem, node.place), path, value


def _names_in(path: Path) -> set[str]:
    """What a file that can't be read seems to define: nothing else is told about these names."""
    try:
        text = path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        text = ""
    return {path.stem, *re.findall(r"^(\w+):", text, re.MULTILINE)}
