"""How figures come about: trees of named figures, down to what was given."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.check.finding import RuleFinding
from fitcheck.check.telling import describe_fact
from fitcheck.language import Is, Known, Node, Step, Variable, variables, words
from fitcheck.language.tree import Apply
from fitcheck.quantity import System
from fitcheck.source import frozen


@frozen
class Derivation:
    """A named figure, how it comes about, and the figures it comes from."""

    title: str
    value: str
    formula: str
    source: str
    parts: tuple[Derivation, ...]


@frozen
class _Reckoned:
    """The words of a derived figure, and the named figures that it comes from."""

    title: str
    value: str
    formula: str
    source: str
    parts: tuple[Node, ...]


def derivations(finding: RuleFinding, system: System = "inch") -> list[Derivation]:
    """How the figures of the worst demand come about, down to what was given."""
    roots: list[Node] = [finding.rule.requires]
    for demand in finding.demands[:1]:
        roots = [demand.node.left, demand.node.right]
    deriving = _Deriving(finding, system)
    return [found for root in roots for found in deriving.beneath(root)]


class _Deriving:
    """Derives the figures of one finding; what is derived already is told once."""

    def __init__(self, finding: RuleFinding, system: System) -> None:
        self.finding = finding
        self.knowledge = finding.knowledge
        self.system: System = system
        self.told: set[str] = set()

    def beneath(self, root: Node) -> list[Derivation]:
        """The derivations of the nearest named figures at or beneath a node."""
        return [self._derive(node) for node in self._named(root)]

    def _derive(self, node: Node) -> Derivation:
        finding = self.finding
        if isinstance(node, Step) and node.name in self.knowledge.derived:
            found = self._reckoned(node)
            if node.name in self.told:
                return Derivation(found.title, found.value, "as above", "", ())
            self.told.add(node.name)
            parts = tuple(self._derive(part) for part in found.parts)
            return Derivation(found.title, found.value, found.formula, found.source, parts)
        if isinstance(node, Variable):
            return self._given(node)
        limit = finding.rule.limits.get(getattr(node, "name", ""))
        source = self.knowledge.sources[limit.source].words if limit else ""
        return Derivation(finding.title(node), finding.show(node, self.system), "", source, ())

    def _given(self, node: Variable) -> Derivation:
        finding, fact = self.finding, self.finding.facts[node.name]
        key = ("given", fact, node.name, self.system)
        found: Derivation | None = finding.wordings.get(key)
        if found is None:
            value = finding.show(node, self.system)
            found = Derivation(finding.title(node), value, "", describe_fact(fact), ())
            finding.wordings[key] = found
        return found

    def _reckoned(self, node: Step) -> _Reckoned:
        """The words of a derived figure: the same in every finding that has the same facts."""
        finding = self.finding
        facts = tuple([finding.facts[name] for name in self._read_by(node)])
        key = (node, facts, self.system)
        found: _Reckoned | None = finding.wordings.get(key)
        if found is None:
            derived = self.knowledge.derived[node.name]
            found = finding.wordings[key] = _Reckoned(
                finding.title(node),
                finding.show(node, self.system),
                words(self._way_taken(node.inner), self._formula_name),
                self.knowledge.sources[derived.file.source].words,
                tuple(self._named(node.inner)),
            )
        return found

    def _read_by(self, node: Node) -> tuple[str, ...]:
        key = ("read by", node)
        found: tuple[str, ...] | None = self.knowledge.figures.get(key)
        if found is None:
            found = self.knowledge.figures[key] = tuple(variables(node))
        return found

    def _way_taken(self, node: Node) -> Node:
        """A figure without the branches not taken and the ways that do not count."""
        while isinstance(node, Apply) and node.op in ("pick", "agree"):
            parts = self.finding.counting.parts(node)
            if len(parts) == len(node.args):
                break
            node = parts[-1]
        return node

    def _named(self, node: Node) -> Iterator[Node]:
        """The nearest named nodes that count at or beneath a node, each once."""
        seen: set[str] = set()
        stack = [node]
        while stack:
            current = stack.pop()
            if isinstance(current, Step | Variable | Known):
                if current.name not in seen:
                    seen.add(current.name)
                    yield current
            else:
                stack.extend(reversed(self.finding.counting.parts(current)))

    def _formula_name(self, node: Node) -> str:
        finding = self.finding
        if isinstance(node, Is):
            attribute = finding.facts[node.choice.name].attribute  # type: ignore[attr-defined]
            return " or ".join(
                words_ for i, words_ in enumerate(attribute.option_words) if node.mask >> i & 1
            )
        title = finding.title(node)
        return (
            f"{title} {finding.show(node, self.system)}" if isinstance(node.type, tuple) else title
        )
