"""Nothing is asked for or kept that no answer rests on: calculations, attributes, procedures."""

from pathlib import Path

import fitcheck
from fitcheck.calculations import CALCULATIONS
from fitcheck.language import Node, variables, walk
from fitcheck.language.tree import Call

PACKAGE = Path(fitcheck.__file__).parent
# Told by the build itself, of every class alike.
ON_EVERY_CLASS = ("present", "comes_with_head")


def _nodes(knowledge) -> list[Node]:
    """Every expression of the knowledge: rules, remedies, texts, derived figures, effects."""
    found = [derived.node for derived in knowledge.derived.values()]
    for rule in knowledge.rules.values():
        found += [*rule.roots, *rule.message.nodes.values()]
        for fix in rule.fixes:
            found += [node for node in (fix.amount, fix.when) if node is not None]
            found += fix.look_for.nodes.values() if fix.look_for else []
    for operation in knowledge.operations.values():
        found += operation.effects.values()
    return found


def test_every_calculation_is_called_from_the_rules(knowledge):
    called = {
        node.calculation.name
        for root in _nodes(knowledge)
        for node in walk(root)
        if isinstance(node, Call)
    }
    assert sorted(set(CALCULATIONS) - called) == []


def test_every_attribute_is_read(knowledge):
    """By a rule, a remedy, a derived figure that one of them reads, a usual figure, a drawing.

    An effect on a figure that nothing else reads is no use of it.
    """
    read = set(knowledge.readers)
    for rule in knowledge.rules.values():
        read |= rule.told
    for operation in knowledge.operations.values():
        for target, node in operation.effects.items():
            read |= set(variables(node)) - {target}
    drawn = "".join(
        path.read_text(encoding="utf-8") for path in (PACKAGE / "report/drawings").glob("*.py")
    )
    usual = {
        name for branches in knowledge.usual.values() for one in branches for name in one.reads
    }
    unread = [
        name
        for name in knowledge.attributes
        if name not in read | usual
        and name.partition(".")[2] not in ON_EVERY_CLASS
        and f'"{name}"' not in drawn
    ]
    assert unread == []


def test_every_derived_figure_is_used(knowledge):
    used = {node.name for root in _nodes(knowledge) for node in walk(root) if hasattr(node, "name")}
    assert sorted(set(knowledge.derived) - used) == []
