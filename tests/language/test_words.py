"""Expressions in words, as a report shows them."""

import pytest

from fitcheck.language import words
from fitcheck.language.tree import Is, Node
from tests.language.names import tree

TITLES = {
    "spring.height": "installed height",
    "valve.lift": "valve lift",
    "spring.solid": "solid height",
    "rocker.ratio": "rocker ratio",
    "cam.lift": "lobe lift",
    "least": "0.060 in",
    "lifter.type": "lifter",
    "cam.suits": "lifters it suits",
    "locks.angle": "lock angle",
    "retainer.angle": "retainer angle",
    "spring.damper": "damper",
    "open_height": "open height",
    "guide.wear": "wear",
}


def name(node: Node) -> str:
    if isinstance(node, Is):
        return " or ".join(node.choice.type.options.chosen(node.mask))
    return TITLES[node.name]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("open_height - spring.solid >= least", "open height − solid height is at least 0.060 in"),
        (
            "cam.lift * rocker.ratio > valve.lift",
            "lobe lift × rocker ratio is more than valve lift",
        ),
        ("cam.lift <= valve.lift", "lobe lift is at most valve lift"),
        ("cam.lift < valve.lift", "lobe lift is less than valve lift"),
        ("cam.lift == valve.lift", "lobe lift is valve lift"),
        ("cam.lift != valve.lift", "lobe lift is not valve lift"),
        (
            "spring.height - (valve.lift + spring.solid)",
            "installed height − (valve lift + solid height)",
        ),
        (
            "spring.height - valve.lift - spring.solid",
            "installed height − valve lift − solid height",
        ),
        (
            "spring.height / (valve.lift / spring.solid)",
            "installed height ÷ (valve lift ÷ solid height)",
        ),
        ("(spring.height + valve.lift) * 0.5", "(installed height + valve lift) × 0.5"),
        ("1000000 * valve.lift", "1000000 × valve lift"),
        ("3.14159265 * valve.lift", "3.14159265 × valve lift"),
        ("-guide.wear", "−wear"),
        ("-(guide.wear + least)", "−(wear + 0.060 in)"),
        ("valve.lift ** 2", "valve lift²"),
        ("(valve.lift + cam.lift) ** 3", "(valve lift + lobe lift)³"),
        ("(valve.lift ** 2) ** 3", "(valve lift²)³"),
        ("-valve.lift ** 2", "−valve lift²"),
        ("abs(guide.wear)", "size of (wear)"),
        ("max(cam.lift, valve.lift)", "the larger of (lobe lift, valve lift)"),
        (
            "agree(spring.height, spring.solid)",
            "what is best known of (installed height, solid height)",
        ),
        (
            "swept_volume(spring.height, valve.lift)",
            "swept volume of (installed height, valve lift)",
        ),
        (
            "valve.lift if lifter.type == 'roller' else cam.lift",
            "valve lift if lifter is roller, else lobe lift",
        ),
        (
            "(valve.lift if spring.damper else cam.lift) + least",
            "(valve lift if damper is yes, else lobe lift) + 0.060 in",
        ),
        (
            "cam.lift > least or cam.lift > valve.lift and spring.damper",
            "lobe lift is more than 0.060 in or lobe lift is more than valve lift and damper is yes",
        ),
        (
            "(cam.lift > least or spring.damper) and valve.lift > least",
            "(lobe lift is more than 0.060 in or damper is yes) and valve lift is more than 0.060 in",
        ),
        (
            "not (cam.lift > least and spring.damper)",
            "not (lobe lift is more than 0.060 in and damper is yes)",
        ),
        (
            "(valve.lift if spring.damper else least) if lifter.type == 'roller' else cam.lift",
            "(valve lift if damper is yes, else 0.060 in) if lifter is roller, else lobe lift",
        ),
        ("not stated(spring.solid)", "nobody gave solid height"),
        ("stated(spring.solid)", "somebody gave (solid height)"),
        ("not spring.damper", "not damper is yes"),
        ("locks.angle in ('seven', 'ten')", "lock angle is seven or ten"),
        ("locks.angle == retainer.angle", "lock angle and retainer angle are the same"),
        ("lifter.type in cam.suits", "lifter is one of lifters it suits"),
    ],
)
def test_in_words(text, said):
    assert words(tree(text), name) == said
