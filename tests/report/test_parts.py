"""`fitcheck parts`: everything there is to say, and what a change of it puts in question."""

from __future__ import annotations

import json

import networkx
import pytest

from fitcheck.cli import main
from fitcheck.knowledge.graph import RULE, figure_graph, meetings, questioned
from fitcheck.language import walk
from fitcheck.report.parts import written


@pytest.fixture(scope="module")
def graph(knowledge):
    return figure_graph(knowledge)


def told(capsys, *arguments: str) -> str:
    assert main(["parts", *arguments]) == 0
    return " ".join(capsys.readouterr().out.split())


def test_all_parts_are_listed_with_how_much_there_is_to_say(capsys, knowledge):
    text = told(capsys)
    for part_class in knowledge.classes.values():
        assert f"{part_class.id}: {part_class.title}" in text


@pytest.mark.parametrize("slot", ["spring", "cam", "engine"])
def test_a_part_tells_each_figure_its_range_or_options_and_how_it_is_measured(
    slot, capsys, knowledge
):
    text = told(capsys, slot)
    for attribute in written(knowledge.classes[slot]):
        assert f"{attribute.name.partition('.')[2]}: {attribute.title}" in text
    for other, mates in meetings(knowledge, slot).items():
        assert f"{other}: {mates[0].file.title}" in text


def test_a_figure_is_told_in_full(capsys, knowledge):
    text = told(capsys, "spring.installed_height")
    assert "Write: A figure within 1.000..2.600 in" in text
    assert "Units: in, mm, thou" in text
    assert "good to +-0.020 in" in text
    assert "coil_bind" in text and "Coil-bind" not in text.partition("questioned")[2]
    steps = knowledge.procedures["installed_height"].file.steps
    assert all(" ".join(str(step).split()) in text for step in steps)
    words = told(capsys, "cam.firing_order")
    assert "order_1_5_3_6_2_4: 1-5-3-6-2-4" in words
    assert "1.00..2.60" not in told(capsys, "spring.installed_height", "--units", "inch")
    assert "25.40..66.04 mm" in told(capsys, "spring.installed_height", "--units", "metric")


def test_a_change_questions_the_rules_that_read_it_and_no_others(knowledge, graph):
    """By the graph, what follows from a figure is what the rules' own inputs name."""
    for attribute in knowledge.attributes.values():
        change = questioned(knowledge, graph, [attribute.name])
        assert set(change.rules) == {
            rule.id for rule in knowledge.readers.get(attribute.name, ())
        }, attribute.name


def test_what_follows_from_a_figure_is_what_reads_it_however_deep(knowledge, graph):
    for name, derived in knowledge.derived.items():
        read = {getattr(node, "name", "") for node in walk(derived.node)}
        for attribute in read & set(knowledge.attributes):
            assert name in questioned(knowledge, graph, [attribute]).derived


def test_the_graph_of_figures_has_no_circle_and_ends_in_rules(knowledge, graph):
    assert networkx.is_directed_acyclic_graph(graph)
    assert all(graph.out_degree((RULE, rule)) == 0 for rule in knowledge.rules)


def test_a_changed_spring_is_judged_beside_retainer_and_lobe(knowledge, graph):
    names = [attribute.name for attribute in written(knowledge.classes["spring"])]
    change = questioned(knowledge, graph, names)
    assert {"coil_bind", "weak_seat_load", "spring_surges"} <= set(change.rules)
    assert {"retainer", "cam", "rocker"} <= change.beside.keys()
    assert not any(name.startswith("spring.") for name in change.undone)


def test_data_holds_every_figure_of_every_part(capsys, knowledge):
    assert main(["parts", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    names = {one["attribute"] for part in data for one in part["attributes"]}
    hidden = {
        name for name in knowledge.attributes if name.endswith((".present", ".comes_with_head"))
    }
    assert names == set(knowledge.attributes) - hidden - {"side"}
    spring = next(part for part in data if part["part"] == "spring")
    assert "retainer" in spring["meets"] and "coil_bind" in spring["change"]["rules"]


@pytest.mark.parametrize("name", ["sprnig", "spring.installed_hight"])
def test_a_mistyped_name_is_told(name, capsys):
    assert main(["parts", name]) == 2
    assert "did you mean" in capsys.readouterr().err
