"""Which measurement holds, and the history of those that went before."""

import pytest
from rich.console import Console

from fitcheck.check import read_build
from fitcheck.check.bind import Binding
from fitcheck.check.records.history import history
from fitcheck.check.values import selector_words
from fitcheck.model import Position
from fitcheck.report.history import history_data, write_history
from tests.record.builds import written

HEAD = 'build: b\ncylinders: "2"\nparts:\n  spring:\n    measured:\n'
A = "      - {by: a, when: 2026-01-01, installed_height: {1 exhaust: 1.700 in}}\n"
B = "      - {by: b, when: 2026-02-01, installed_height: 1.710 in}\n"
C = "      - {by: c, installed_height: {1 exhaust: 1.690 in}}\n"
D = "      - {by: d, when: 2026-02-01, installed_height: {exhaust: 1.720 in}}\n"


def _holding(tmp_path, knowledge, blocks, number=1, side="exhaust"):
    build = read_build(written(tmp_path, HEAD + "".join(blocks)), knowledge)
    fact = Binding(build, knowledge).fact("spring.installed_height", Position(None, number, side))
    return fact.statement.origin.by


@pytest.mark.parametrize(
    ("blocks", "holds"),
    [
        ([A, B], "b"),
        ([B, A], "b"),  # the later date, though it points less exactly
        ([A, C], "a"),
        ([C, A], "a"),  # undated counts as oldest
        ([B, D], "d"),
        ([D, B], "d"),  # of one date, what points more exactly
        ([A, A.replace("by: a", "by: z")], "z"),  # else the later in the file
    ],
)
def test_the_latest_measurement_holds(tmp_path, knowledge, blocks, holds):
    assert _holding(tmp_path, knowledge, blocks) == holds


def test_a_measurement_holds_over_any_later_claim(tmp_path, knowledge):
    claim = "    claimed: {by: seller, when: 2026-09-01, installed_height: 1.800 in}\n"
    assert _holding(tmp_path, knowledge, [A, claim]) == "a"
    assert _holding(tmp_path, knowledge, [A, claim], 2) == "seller"


def test_the_history_tells_what_superseded_what_and_where(tmp_path, knowledge):
    build = read_build(written(tmp_path, HEAD + A + B + C + D), knowledge)
    found = history(build)
    assert [one.statement.origin.by for one in found] == ["c", "a", "b", "d"]  # oldest first
    c, a, b, d = found
    assert not c.holds and not a.holds
    assert [(other.origin.by, len(at)) for other, at in b.superseded] == [("d", 2)]
    assert [str(position) for position in b.holds] == ["cylinder 1 intake", "cylinder 2 intake"]
    assert len(d.holds) == 2 and d.superseded == ()
    data = history_data(found, build.layout)
    assert [one["holds"] for one in data] == [None, None, "all intakes", "all exhausts"]
    assert data[1]["superseded"][0]["value"] == "1.720 in"
    console = Console(width=120, record=True, file=(tmp_path / "out").open("w"))
    write_history(found, build, knowledge, console)
    text = console.export_text()
    assert (
        "1.690 in at 1 exhaust, by c, undated: superseded by 1.720 in by d, on 2026-02-01" in text
    )
    assert (
        "1.710 in, by b, on 2026-02-01: superseded at all exhausts by 1.720 in by d, on "
        "2026-02-01; holds elsewhere" in " ".join(text.split())
    )
    assert "4 measurements, 2 of them superseded altogether." in text


def test_each_measurement_is_at_each_of_its_places_held_or_superseded(tmp_path, knowledge):
    build = read_build(written(tmp_path, HEAD + A + B + C + D), knowledge)
    binding = Binding(build, knowledge)
    for one in history(build):
        places = [p for p in build.layout.positions("valve") if one.statement.selector.covers(p)]
        told = [*one.holds, *(p for _, at in one.superseded for p in at)]
        assert sorted(map(str, told)) == sorted(map(str, places)), selector_words(
            one.statement.selector
        )
        for position in one.holds:
            fact = binding.fact("spring.installed_height", position)
            assert fact.statement.origin == one.statement.origin
