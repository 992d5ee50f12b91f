"""A file read at a glance is what pydantic makes of it, and what differs is left to pydantic."""

from dataclasses import fields, is_dataclass
from pathlib import Path
from random import Random

import pytest

from fitcheck.check.read import BuildFile, PartFile
from fitcheck.knowledge.files import ClassFile, DerivedFile, OperationFile, ProcedureFile, RuleFile
from fitcheck.model import glanced, shaped
from fitcheck.source import Mapping, Place, Sequence, Source, Text, read_yaml

ROOT = Path(__file__).parents[2]
PLACE = Place(Source("changed.yaml", ""))
CHANGES = 40


def files(folder, name="*.yaml"):
    return [read_yaml(path, []) for path in sorted((ROOT / folder).rglob(name))]


def entries(folder):
    return [entry for node in files(folder) for entry in node.values()]


def parts():
    """Every part of the demos; of one that differs by side, each side."""
    for node in files("catalog_demo", "build.yaml"):
        found = [*node["parts"].values()]
        for part in found:
            if isinstance(part, Mapping):
                sides = [part[side] for side in ("intake", "exhaust") if side in part]
                found += sides or part.get("contains", {}).values()
                if not sides:
                    yield part


READ = {
    BuildFile: lambda: files("catalog_demo", "build.yaml"),
    PartFile: lambda: list(parts()),
    RuleFile: lambda: files("rules/fits"),
    ClassFile: lambda: files("rules/classes"),
    DerivedFile: lambda: entries("rules/derived"),
    OperationFile: lambda: entries("rules/operations"),
    ProcedureFile: lambda: entries("rules/measuring"),
}


def same(one, other):
    """Whether two readings are alike to the last scalar and its type."""
    if type(one) is not type(other):
        return False
    if is_dataclass(one):
        names = [field.name for field in fields(one)]
        return all(same(getattr(one, name), getattr(other, name)) for name in names)
    if isinstance(one, dict):
        return [*one] == [*other] and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(map(same, one, other))
    return one == other


def agree(shape, node):
    """Whether both take the node alike, or both refuse it."""
    problems = []
    found, checked = glanced(shape, node), shaped(shape, node, problems)
    return same(found, checked) if found is not None else bool(problems)


@pytest.mark.parametrize("shape", READ, ids=lambda shape: shape.__name__)
def test_every_file_is_read_at_a_glance_as_pydantic_reads_it(shape):
    for node in READ[shape]():
        assert glanced(shape, node) is not None
        assert agree(shape, node)


@pytest.mark.parametrize("shape", READ, ids=lambda shape: shape.__name__)
def test_a_changed_file_is_taken_or_refused_alike(shape):
    random, some = Random(shape.__name__), READ[shape]()[:20]
    refused = 0
    for _ in range(CHANGES):
        node = copied(random.choice(some))
        change(node, random)
        assert agree(shape, node)
        refused += glanced(shape, node) is None
    assert 0 < refused < CHANGES


def copied(node):
    if isinstance(node, Text):
        return node
    made = (
        Mapping({key: copied(value) for key, value in node.items()})
        if isinstance(node, Mapping)
        else Sequence(map(copied, node))
    )
    made.place = node.place
    return made


def change(node, random):
    """Take a key away, add one, or put something else in the place of a value."""
    holders = [one for one in beneath(node) if isinstance(one, Mapping) and one]
    holder = random.choice([node, random.choice(holders)])
    key = random.choice([*holder])
    match random.randrange(4):
        case 0:
            del holder[key]
        case 1:
            holder[Text("something", PLACE)] = Text("else", PLACE)
        case 2:
            holder[key] = Text("a text", PLACE)
        case 3:
            made = random.choice([Mapping, Sequence])()
            made.place = PLACE
            holder[key] = made


def beneath(node):
    yield node
    if isinstance(node, Mapping | Sequence):
        for one in node.values() if isinstance(node, Mapping) else node:
            yield from beneath(one)
