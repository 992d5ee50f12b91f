"""What to mind in a plan: with each step, with what goes beside it, and for the engine's use."""

from __future__ import annotations

from collections.abc import Iterable

from fitcheck.check import BuildCheck
from fitcheck.knowledge import Caution, Knowledge, Rule
from fitcheck.model import Position
from fitcheck.plan.work import Work, fits_part, removes_metal

USE = "engine.use"


def of_work(work: Work, mends: Iterable[Rule], knowledge: Knowledge) -> tuple[Caution, ...]:
    """The cautions of a work and of the clashes that it mends.

    Nobody wrote down what is done to put a bought part in; the library's own ways to fit parts in
    its place call for the same care.
    """
    if work.operation is not None:
        told = list(work.operation.file.cautions)
    else:
        assert work.swap is not None
        told = [
            name
            for operation in knowledge.operations.values()
            if str(operation.file.on) == work.swap.slot
            and (fits_part(operation) or not removes_metal(operation))
            for name in operation.file.cautions
        ]
    return named([*told, *(name for rule in mends for name in rule.file.cautions)], knowledge)


def named(names: Iterable[object], knowledge: Knowledge) -> tuple[Caution, ...]:
    """Cautions by their names, each once."""
    return tuple(knowledge.cautions[name] for name in dict.fromkeys(map(str, names)))


def of_use(check: BuildCheck) -> tuple[Caution, ...]:
    """The cautions that an engine's use calls for, or may call for where nobody told it."""
    attribute = check.knowledge.attributes.get(USE)
    if attribute is None:
        return ()
    fact = check.binding.fact(USE, Position())
    left = {name for i, name in enumerate(attribute.options) if fact.mask >> i & 1}
    return tuple(
        caution
        for caution in check.knowledge.cautions.values()
        if not left.isdisjoint(map(str, caution.file.uses))
    )
