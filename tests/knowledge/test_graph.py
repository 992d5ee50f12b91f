"""The graph of parts: no interface is forgotten, and what a changed part meets is found."""

from fitcheck.knowledge.graph import covers, meetings, part_graph


def test_every_interface_is_judged_by_a_rule_or_declared_free(knowledge):
    uncovered = [
        mate.id
        for mate in knowledge.mates.values()
        if mate.file.free is None
        and not any(covers(rule, mate) for rule in knowledge.rules.values())
    ]
    assert uncovered == []


def test_an_interface_is_covered_only_by_a_rule_that_reads_both_sides(knowledge):
    mate = next(mate for mate in knowledge.mates.values() if mate.file.free is None)
    one, other = map(str, mate.file.between)
    through = {str(name) for name in mate.file.through}
    for rule in knowledge.rules.values():
        both = all(
            any(name in through and name.startswith(f"{slot}.") for name in rule.inputs)
            for slot in (one, other)
        )
        assert covers(rule, mate) == both


def test_free_interfaces_say_why(knowledge):
    free = [mate for mate in knowledge.mates.values() if mate.file.free is not None]
    assert all(len(str(mate.file.free).split()) > 2 for mate in free)


def test_every_class_meets_another(knowledge):
    alone = [slot for slot in knowledge.classes if not meetings(knowledge, slot)]
    assert alone == []


def test_who_touches_whom_is_mutual(knowledge):
    for slot in knowledge.classes:
        for other in meetings(knowledge, slot):
            assert slot in meetings(knowledge, other)


def test_the_graph_holds_every_class_and_interface(knowledge):
    graph = part_graph(knowledge)
    assert set(graph.nodes) == set(knowledge.classes)
    assert {key for _, _, key in graph.edges(keys=True)} == set(knowledge.mates)
    assert "spring" in meetings(knowledge, "retainer")
