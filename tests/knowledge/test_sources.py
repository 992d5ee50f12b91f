"""What the limits rest on: a place in a book that somebody can open, or practice, and said so."""

import re
from collections import Counter

from fitcheck.knowledge import Knowledge, Limit

# Kinds of sources without pages: geometry and physics follow from a formula, data can be counted
# anew, and the first two say that nobody printed the figure.
PAGELESS = ("practice", "memory", "geometry", "physics", "data")
PLACE = re.compile(
    r"page|table|figure|paragraph|package|section|chapter|problem|example|step|part |item|\bstate\b",
    re.I,
)
# Nothing more is known of where in them the figure stands.
NO_PLACE_KNOWN = {"jsme_dictionary", "rothbart", "zimmerli"}
# To be brought down by reading, never up.
MOST_ON_PRACTICE_ALONE = 77


def _own(knowledge: Knowledge) -> list[tuple[str, Limit]]:
    """The limits of the rules' files, one that several rules share counted once."""
    return [
        (f"{rule.id}.{name}", limit)
        for rule in knowledge.rules.values()
        if rule.ways is None
        for name, limit in rule.limits.items()
        if rule.file.limits[name].same_as is None  # type: ignore[index]
    ]


def test_each_citation_says_where_to_look(knowledge):
    without = []
    for name, limit in _own(knowledge):
        source = knowledge.sources[limit.source].file
        told = f"{limit.why} {source.note or ''} {source.title}"
        if str(source.kind) not in PAGELESS and not PLACE.search(told):
            without.append((limit.source, name))
    assert {source for source, _ in without} <= NO_PLACE_KNOWN, without


def test_few_limits_rest_on_practice_alone(knowledge):
    kinds = Counter(str(knowledge.sources[one.source].file.kind) for _, one in _own(knowledge))
    alone = [
        name
        for name, one in _own(knowledge)
        if str(knowledge.sources[one.source].file.kind) in ("practice", "memory")
    ]
    print(f"\n{len(alone)} of {sum(kinds.values())} limits rest on practice or memory alone:")
    print(*sorted(alone), sep="\n")
    assert len(alone) <= MOST_ON_PRACTICE_ALONE


def test_a_shared_limit_is_one_figure(knowledge):
    rule = knowledge.rules["block_face_too_rough"]
    assert str(rule.file.limits["steel"].same_as) == "head_face_too_rough.steel"
    other = knowledge.rules["head_face_too_rough"].limits["steel"]
    assert rule.limits["steel"].entries == other.entries
    assert (rule.limits["steel"].source, rule.limits["steel"].why) == (other.source, other.why)
