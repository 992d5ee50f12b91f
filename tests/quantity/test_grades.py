"""Standard tolerances against printed examples, and against a package of others."""

from fractions import Fraction

import pressfit
import pytest

from fitcheck.quantity.grades import graded_size


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        # Shigley, 9th ed, Ex 7-7: 34H11/c11, hole 34.000 to 34.160 mm.
        ("34 H11", "34.000", "34.160"),
        # Bhandari, Design of Machine Elements, Ex 3.2: a valve seat in a housing, 20H7/s6: hole +21/0,
        # seat +48/+35 micrometres.
        ("20 H7", "20.000", "20.021"),
        ("20 s6", "20.035", "20.048"),
        ("\u230020s6", "20.035", "20.048"),
        # Half of the grade to either side.
        ("20 js6", "19.9935", "20.0065"),
    ],
)
def test_printed_examples(text, low, high):
    assert graded_size(text) == (Fraction(low), Fraction(high))


@pytest.mark.parametrize("size", [2.5, 5, 8, 9.5, 15, 25, 35, 45, 70, 100, 150, 200])
def test_every_letter_against_the_tables_of_others(size):
    for shaft in ("d9", "e8", "f7", "g6", "h5", "h6", "h11", "k6", "m6", "n6", "p6", "s6"):
        found = graded_size(f"{size} {shaft}")
        if found is None:
            assert shaft == "s6" and size > 50
            continue
        fit = pressfit.fit(f"{size} H7/{shaft}")
        off = [(one - Fraction(str(size))) * 1000 for one in found]
        assert off == [fit.shaft_ei_um, fit.shaft_es_um], (size, shaft)
        hole = graded_size(f"{size} H7")
        assert [(one - Fraction(str(size))) * 1000 for one in hole] == [
            fit.hole_ei_um,
            fit.hole_es_um,
        ]


@pytest.mark.parametrize("text", ["8 mm", "8 in", "8 H4", "8 Q7", "0 H7", "300 H7", "H7", "8.00"])
def test_what_is_no_such_size(text):
    assert graded_size(text) is None
