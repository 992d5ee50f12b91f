"""One story of a check: the short answer first, and the same in text, page, notebook and data."""

from __future__ import annotations

import io
from datetime import date
from html import unescape
from types import SimpleNamespace

import pytest

from fitcheck.check import BuildCheck, check_build, read_build
from fitcheck.cli.demo import demo_folder
from fitcheck.report import answers
from fitcheck.report.answers import IF_USUAL, harm, worst_place
from fitcheck.report.data import check_data
from fitcheck.report.explanation import write_explanation
from fitcheck.report.html import PAGES
from fitcheck.report.notebook import check_html
from fitcheck.report.paper import Paper
from fitcheck.report.phrases import ranges_in_words
from fitcheck.report.story import MOST_ASKED, Story
from fitcheck.report.terminal import CheckReport

# What a buyer has from a seller's page and a cam card; invented, as all figures here.
BUYER = """\
build: heads sold as bolt-on (invented)
cylinders: "8"
parts:
  engine: {assumed: {by: buyer, layout: vee, use: road}}
  block: {claimed: {by: manual, bore: 4.030 in}}
  crankshaft: {claimed: {by: manual, stroke: 3.480 in}}
  head: {claimed: {by: seller, material: aluminium, chamber_volume: 64 cc}}
  spring: {claimed: {by: seller, load_1: 120 lbf, load_1_height: 1.800 in, rate: 340 lbf/in}}
  cam: {claimed: {by: cam card, rated_valve_lift: 0.525 in, rated_ratio: "1.5"}}
"""


@pytest.fixture(scope="module")
def truck(knowledge) -> BuildCheck:
    build = read_build(demo_folder() / "work_truck" / "build.yaml", knowledge)
    return check_build(build, knowledge)


@pytest.fixture(scope="module")
def buyer(knowledge) -> BuildCheck:
    return check_build(read_build("buyer.yaml", knowledge, BUYER), knowledge)


def _text(check: BuildCheck, *, full: bool = False) -> list[str]:
    told = io.StringIO()
    report = CheckReport(check, Paper(100, told), "inch")
    report.full() if full else report.short()
    return told.getvalue().splitlines()


def _plain(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


def test_a_buyer_reads_the_short_answer_in_the_first_twelve_lines(buyer):
    story, lines = Story(buyer, "inch"), _text(buyer)
    first = _plain(lines[:12])
    assert lines[0] == "heads sold as bolt-on (invented)"
    assert len(story.answers) >= 8
    for one in story.answers:
        assert one.words in first, one.id
    asks = [line for line in lines if line[:2].rstrip(".").isdigit() and "min): " in line]
    assert 0 < len(asks) <= 12


def test_likely_never_stands_without_its_condition(buyer, truck):
    for check in (buyer, truck):
        for one in Story(check, "inch").answers:
            assert ("likely" in one.words) == (IF_USUAL in one.words), one.words
            assert ("likely" in one.words) == bool(one.usual)
            assert len(one.usual) <= 3


@pytest.mark.parametrize("full", [False, True])
def test_every_likely_of_the_text_says_on_what(truck, buyer, full):
    for check in (truck, buyer):
        for sentence in _plain(_text(check, full=full)).split(". "):
            if " likely " in sentence:
                assert "as usual" in sentence or "A likely clash hangs on it" in sentence, sentence


def test_explain_names_the_usual_figures(buyer):
    """A usual 1.800 in of installed height and 120 lbf: what rests on it is said."""
    likely = [f for f in buyer.undecided if buyer.likely(f).rests_on]
    assert len(likely) > 20
    told = io.StringIO()
    write_explanation(buyer, likely[:1], Paper(100, told), "inch")
    text = _plain(told.getvalue().splitlines())
    assert f"I{IF_USUAL[1:]}: likely " in text
    for fact in buyer.likely(likely[0]).rests_on:
        assert fact.attribute.title in text


def test_text_page_notebook_and_data_tell_one_story(truck):
    """The same answers, the same clashes in the same order, the same figures to ask for."""
    story = Story(truck, "inch")
    data = check_data(truck, "inch")
    page = unescape(PAGES["check"].make(truck, "inch", date(2026, 10, 1)))
    notebook = unescape(check_html(truck, "inch"))
    short, full = _plain(_text(truck)), _plain(_text(truck, full=True))
    assert [one["words"] for one in data["answers"]] == [one.words for one in story.answers]
    for one in story.answers:
        assert all(one.words.lower() in text.lower() for text in (short, full, notebook))
        assert ranges_in_words(one.words.lower()) in page.lower()
    assert data["clashes"] == [clash.rule for clash in story.clashes]
    for text in (short, full, page):
        where = [text.index(clash.title) for clash in story.clashes]
        assert where == sorted(where)
    assert {"static_compression", "seat_load_fitted"} <= {one.name for one in story.outcomes}
    for one in story.outcomes:
        assert all(f"{one.title} {one.words}" in text for text in (short, full, notebook))
        assert f"{one.title} {ranges_in_words(one.words)}" in page
    titles = [ask.title for ask in story.asks[:MOST_ASKED]]
    assert all(title in text for title in titles for text in (short, full))
    assert data["ask_first"] == [ask.attribute.name for ask in story.asks[:MOST_ASKED]]
    found = story.counts
    assert data["counts"]["undecided"] == found.open
    assert f"{found.open} questions cannot be answered yet" in short
    assert f"{found.open} cannot be told" in page


def test_of_usual_figures_those_are_named_on_which_grave_answers_rest_most(monkeypatch):
    """A stop weighs nine times a remark; in each answer the first figure most, the third least."""
    monkeypatch.setattr(answers, "fact_value", lambda fact, system: "as usual")
    rests = {"stop": "abc", "advice": "cde"}
    figures = {
        one: SimpleNamespace(attribute=SimpleNamespace(name=one, title=one)) for one in "abcde"
    }
    check = SimpleNamespace(
        likely=lambda finding: SimpleNamespace(
            rests_on=[figures[one] for one in rests[finding.rule.severity]]
        )
    )
    found = [SimpleNamespace(rule=SimpleNamespace(severity=severity)) for severity in rests]
    told = answers._Answering(check, [], [], "inch")._usual(found)
    assert told == ("a as usual", "b as usual", "c as usual")


def test_clashes_stand_in_the_order_of_harm(truck):
    order = [
        harm(worst_place([f for f in truck.conflicts if f.rule.id == clash.rule]))
        for clash in Story(truck, "inch").clashes
    ]
    assert order == sorted(order) and len(order) > 3
    assert {grave for grave, _ in order} >= {0, 1}


def test_a_question_with_a_clash_is_answered_no_with_its_figure(truck):
    """The truck's retainers come within 0.018..0.029 in of the seals, where 0.050 is the least."""
    (springs,) = [one for one in Story(truck, "inch").answers if one.id == "springs"]
    assert springs.standing == "no"
    assert "retainer to seal or guide at full lift, short by 0.021..0.042 in" in springs.words


def test_work_and_looks_are_two_lists_and_no_asks(truck):
    story = Story(truck, "inch")
    assert "measuring of the piston-to-valve clearance" in story.work
    assert "bolt pattern" in story.looks
    first = {rule.id for ask in story.asks[:MOST_ASKED] for rule in ask.about}
    rules = truck.knowledge.rules
    assert not any(rules[name].by_work or rules[name].by_look for name in first)


def test_what_the_engine_comes_out_at_is_told_where_it_can_be_reckoned(buyer):
    """Bore 4.030, stroke 3.480 in eight cylinders: 355 cubic inches by pi/4 D^2 S n, no more."""
    told = {one.name: one.words for one in Story(buyer, "inch").outcomes}
    low, high = map(float, told["total_displacement"].removesuffix(" in3").split(".."))
    assert low < 3.14159265 / 4 * 4.030**2 * 3.480 * 8 < high
    assert "static_compression" not in told  # nobody told of gasket or piston
