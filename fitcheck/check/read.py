"""Reads a build file against the knowledge; every problem of the file is told in one run."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

from fitcheck.check.asked import AskedReader, tell_doubles
from fitcheck.check.block import BlockReader
from fitcheck.check.naming import Naming
from fitcheck.knowledge import Knowledge
from fitcheck.model import (
    MOST_CYLINDERS,
    SIDES,
    EngineBuild,
    Evidence,
    Layout,
    Part,
    PartClass,
    Statement,
    UnderstoodText,
    glanced,
    shape,
    shaped,
)
from fitcheck.quantity import Quantity
from fitcheck.source import (
    BadInput,
    Mapping,
    Node,
    Place,
    Problem,
    Problems,
    Sequence,
    Source,
    TellsProblems,
    Text,
    Typed,
    as_node,
    read_yaml,
)

_EVIDENCE = {evidence.word: evidence for evidence in Evidence if evidence is not Evidence.USUAL}


@shape
class BuildFile:
    """The top of a build file."""

    build: Text
    about: Text | None = None
    cylinders: Text
    banks: dict[Text, list[Text]] | None = None
    complete: Text | None = None
    parts: dict[Text, Any]


@shape
class PartFile:
    """One part of a build."""

    spelt: ClassVar = {"instead of": "instead_of"}

    name: Text | None = None
    seller: Text | None = None
    measured: Any = None
    predicted: Any = None
    claimed: Any = None
    assumed: Any = None
    contains: Any = None
    complete: Text | None = None
    maker_asks: Any = None
    instead_of: Text | None = None


def read_build(path: Path | str, knowledge: Knowledge, text: str | None = None) -> EngineBuild:
    """The build in a file (or in `text`, named by `path`); raises BadInput."""
    problems = Problems()
    node = read_yaml(path, problems, text)
    build = _BuildReader(knowledge, problems, told=True).build(node) if node is not None else None
    if problems or build is None:
        raise BadInput(
            sorted(problems, key=lambda problem: problem.place.line if problem.place else 0)
        )
    return build


def read_said(
    slot: str, evidence: Evidence, said: dict[str, Typed], layout: Layout, knowledge: Knowledge
) -> tuple[tuple[Statement, ...], tuple[UnderstoodText, ...]]:
    """What somebody typed of a part, read as in a build file, and what was understood.

    `said` is what stands there beneath a kind of evidence. Raises BadInput without places.
    """
    problems, place = Problems(), Place(Source("typed", ""))
    reader = _BuildReader(knowledge, problems, told=True)
    reader.layout = reader.blocks.layout = layout
    try:
        reader._slot(Text(slot, place), as_node({evidence.word: said}, place), "", {})
        reader._check_cylinders(layout)
        if problems:
            raise BadInput(problems)
    except BadInput as error:
        bare = [Problem(problem.what, None, problem.mend) for problem in error.problems]
        raise BadInput(bare) from error
    return reader.parts[slot][0].statements, tuple(reader.blocks.readings)


def read_part(
    slot: Text,
    node: Any,
    side: str,
    layout: Layout,
    knowledge: Knowledge,
    problems: list[Problem],
    readings: list[UnderstoodText] | None = None,
) -> Part | None:
    """One part as it stands in a build file, in a list of parts; None after a problem.

    Where the caller tells what was understood, that goes to `readings`, and units may be left out.
    """
    file = glanced(PartFile, node) or shaped(PartFile, node, problems)
    if file is None:
        return None
    if file.contains is not None:
        problems.append(
            Problem("a part in a list contains no others", slot.place, "list each part of its own")
        )
        return None
    if file.maker_asks is not None:
        problems.append(
            Problem(
                "what a maker asks holds for a build, not for a part in a list",
                slot.place,
                "write 'maker_asks' in the build, beneath the part or the engine",
            )
        )
        return None
    reader = _BuildReader(knowledge, problems, told=readings is not None)
    reader.layout = reader.blocks.layout = layout
    part = reader._part(slot, knowledge.classes[str(slot)], file, side, "", {})
    if readings is not None:
        readings += reader.blocks.readings
    return part


class _BuildReader(TellsProblems):
    """Reads builds and parts; `told` says that what was understood will be."""

    def __init__(self, knowledge: Knowledge, problems: list[Problem], *, told: bool) -> None:
        self.knowledge = knowledge
        self.problems = problems
        self.naming = Naming(knowledge, problems)
        self.blocks = BlockReader(self.naming, bare=told)
        self.parts: dict[str, tuple[Part, ...]] = {}
        self.absent: set[str] = set()
        self.complete: set[str] = set()  # parts with all that sits with them listed
        self.listed: dict[str, Place] = {}
        self.sides: dict[str, set[str]] = {}  # listed of a part in entries of their own
        self.contained: list[Part] = []
        self.layout: Layout | None = None

    def build(self, node: Node) -> EngineBuild | None:
        if not isinstance(node, Mapping):
            self.problem(node.place, "a build file starts with keys such as build: and parts:")
            return None
        file = glanced(BuildFile, node) or shaped(BuildFile, node, self.problems)
        if file is not None:
            self.layout = self.blocks.layout = self._layout(file)
        parts = file.parts if file else next((v for key, v in node.items() if key == "parts"), None)
        replaced: dict[str, Text] = {}
        for key, value in parts.items() if isinstance(parts, dict) else ():
            self._slot(key, value, holder="", replaced=replaced)
        for slot, holder in replaced.items():
            if not any(part.slot == slot and part.holder == holder for part in self.contained):
                self.problem(
                    holder.place,
                    f"no {slot} comes with a {holder} in this build",
                    "leave 'instead of' out",
                )
        for part in self.contained:
            if part.slot in self.absent:
                self.problem(
                    part.place,
                    f"'{part.slot}' is said to be none, and comes with the {part.holder}",
                    "leave one of the two out",
                )
        tell_doubles((part for parts in self.parts.values() for part in parts), self.problems)
        if file is None or self.layout is None:
            return None
        self._leave_out(everything=self._yes(file.complete))
        self._check_cylinders(self.layout)
        return EngineBuild(
            str(file.build),
            str(file.about or ""),
            self.layout,
            self.parts,
            frozenset(self.absent),
            node.place,
            tuple(self.blocks.readings),
        )

    # What is not fitted.

    def _yes(self, text: Text | None) -> bool:
        if text is not None and text not in ("yes", "no"):
            self.problem(text.place, f"'{text}' is neither yes nor no", "write complete: yes")
        return text == "yes"

    def _leave_out(self, *, everything: bool) -> None:
        """Where a list is said to be complete, an optional part that is not on it is not fitted."""
        for part_class in self.knowledge.classes.values():
            told = everything or part_class.sits_with in self.complete
            if part_class.optional and told and part_class.id not in self.parts:
                self.absent.add(part_class.id)

    # Cylinders and banks.

    def _check_cylinders(self, layout: Layout) -> None:
        for part in self.parts.get("engine", ()):
            for said in part.statements:
                count = said.value.lower if isinstance(said.value, Quantity) else None
                if said.attribute.name == "engine.cylinders" and count != layout.cylinders:
                    self.problem(
                        said.place,
                        f"the engine has {layout.cylinders} cylinders above and {count} here",
                        "leave it out here",
                    )

    def _layout(self, file: BuildFile) -> Layout | None:
        cylinders = self._count(file.cylinders)
        banks: list[tuple[str, tuple[int, ...]]] = []
        for name, members in (file.banks or {}).items():
            banks.append((str(name), tuple(self._count(member) for member in members)))
        if banks and cylinders:
            assert file.banks is not None
            told = sorted(number for _, members in banks for number in members)
            if told != list(range(1, cylinders + 1)):
                self.problem(
                    next(iter(file.banks)).place,
                    f"the banks do not hold cylinders 1 to {cylinders} once each",
                    "list every cylinder in one bank",
                )
                return None
        return Layout(cylinders, tuple(banks)) if cylinders else None

    def _count(self, text: Text) -> int:
        number = int(text) if text.isascii() and text.isdigit() and len(text) < 4 else 0
        if not 1 <= number <= MOST_CYLINDERS:
            self.problem(
                text.place,
                f"'{text}' is no number of cylinders from 1 to {MOST_CYLINDERS}",
                "write a whole number",
            )
            return 0
        return number

    # Slots and parts.

    def _slot(self, key: Text, value: Node, holder: str, replaced: dict[str, Text]) -> None:
        named, said = self.naming.part_and_side(key)
        if named is None:
            return
        part_class, key = self.knowledge.classes[named], named
        if isinstance(value, Text) and value.casefold() == "none" and not said:
            self.absent.add(part_class.id)
            if part_class.needed:
                self.problem(
                    value.place,
                    f"no such engine runs without: {part_class.title}",
                    "leave the part out where nothing is known of it",
                )
            return
        if not isinstance(value, Mapping):
            self.problem(
                value.place,
                f"'{key}' needs what is known of the part",
                "write claimed: or measured: beneath, or 'none' for no such part",
            )
            return
        if said:
            value = Mapping({Text(said, key.place): value})
        sided = [side for side in SIDES if side in value]
        if sided and part_class.each != "valve":
            self.problem(
                value.key(sided[0]).place,
                f"'{key}' is not a part for each valve",
                "leave the sides out",
            )
            return
        if sided:
            for other in value:
                if other not in SIDES:
                    self.problem(
                        other.place,
                        f"'{other}' beside intake and exhaust",
                        "move it beneath one of the sides",
                    )
        parts = []
        for side in sided or [""]:
            node = value[value.key(side)] if side else value
            file = glanced(PartFile, node) or shaped(PartFile, node, self.problems)
            if file is not None:
                parts.append(self._part(key, part_class, file, side, holder, replaced))
        if not self._joined(str(key), sided, tuple(parts), holder):
            self._place_in_slot(key, tuple(parts), holder, replaced)

    def _joined(self, slot: str, sided: list[str], parts: tuple[Part, ...], holder: str) -> bool:
        """Whether parts joined others of their slot that are said of other sides, or of both."""
        known = self.sides.setdefault(f"{holder}.{slot}", set())
        new = set(sided) or {""}
        joined = bool(known) and not known & new and slot in self.parts
        known |= new
        if joined:
            self.parts[slot] += parts
            self.contained += parts if holder else ()
        return joined

    def _place_in_slot(
        self, key: Text, parts: tuple[Part, ...], holder: str, replaced: dict[str, Text]
    ) -> None:
        slot = str(key)
        if holder:
            self.contained += parts
        first = self.listed.setdefault(slot, key.place)
        if first is not key.place and slot not in replaced:
            self.problem(
                key.place,
                f"'{slot}' is listed twice: it stands already at {first}",
                "to fit another than the one that comes with the head, write "
                "'instead of: head' beneath it",
            )
            return
        if holder and slot in replaced:
            return
        self.parts[slot] = parts

    def _part(
        self,
        key: Text,
        part_class: PartClass,
        file: PartFile,
        side: str,
        holder: str,
        replaced: dict[str, Text],
    ) -> Part:
        if file.instead_of is not None:
            replaced[str(key)] = self.naming.part(file.instead_of) or file.instead_of
        statements: list[Statement] = []
        for word, evidence in _EVIDENCE.items():
            block = getattr(file, word)
            for one in block if isinstance(block, Sequence) else [block]:
                if isinstance(one, Mapping):
                    statements += self.blocks.read(
                        part_class, one, evidence, side, alone=not holder
                    )
                elif one:  # with nothing beneath it yet, it says nothing
                    self.problem(
                        one.place,
                        f"'{word}' holds attributes and their values",
                        "write one attribute a line beneath it",
                    )
        self.blocks.check_signs(statements)
        self._contents(key, file.contains, replaced, holder)
        if self._yes(file.complete):
            self.complete.add(str(key))
        return Part(
            str(key),
            str(file.name or ""),
            str(file.seller or ""),
            tuple(statements),
            holder,
            key.place,
            tuple(AskedReader(str(key), side, self.knowledge, self.problems).read(file.maker_asks)),
        )

    def _contents(self, key: Text, contains: Any, replaced: dict[str, Text], holder: str) -> None:
        if contains is None:
            return
        if holder or not isinstance(contains, Mapping):
            place = contains.place if hasattr(contains, "place") else key.place
            self.problem(place, "'contains' holds parts, one level deep")
            return
        for inner, value in contains.items():
            self._slot(inner, value, str(key), replaced)
