"""Facts and figures in words."""

from __future__ import annotations

from fitcheck.knowledge import kind_in
from fitcheck.language import Node
from fitcheck.model import Evidence, Fact
from fitcheck.quantity import Interval, System, show


def describe_fact(fact: Fact) -> str:
    """Where a fact comes from, in words."""
    if fact.evidence is Evidence.USUAL:
        return f"usual: {fact.text}"
    if not fact.given:
        return "not measured; the range plausible for such a part"
    if fact.statement is None:
        return fact.text or "as listed"
    origin = str(fact.statement.origin)
    return f"{fact.word} as {fact.text}" + (f" ({origin})" if origin else "")


def options_told(fact: Fact) -> str:
    """The options that a fact leaves open, in words."""
    words_ = [word for i, word in enumerate(fact.attribute.option_words) if fact.mask >> i & 1]
    return " or ".join(words_)


def show_node(node: Node, interval: Interval, system: System) -> str:
    """A node's interval in the kind that its parts are shown in."""
    kind = kind_in(node)
    return show(interval, kind, system) if kind else "?"
