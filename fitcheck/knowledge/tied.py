"""Rules in which a usual figure that follows another one stands as it comes about.

A cam bearing is usually the journal and a clearance. As two ranges they could lie anywhere against
each other; with the one written out by the other, what they share cancels and the clearance stays.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import product
from typing import TYPE_CHECKING

from fitcheck.knowledge.base import Knowledge
from fitcheck.knowledge.figures import Figures, NodeValues, told_of
from fitcheck.knowledge.parts import Rule, Usual
from fitcheck.language import Compiled, Node, Variable, walk
from fitcheck.language.tree import Apply, Call
from fitcheck.model import Fact

if TYPE_CHECKING:
    from fitcheck.language.rebuild import Rebuild

# Few rules have more, and theirs have too many figures to be decided by any of them.
MOST_TIES = 4
Ties = tuple[Usual, ...]


def follows(branch: Usual, rule: Rule) -> bool:
    """Whether a usual figure comes from another figure that the rule reads."""
    if branch.helper or branch.at or branch.attribute.kind is None:
        return False
    return any(name in rule.inputs for name in branch.figures)


def tied(rule: Rule, ties: Ties, knowledge: Knowledge) -> Compiled | None:
    """The verdict of a rule with some figures written out; None where that is of no use."""
    key = _key(rule, ties)
    if key not in knowledge.figures:
        useful = ties in _choices(rule, knowledge)
        knowledge.figures[key] = _compiled(rule, ties, knowledge) if useful else None
    found: Compiled | None = knowledge.figures[key]
    return found


def compile_tied(knowledge: Knowledge) -> dict[object, Compiled]:
    """Every rule with every choice of followers that can occur."""
    found: dict[object, Compiled] = {}
    for rule in knowledge.rules.values():
        for ties in _choices(rule, knowledge):
            found[_key(rule, ties)] = _compiled(rule, ties, knowledge)
    knowledge.figures.update(found)
    return found


def _key(rule: Rule, ties: Ties) -> tuple[object, ...]:
    return ("tied", rule.id, tuple(branch.id for branch in ties))


def outermost(ties: Iterable[Usual]) -> Ties:
    """Those that no other of them reads: to write both out would hide what they share."""
    found = tuple(ties)
    read = {name for branch in found for name in branch.figures}
    return tuple(branch for branch in found if branch.attribute.name not in read)


def _choices(rule: Rule, knowledge: Knowledge) -> set[Ties]:
    followers = [
        [branch for branch in knowledge.usual.get(name, ()) if follows(branch, rule)]
        for name in rule.inputs
    ]
    choices = product(*((None, *branches) for branches in followers if branches))
    found = {outermost(one for one in some if one is not None) for some in choices} - {()}
    if any(isinstance(node, Call) for root in rule.roots for node in walk(root)):
        # Within a calculation nothing cancels but what is taken out of the tree.
        found = {ties for ties in found if any(_differences(_written(rule.roots, ties), rule))}
    return found if len(found) <= MOST_TIES else set()


def _differences(written: Callable[[Node], Node], rule: Rule) -> Iterator[Node]:
    """What cancels at sight of what is handed to a calculation."""
    for root in rule.roots:
        yield from (node for node in walk(written(root)) if _left_over(node) is not None)


def _left_over(node: Node) -> Node | None:
    """Of `x - (x - y)` and of `y * x / x` the `y`; None for every other tree."""
    if not isinstance(node, Apply) or node.op not in ("-", "/"):
        return None
    whole, less = node.args
    if node.op == "/":
        return _share(whole, less)
    if not (isinstance(whole, Variable) and isinstance(less, Apply) and less.op == "-"):
        return None
    same = less.args[0]
    return less.args[1] if isinstance(same, Variable) and same.name == whole.name else None


def _share(product: Node, of: Node) -> Node | None:
    """Of `y * x` over `x` the `y`; what is divided by is never nought."""
    if not (isinstance(of, Variable) and of.plausible is not None and of.plausible.lower > 0):
        return None
    if not (isinstance(product, Apply) and product.op == "*" and len(product.args) == 2):
        return None
    share, same = product.args
    return share if isinstance(same, Variable) and same.name == of.name else None


class TiedFigures:
    """The figures that a finding tells, with some of them written out by what they follow."""

    def __init__(self, rule: Rule, ties: Ties, knowledge: Knowledge) -> None:
        self._told = list(told_of(rule, knowledge))
        written = _writing(self._told, ties)
        self._made = [written(node) for node in self._told]
        self._figures = Figures(knowledge, self._made, ("figures", *_key(rule, ties)))
        self.names = {name for name, _ in self._figures.compiled.inputs}
        self.names |= {node.name for node in self._made if isinstance(node, Variable)}

    def of(self, facts: Mapping[str, Fact]) -> NodeValues:
        """The interval of each node of the rule, by the node's id."""
        found = self._figures.of(facts)
        values = NodeValues()
        for node, made in zip(self._told, self._made, strict=True):
            values[id(node)] = found[id(made)]
            if id(made) in found.ways:
                values.ways[id(node)] = found.ways[id(made)]
        return values


def tied_figures(rule: Rule, ties: Ties, knowledge: Knowledge) -> TiedFigures:
    """The figures of a rule with some written out, compiled once."""
    key = ("figures of", *_key(rule, ties))
    if key not in knowledge.figures:
        knowledge.figures[key] = TiedFigures(rule, ties, knowledge)
    found: TiedFigures = knowledge.figures[key]
    return found


def _writing(roots: Iterable[Node], ties: Ties) -> Callable[[Node], Node]:
    """What writes the figures out in these trees, and takes out what cancels at sight."""
    from fitcheck.language.rebuild import Rebuild  # noqa: PLC0415  what is kept needs none of it

    some = list(roots)
    written = _written(some, ties)
    left = {id(node): _left_over(node) for root in some for node in walk(written(root))}
    shortened = Rebuild({key: node for key, node in left.items() if node is not None})
    return lambda node: shortened(written(node))


def _written(roots: Iterable[Node], ties: Ties) -> Rebuild:
    """What writes the figures out in these trees."""
    from fitcheck.language.rebuild import Rebuild  # noqa: PLC0415  what is kept needs none of it

    by_name: dict[str, Node] = {
        branch.attribute.name: branch.node for branch in ties if branch.node is not None
    }
    return Rebuild(
        {
            id(node): by_name[node.name]
            for root in roots
            for node in walk(root)
            if isinstance(node, Variable) and node.name in by_name
        }
    )


def _compiled(rule: Rule, ties: Ties, knowledge: Knowledge) -> Compiled:
    from fitcheck.language import TRUE, Condition, compile_verdicts  # noqa: PLC0415  it is kept

    written = _writing(rule.roots, ties)
    lowering = knowledge.lowering
    applies = lowering.truth(written(rule.applies)) if rule.applies else (TRUE, TRUE)
    condition = Condition(applies, tuple(lowering.clauses(written(rule.requires))))
    return compile_verdicts([condition], "exact")
