"""Every rule of the project proves itself: by its examples, by mutation, by its page."""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import replace

import pytest

from fitcheck.check.bind import Binding
from fitcheck.check.proofs.examples import examples_of, prove
from fitcheck.check.proofs.mutants import survivors
from fitcheck.check.verdict import Verdict, judge_rules, verdict_on
from fitcheck.knowledge import Rule, default_rules
from fitcheck.language import variables
from fitcheck.report.rulepage import rule_page
from tests.builds import random_builds

# By the files' names, so that the tests can be listed without loading the rules.
RULES = sorted(path.stem for path in (default_rules() / "fits").rglob("*.yaml"))
# Every rule is changed a little where CI asks, a third of them in every run; `fitcheck prove` takes any.
CHANGED = RULES if "FITCHECK_EVERY_PAGE" in os.environ else RULES[::3]


@pytest.fixture
def rule(knowledge, request) -> Rule:
    return knowledge.rules[request.param]


each_rule = pytest.mark.parametrize("rule", RULES, ids=RULES, indirect=True)


@each_rule
def test_examples_hold(rule, knowledge):
    assert [str(problem) for problem in prove(rule, knowledge)] == []


@pytest.mark.in_ci
@pytest.mark.parametrize("rule", CHANGED, ids=CHANGED, indirect=True)
def test_examples_notice_every_small_change(rule, knowledge):
    assert survivors(rule, knowledge) == []


@each_rule
def test_page_is_complete(rule, knowledge):
    page = list(rule_page(rule, knowledge, "inch"))
    headings = Counter(heading for heading, _ in page)
    for heading in ("Fault", "Asks that", "Why", "Fits, for example", "Clashes, for example"):
        assert headings[heading] == 1, heading
    assert headings["Mends it"] == len(rule.fixes)
    # Two figures that contradict each other are measured again; no work mends them.
    assert rule.fixes or rule.family in ("contradictions", "claims")
    assert headings["Limit"] == len(rule.limits)
    assert headings["Applies when"] == (rule.applies is not None)
    # Every limit, or else the rule itself, names a source in full.
    cited = "; ".join(text for heading, text in page if heading in ("Limit", "Source"))
    sources = {limit.source for limit in rule.limits.values()} or {str(rule.file.source)}
    assert all(knowledge.sources[source].words in cited for source in sources)
    assert all(text.strip() and "None" not in text for _, text in page)


@each_rule
def test_can_fit_and_can_clash(rule, knowledge):
    """Over everything plausible a rule is undecided: else it could never fire, or never fit.

    One about what somebody stated, in one way or another, is silent until it is stated.
    """
    unknown = {name: knowledge.unknown(name) for name in rule.inputs}
    said = "stated(" in str(rule.file.applies)
    silent = None if rule.only_given or said else Verdict.UNMEASURED
    assert verdict_on(rule, unknown, knowledge) in (silent, Verdict.UNMEASURED)
    if not said:
        assert verdict_on(rule, unknown, knowledge) is silent
        assert verdict_on(replace(rule, only_given=()), unknown, knowledge) is Verdict.UNMEASURED
    assert {"fits", "conflict"} <= {example.expected for example in examples_of(rule)}


@each_rule
def test_message_names_known_figures_and_no_others(rule, knowledge):
    """A figure in a text is one the rule judges by, or of a part that the rule is about."""
    read = {name for node in rule.message.nodes.values() for name in variables(node)}
    slots = {name.partition(".")[0] for name in rule.inputs} | {"side"}
    assert {name.partition(".")[0] for name in read} <= slots
    text = "".join(words for words, _ in rule.message.pieces)
    assert rule.message.pieces
    assert text.strip().endswith((".", ",", "?", ":")) or rule.message.pieces[-1][1], text


def test_no_two_rules_have_one_title(knowledge):
    titles = Counter(str(rule.file.title).lower() for rule in knowledge.rules.values())
    assert [title for title, count in titles.items() if count > 1] == []


def test_every_file_is_a_rule(knowledge):
    assert sorted(id_ for id_, rule in knowledge.rules.items() if rule.ways is None) == RULES


def test_every_rule_is_decided_both_ways_somewhere(knowledge):
    """Over random builds the rules that need few figures are seen to fit and to clash."""
    seen: dict[str, set[Verdict | None]] = {}
    for build in random_builds(knowledge, seed=11, count=3, known=1.0):
        for judged in judge_rules(Binding(build, knowledge), knowledge.rules.values(), []):
            seen.setdefault(judged.rule.id, set()).add(judged.verdict)
    decided = [
        verdicts for verdicts in seen.values() if verdicts & {Verdict.FITS, Verdict.CONFLICT}
    ]
    assert len(decided) > len(knowledge.rules) / 2
