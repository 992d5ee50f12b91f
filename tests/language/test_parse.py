"""The expression language: what it reads, and what it refuses at which place."""

from fractions import Fraction
from time import process_time

import pytest

from fitcheck.language import (
    TRUTH,
    Compare,
    ExpressionError,
    Is,
    Known,
    Ranges,
    Step,
    Variable,
    parse,
    variables,
    walk,
)
from fitcheck.language.parsing import MOST_CHARACTERS, describe_dimension
from fitcheck.language.tree import Among, Apply, Call, Number, Power, Same
from fitcheck.quantity import KINDS, NUMBER
from tests.language.names import FOLLOWERS, LOCKS, lookup, tree


def told(text, **how):
    """What is said of a refused expression, and the piece that is marked."""
    with pytest.raises(ExpressionError) as caught:
        tree(text, **how)
    error = caught.value
    return error.what, text[error.offset : error.offset + error.width], error.mend


# What is read.


@pytest.mark.parametrize(
    ("text", "made", "kind"),
    [
        ("spring.height", Variable, "length"),
        ("least", Known, "length"),
        ("open_height", Step, "length"),
        ("spring.height - valve.lift", Apply, "length"),
        ("cam.lift * rocker.ratio", Apply, "length"),
        ("spring.rate * cam.lift", Apply, "force"),
        ("spring.load / cam.lift", Apply, "rate"),
        ("cam.lift / valve.lift", Apply, "number"),
        ("spring.height ** 2", Power, "area"),
        ("sqrt(port.area)", Apply, "length"),
        ("-shim.offset", Apply, "length"),
        ("abs(shim.offset)", Apply, "length"),
        ("min(spring.height, open_height, valve.lift)", Apply, "length"),
        ("agree(spring.height, valve.lift)", Apply, "length"),
        ("valve.lift if spring.damper else cam.lift", Apply, "length"),
        ("swept_volume(spring.height, valve.lift)", Call, "volume"),
        ("2.5", Number, "number"),
        ("pi", Known, "number"),
        ("pi / 4 * valve.lift ** 2", Apply, "area"),
    ],
)
def test_quantities(text, made, kind):
    node = tree(text)
    assert isinstance(node, made)
    assert node.type == KINDS[kind].dimension


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("open_height >= least", Compare),
        ("spring.load <= most", Compare),
        ("least < open_height < spring.height", Apply),
        ("open_height >= least and spring.load <= most", Apply),
        ("not (open_height >= least or spring.damper)", Apply),
        ("not spring.damper", Apply),
        ("locks.angle == 'seven'", Is),
        ("'seven' == locks.angle", Is),
        ("locks.angle != 'seven'", Apply),
        ("locks.angle in ('seven', 'ten')", Is),
        ("locks.angle not in ('seven',)", Apply),
        ("spring.damper == 'yes'", Is),
        ("locks.angle == retainer.angle", Same),
        ("locks.angle != retainer.angle", Apply),
        ("lifter.type in cam.suits", Among),
        ("lifter.type not in cam.suits", Apply),
    ],
)
def test_conditions(text, made):
    node = tree(text)
    assert isinstance(node, made)
    assert node.type == TRUTH


def test_a_number_is_what_was_typed():
    assert tree("0.1").value == Fraction(1, 10)
    assert tree("1e-3").value == Fraction(1, 1000)


def test_options_become_a_mask():
    assert tree("lifter.type == 'roller'").mask == FOLLOWERS.bit("roller") == 0b10
    assert tree("locks.angle in ('seven', 'ten')").mask == LOCKS.all
    assert LOCKS.chosen(0b10) == ["ten"]


def test_a_comparison_of_three_is_two():
    node = tree("least < open_height <= spring.height")
    assert [(part.op, part.left.name, part.right.name) for part in node.args] == [
        ("<", "least", "open_height"),
        ("<=", "open_height", "spring.height"),
    ]


def test_the_names_that_a_tree_reads():
    text = "open_height - spring.solid >= least and lifter.type in cam.suits"
    assert list(variables(tree(text))) == [
        "spring.height",
        "valve.lift",
        "spring.solid",
        "lifter.type",
        "cam.suits",
    ]
    assert len(list(walk(tree(text)))) == 12


def test_lines_and_spaces_do_not_matter():
    text = "  spring.height\n   - valve.lift\n\t- spring.solid "
    assert tree(text).at == (2, len(text) - 3)
    assert [part.at[0] for part in tree(text).args] == [2, text.index("spring.solid")]


# What is refused, with the piece at fault.


@pytest.mark.parametrize(
    ("text", "piece", "says"),
    [
        (
            "spring.height + spring.load",
            "spring.height + spring.load",
            "'+': length and force do not go together",
        ),
        ("open_height >= most", "open_height >= most", "'>=': length and force do not go together"),
        ("least + (spring.rate - spring.load)", "spring.rate - spring.load", "'-': rate and force"),
        ("min(least, most)", "min(least, most)", "'min': length and force"),
        (
            "least if spring.damper else most",
            "least if spring.damper else most",
            "both results of 'if': length and force",
        ),
        ("spring.height - 1", "spring.height - 1", "'-': length and number"),
        (
            "swept_volume(spring.height, spring.load)",
            "spring.load",
            "'stroke' of swept_volume is length, not force",
        ),
        ("spring.rate ** 2 + least", "spring.rate ** 2 + least", "'+': mass^2 time^-4 and length"),
        ("lifter.type + 1", "lifter.type", "a choice (follower) where a quantity is wanted"),
        ("spring.damper + 1", "spring.damper", "a yes-or-no where a quantity is wanted"),
        (
            "(least > open_height) + 1",
            "least > open_height",
            "a condition where a quantity is wanted",
        ),
        ("not least", "least", "length where a condition is wanted"),
        ("least and spring.damper", "least", "length where a condition is wanted"),
        ("1 if least else 2", "least", "length where a condition is wanted"),
        (
            "lifter.type == locks.angle",
            "lifter.type == locks.angle",
            "a choice (follower) and a choice (lock angle) can't be compared with ==",
        ),
        ("lifter.type < lifter.type", "lifter.type < lifter.type", "can't be compared with <"),
        ("lifter.type == least", "lifter.type == least", "a choice (follower) and length"),
        ("least == lifter.type", "lifter.type", "a choice (follower) can't be compared with =="),
        ("(least > open_height) == spring.damper", "least > open_height", "a condition can't be"),
        ("lifter.type == 'rolle'", "'rolle'", "'rolle' is no option of follower"),
        ("lifter.type in ('flat', 'seven')", "'seven'", "'seven' is no option of follower"),
        ("lifter.type in ('flat')", "'flat'", "only numbers and names can stand here"),
        ("lifter.type in ('flat', 3)", "3", "3 is no option of follower"),
        ("lifter.type >= 'flat'", "'flat'", "an option is compared with == or !="),
        ("least == 'flat'", "least", "length has no options to compare with"),
        ("lifter.type in locks.angle", "locks.angle", "a choice (follower) can't be in"),
        ("locks.angle in cam.suits", "cam.suits", "can't be in a set of options (follower)"),
        ("spring.heigth", "spring.heigth", "'spring.heigth' is not known"),
        ("lenght(spring.height)", "lenght", "there is no function or calculation 'lenght'"),
        ("a.b.c + 1", "a.b.c", "a name is slot.attribute, a derived quantity or a limit"),
        ("abs()", "abs()", "'abs' takes 1 to 1 values, not 0"),
        ("min(least)", "min(least)", "'min' takes 2 to 8 values, not 1"),
        ("swept_volume(least)", "swept_volume(least)", "takes 2 values: bore, stroke"),
        ("least ** 7", "7", "an exponent is a whole number from 1 to 6"),
        ("least ** 0", "0", "an exponent is a whole number from 1 to 6"),
        ("least ** 0.5", "0.5", "an exponent is a whole number"),
        ("least ** -1", "-1", "an exponent is a whole number"),
        ("least ** rocker.ratio", "rocker.ratio", "an exponent is a whole number"),
        ("9 ** 9 ** 9", "9 ** 9", "an exponent is a whole number"),
        ("least ** True", "True", "an exponent is a whole number"),
        ("1e400 + 1", "1e400", "the number is too large"),
        ("1" + "0" * 30, "1" + "0" * 30, "the number is too large"),
        ("1j", "1j", "only numbers and names"),
        ("'text'", "'text'", "only numbers and names"),
        ("True", "True", "only numbers and names"),
        ("None", "None", "only numbers and names"),
        ("...", "...", "only numbers and names"),
        ("b'x'", "b'x'", "only numbers and names"),
    ],
)
def test_what_does_not_fit_is_told_at_its_place(text, piece, says):
    what, marked, _ = told(text)
    assert says in what
    assert marked == piece


@pytest.mark.parametrize(
    "text",
    [
        "+least",
        "~spring.damper",
        "least // 2",
        "least % 2",
        "least @ 2",
        "least << 2",
        "least & 2",
        "least | 2",
        "least ^ 2",
        "[least]",
        "{least}",
        "{1: least}",
        "(least, 2)",
        "least[0]",
        "lambda: least",
        "[x for x in cam.suits]",
        "f'{least}'",
        "min(*cam.suits)",
        "spring.height.__class__",
        "(spring).height()",
        "spring.height()",
        "abs(x=least)",
        "(x := least)",
        "least is 2",
        "least is not 2",
        "yield",
        "await least",
        "().__class__",
        "__import__('os')",
        "eval('1')",
        "exec('1')",
        "open('x')",
    ],
)
def test_the_rest_of_python_is_refused(text):
    what, marked, _ = told(text)
    assert what
    assert marked


@pytest.mark.parametrize(
    ("text", "marked"),
    [
        ("", ""),
        ("   ", " "),
        ("least +", "+"),
        ("(least", "("),
        ("least)", ")"),
        ("a b", "b"),
        ("  least ! 2", "!"),
        ("least = 2", "="),
        ("import os", "i"),
        ("least; 2", ";"),
    ],
)
def test_what_is_no_expression(text, marked):
    what, piece, _ = told(text)
    assert what.startswith("not an expression")
    assert piece.strip() == marked.strip()


def test_a_remark_would_hide_what_follows():
    text = "spring.height # of the intake\n - valve.lift"
    assert told(text)[:2] == ("a remark can't stand in an expression", "#")


def test_the_place_is_counted_in_characters_as_a_reader_does():
    text = "lifter.type == 'größe' or spring.heigth >= least"
    assert told(text)[1] == "'größe'"
    text = "größe.ü >= least or\n  spring.heigth >= least"
    with pytest.raises(ExpressionError) as caught:
        parse(text, lambda name, at: lookup("least" if "ü" in name else name, at))
    assert text[caught.value.offset :][: caught.value.width] == "spring.heigth"


def test_misspelt_names_are_mended():
    assert told("spring.heigth >= least")[2] == "did you mean 'spring.height'?"
    assert told("swept_volum(least, least)")[2] == "did you mean 'swept_volume'?"
    assert told("lifter.type == 'rolle'")[2] == "did you mean 'roller'?"


def test_a_rule_holds_no_bare_number():
    assert told("open_height >= 0.06", numbers=False)[:2] == ("a bare number in a rule", "0.06")
    assert told("2 * open_height >= least", numbers=False)[1] == "2"
    assert tree("open_height ** 2 >= least ** 2", numbers=False)  # an exponent is no threshold


# Bounds: an expression is never too much to read.

LARGE = {
    "long": "1 + " * (MOST_CHARACTERS // 4) + "1",
    "many terms": "1+" * 400 + "1",
    "many parentheses": "(" * 400 + "1" + ")" * 400,
    "many signs": "-" * 900 + "1",
    "many nots": "not " * 240 + "spring.damper",
    "powers of powers": "(" * 90 + "2" + "**6)" * 90,
    "choices in choices": "1 if spring.damper else " * 35 + "1",
    "calls in calls": "abs(" * 150 + "1" + ")" * 150,
    "brackets": "[" * 999,
    "dots": "a" + ".a" * 400,
    "a long name": "a" * 999,
    "many comparisons": "1 < " * 200 + "1",
}


@pytest.mark.parametrize("text", LARGE.values(), ids=LARGE)
def test_what_is_too_large_is_refused_at_once(text):
    start = process_time()
    assert told(text)[0]
    assert process_time() - start < 5


def test_powers_of_powers_are_bounded():
    for text in (
        "((rocker.ratio ** 6) ** 6) ** 6",
        "((0.5 ** 6) ** 6) ** 6",
        " * ".join(["rocker.ratio ** 6"] * 11),
    ):
        with pytest.raises(ExpressionError, match="multiplies more than 60 figures together"):
            Ranges().of(tree(text))
    assert Ranges().of(tree("(rocker.ratio ** 6) ** 6")).high == Fraction("2.5") ** 36
    with pytest.raises(ExpressionError, match="outgrow all that is measured"):
        Ranges().of(tree("(1000000000 * rocker.ratio) ** 5"))


# Dimensions in words.


def test_dimensions_are_told_by_the_kinds_that_have_them():
    assert describe_dimension(KINDS["rate"].dimension) == "rate"
    assert describe_dimension(NUMBER) == "number"
    assert (
        describe_dimension(KINDS["length"].dimension[:1] * 6)
        == "length^1 mass^1 time^1 temperature^1 angle^1 money^1"
    )


def test_a_root_halves_the_dimension():
    assert describe_dimension(tree("sqrt(least)").type) == "length^1/2"
