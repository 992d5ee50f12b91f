"""The columns printing against the Python printing: every rule, on random facts of whole builds."""

from __future__ import annotations

import duckdb
import pytest

from fitcheck.check.bind import Binding
from fitcheck.language import CONFLICT, FITS, NEAR, SILENT, STRADDLES
from fitcheck.language.columns import Columns
from fitcheck.language.outcome import Fold, outcome
from fitcheck.screen.opening import ENDS, variables_of
from fitcheck.screen.screening import define
from tests.builds import random_builds
from tests.plan.long import LONG

BUILDS = 5


class Engine:
    """What `define` asks of a catalog."""

    def __init__(self):
        self.connection = duckdb.connect()


@pytest.fixture(scope="module")
def figures(knowledge):
    """For each build, the ends of every attribute at its first position."""
    rows = []
    for build in random_builds(knowledge, seed=11, count=BUILDS):
        binding = Binding(build, knowledge)
        position = build.layout.positions("valve")[0]
        facts = {
            name: binding.fact(name, position)
            for name, attribute in knowledge.attributes.items()
            if not attribute.text
        }
        rows.append({(name, end): fact.end(end) for name, fact in facts.items() for end in ENDS})
    return rows


def python_codes(knowledge, rule, rows):
    compiled = knowledge.fast(rule)
    codes = []
    for row in rows:
        try:
            codes.append(compiled.function([row[key] for key in compiled.inputs])[0])
        except (ArithmeticError, ValueError, TypeError):
            codes.append(NEAR)
    return codes


def columns_codes(knowledge, rules, rows, fold=None):
    """The codes by the engine; `fold` names inputs whose first row's value is folded in."""
    engine = Engine()
    forest = knowledge.lowering.forest
    outcomes = [outcome(knowledge.condition(rule), forest) for rule in rules]
    if fold is not None:
        outcomes = [Fold(fold).outcome(one) for one in outcomes]
    roots = [part for one in outcomes for part in one.parts]
    keys = variables_of(roots)
    names = {key: f"x{i}" for i, key in enumerate(keys)}
    printed = Columns(names, roots)
    results = [f"{printed.standing([one])} AS r{i}" for i, one in enumerate(outcomes)]
    define(engine, printed.calls.values())
    kinds = ", ".join(
        f"{names[key]} {'BIGINT' if isinstance(rows[0][key], int) else 'DOUBLE'}" for key in keys
    )
    comma = ", " if kinds else ""
    engine.connection.execute(f"CREATE TABLE t (n BIGINT{comma}{kinds})")
    engine.connection.executemany(
        f"INSERT INTO t VALUES ({', '.join('?' * (len(keys) + 1))})",
        [[i, *(row[key] for key in keys)] for i, row in enumerate(rows)],
    )
    query = printed.query("t", ["n"], results)
    found = engine.connection.execute(f"SELECT * FROM ({query}) ORDER BY n").fetchall()
    return [[row[1 + i] for row in found] for i in range(len(rules))]


def by_family(knowledge):
    families = {}
    for rule in knowledge.rules.values():
        families.setdefault(rule.family, []).append(rule)
    return families


@pytest.mark.parametrize("part", range(4))
def test_both_printings_give_every_rule_the_same_codes(knowledge, figures, part):
    families = sorted(by_family(knowledge).items())[part::4]
    told = set()
    for _, rules in families:
        codes = columns_codes(knowledge, rules, figures)
        for rule, own in zip(rules, codes, strict=True):
            assert own == python_codes(knowledge, rule, figures), rule.id
            told |= set(own)
    assert {SILENT, FITS, STRADDLES, CONFLICT} <= told


@LONG
def test_a_folded_rule_says_what_the_whole_says(knowledge, figures):
    """Half of the inputs are one build's in every row; folded in or read, the answer is one.

    Folding may round otherwise, so one of the two may leave to the fractions what the other tells.
    """
    rules = by_family(knowledge)["spring_stack"] + by_family(knowledge)["spring_load"]
    own = ("spring.", "retainer.", "rocker.")
    known = {key: value for key, value in figures[0].items() if not key[0].startswith(own)}
    rows = [{**row, **known} for row in figures]
    folded = columns_codes(knowledge, rules, rows, known)
    differ = 0
    for rule, codes in zip(rules, folded, strict=True):
        whole = python_codes(knowledge, rule, rows)
        for one, other in zip(codes, whole, strict=True):
            assert one == other or NEAR in (one, other), rule.id
            differ += one != other
    assert differ < 0.01 * len(rules) * len(rows)
