"""The knowledge base: rules/ loaded into one checked object."""

from fitcheck.knowledge.asked import as_makers_ask
from fitcheck.knowledge.base import Knowledge
from fitcheck.knowledge.cache import default_rules, load_knowledge
from fitcheck.knowledge.kinds import kind_in, margin_kind, shortfall
from fitcheck.knowledge.parts import (
    SEVERITIES,
    Caution,
    Derived,
    Fix,
    JobQuestion,
    Limit,
    Operation,
    Procedure,
    Rule,
    Template,
)

__all__ = [
    "SEVERITIES",
    "Caution",
    "Derived",
    "Fix",
    "JobQuestion",
    "Knowledge",
    "Limit",
    "Operation",
    "Procedure",
    "Rule",
    "Template",
    "as_makers_ask",
    "default_rules",
    "kind_in",
    "load_knowledge",
    "margin_kind",
    "shortfall",
]
