"""From the files of usual figures to what an attribute usually is, branch by branch."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any

from fitcheck.knowledge.files import UsualFile
from fitcheck.knowledge.names import Extra, Names, stand_for
from fitcheck.knowledge.parts import Citation, Usual
from fitcheck.knowledge.reading import Reader
from fitcheck.language import TRUTH, Known, Node, One
from fitcheck.model import SIDES, Attribute, shaped
from fitcheck.source import Mapping, Sequence, Text


class UsualBuilder:
    """Builds usual figures over names and sources that are loaded already."""

    def __init__(self, names: Names, reader: Reader, sources: dict[str, Citation]) -> None:
        self.names = names
        self.reader = reader
        self.sources = sources
        self.stated = [
            name for name, found in names.attributes.items() if name != "side" and not found.text
        ]

    def build(self, files: Iterable[tuple[Path, Mapping]]) -> dict[str, tuple[Usual, ...]]:
        """What each attribute usually is."""
        found: dict[str, tuple[Usual, ...]] = {}
        keys: dict[str, Text] = {}
        for path, node in files:
            for key, entry in node.items():
                keys[str(key)] = key
                if self.reader.one_of(key, self.stated, "attribute") is None:
                    continue
                if key.partition(".")[0] != path.stem:
                    self.reader.problem(
                        key, f"'{key}' stands in {path.name}", "move it to the file of its class"
                    )
                # What is told in a later folder holds before what the first one tells.
                told = found.get(str(key), ())
                found[str(key)] = (*self._branches(key, entry, len(told)), *told)
        self._check_circles(keys, found)
        return found

    def _branches(self, key: Text, entry: Any, before: int) -> Iterator[Usual]:
        if not isinstance(entry, Sequence):
            self.reader.problem(key, f"'{key}' holds no list of branches", "start each with -")
            return
        for number, node in enumerate(entry, before):
            file = shaped(UsualFile, node, self.reader.problems)
            built = self._branch(key, self.names.attributes[key], number, file) if file else None
            if built is not None:
                yield built

    def _branch(
        self, key: Text, attribute: Attribute, number: int, file: UsualFile
    ) -> Usual | None:
        reader = self.reader
        given = [what for what in (file.is_, file.range, file.one_of) if what is not None]
        if len(given) != 1:
            reader.problem(
                key, f"'{key}' is told {len(given)} times in one branch", "give is, range or one_of"
            )
            return None
        reader.one_of(file.source, self.sources, "source in sources.yaml")
        unless, only = (self._listed(names) for names in (file.unless_stated, file.if_stated))
        at = reader.one_of(file.at, SIDES, "side of the head") if file.at is not None else None
        ranges = self.names.ranges_named(file.with_)
        known = stand_for(ranges)
        when = None
        if file.when is not None:
            when = self.names.expression(file.when, known, want=TRUTH)
            if when is None:
                return None
        mask = self._mask(attribute, file.one_of) if file.one_of is not None else 0
        node = self._figure(key, attribute, file, known) if file.one_of is None else None
        if node is None and not mask:
            return None
        self.names.check_used(ranges, [part for part in (node, when) if part])
        return Usual(
            f"{key} {number}",
            attribute,
            node,
            mask,
            when,
            unless,
            only,
            at or "",
            reader.yes(file.helper),
            str(file.why),
            str(file.source),
        )

    def _listed(self, names: Text | list[Text] | None) -> tuple[str, ...]:
        listed = [names] if isinstance(names, Text) else names or []
        for name in listed:
            self.reader.one_of(name, self.stated, "attribute")
        return tuple(map(str, listed))

    def _mask(self, attribute: Attribute, one_of: Text | list[Text]) -> int:
        mask = 0
        for text in [one_of] if isinstance(one_of, Text) else one_of:
            if self.reader.one_of(text, attribute.options, f"option of {attribute.name}"):
                mask |= 1 << attribute.options.index(str(text))
        return mask

    def _figure(
        self, key: Text, attribute: Attribute, file: UsualFile, known: Extra
    ) -> Node | None:
        """The figure of a range or of an expression."""
        if file.is_ is not None:
            want = attribute.kind.dimension if attribute.kind else self._choice(key, file.is_)
            return self.names.expression(file.is_, known, want=want) if want is not None else None
        assert file.range is not None
        if attribute.kind is None or attribute.plausible is None:
            self.reader.problem(file.range, f"'{key}' is no quantity", "write one_of:")
            return None
        found = self.reader.quantity(file.range, attribute.kind)
        if found is None:
            return None
        if not found.interval.within(attribute.plausible):
            self.reader.problem(
                file.range,
                f"what is usual for '{key}' is not within what is plausible",
                "narrow the usual range, or widen the plausible one",
            )
            return None
        at = (0, len(file.range))
        return Known(attribute.kind.dimension, at, str(key), found.interval, attribute.kind)

    def _choice(self, key: Text, text: Text) -> One | None:
        """The type of the choice that another attribute takes after."""
        node = self.names.find(key, (0, len(key)))
        assert node is not None and not isinstance(node.type, tuple)
        options = getattr(node.type, "options", None)
        if options is None:
            self.reader.problem(text, f"'{key}' is no choice", "write range:")
            return None
        return One(options)

    def _check_circles(self, keys: dict[str, Text], found: dict[str, tuple[Usual, ...]]) -> None:
        """A usual figure must not wait for itself; what is read only as stated can't."""
        order = {name: set(_waited_for(branches)) for name, branches in found.items()}
        try:
            TopologicalSorter(order).prepare()
        except CycleError as error:
            circle = error.args[1]
            key = next(keys[name] for name in circle if name in keys)
            self.reader.problem(
                key,
                f"usual figures wait for each other: {' -> '.join(circle)}",
                "name one of them under if_stated",
            )


def _waited_for(branches: Iterable[Usual]) -> Iterator[str]:
    for branch in branches:
        yield from branch.reads - set(branch.if_stated)
