"""The schemas of files, judged by a kept validator (jsonschema) beside the files' own readers.

What a schema refuses, the reader of such files must refuse too; what the reader refuses, a schema
refuses where it can: the tests name what it cannot say.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from random import Random

import pytest
import yaml
from jsonschema import Draft7Validator

from fitcheck.check import read_build
from fitcheck.cli import main
from fitcheck.cli.demo import demo_folder
from fitcheck.report.parts import written
from fitcheck.report.schema import FILES, WHERE, comment, file_name, file_schema
from fitcheck.report.starter import Asked, build_starter
from fitcheck.source import BadInput
from tests.check.test_bad_builds import BAD
from tests.knowledge.test_house import ANSWER
from tests.plan.test_prices import FILE as PRICES
from tests.plan.test_routes import ROUTES

DEMOS = [
    path
    for path in sorted(demo_folder().glob("*/*.yaml"))
    if path.parent.name != "shop_rules" or path.name == "house.yaml"
]
# By the schemas' own draft; and a plain scalar as YAML 1.2.2's core schema (10.3.2) resolves it,
# which is what an editor's language server sees.
CORE = (
    (re.compile(r"null|Null|NULL|~|"), lambda text: None),
    (re.compile(r"true|True|TRUE"), lambda text: True),
    (re.compile(r"false|False|FALSE"), lambda text: False),
    (re.compile(r"[-+]?[0-9]+"), int),
    (re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?"), float),
)


def seen(text: str):
    """A file as an editor sees it."""
    return _plain(yaml.compose(text, Loader=yaml.BaseLoader))


def _plain(node):
    if isinstance(node, yaml.MappingNode):
        return {_plain(key): _plain(value) for key, value in node.value}
    if isinstance(node, yaml.SequenceNode):
        return [_plain(item) for item in node.value]
    if node.style is None:
        for pattern, made in CORE:
            if pattern.fullmatch(node.value):
                return made(node.value)
    return node.value


def _keys_as_text(node):
    """JSON has text for keys."""
    if isinstance(node, dict):
        return {str(key): _keys_as_text(value) for key, value in node.items()}
    return [_keys_as_text(one) for one in node] if isinstance(node, list) else node


@pytest.fixture(scope="module")
def refused(knowledge):
    validators = {}

    def ask(kind: str, text: str) -> list[str]:
        if kind not in validators:
            schema = file_schema(kind, knowledge)
            Draft7Validator.check_schema(schema)
            validators[kind] = Draft7Validator(schema)
        return [error.message for error in validators[kind].iter_errors(_keys_as_text(seen(text)))]

    return ask


def kind_of(path: Path) -> str:
    """Which kind a file is, by its first key."""
    first = next(line for line in path.read_text("utf-8").splitlines() if line[:1] not in "# ")
    return first.partition(":")[0]


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_every_invented_file_is_accepted_and_names_its_schema(path, refused):
    text = path.read_text(encoding="utf-8")
    assert refused(kind_of(path), text) == []
    assert text.splitlines()[0] == comment(kind_of(path))


# What a schema sees as it should be: places that this engine lacks, cylinders counted against
# banks, contents against their holder, a figure's size (and the unit that it is plausible in), and
# the strictness of the YAML itself.
NOT_SEEN = {
    "a tenth of the figure",
    "a part listed twice",
    "instead of what does not come",
    "cylinders and banks",
    "duplicate keys",
    "missing and unknown unit",
}
# No YAML that any reader would hand to a validator.
UNREADABLE = {
    "broken syntax",
    "tabs",
    "control characters",
    "two documents",
    "nothing in the file",
}


@pytest.mark.parametrize("name", sorted(BAD.keys() - UNREADABLE))
def test_a_bad_build_is_refused_where_a_schema_can(name, refused):
    assert bool(refused("build", BAD[name].text)) == (name not in NOT_SEEN)


HOUSE = "house: a shop (invented)\n"
COLUMNS = "classes: spring\nitem: Part no\ncolumns: {Rate: rate lbf/in}\n"
PILE = (
    "pile: a crate (invented)\nparts:\n  - spring: {pieces: '16', measured: {rate: 300 lbf/in}}\n"
)
GOOD = {
    "a price file": ("prices", PRICES),
    "a routes file": ("routes", ROUTES),
    "a house's limits and waivers": (
        "house",
        f"{HOUSE}limits:\n  coil_bind.least: {{value: 0.050 in, {ANSWER}, until: 2027-01-01}}\n"
        f"waivers:\n  - {{rule: coil_bind, at: 3 exhaust, {ANSWER}, until: 2027-01-01}}\n",
    ),
    "columns": ("columns", f'{COLUMNS}thousands: ","\nevidence: measured\n'),
    "columns of several classes": (
        "columns",
        "classes: {column: Kind, words: {Springs: spring}}\ncurrency: EUR\n"
        "columns:\n  Rate: {attribute: rate, unit: lbf/in, digits: 1}\n  Form: shape\n",
    ),
    "a pile": ("pile", PILE),
    "sides and banks": (
        "build",
        'build: a\ncylinders: 4\nbanks: {left: ["1", 2], right: [3, 4]}\nparts:\n  shim: none\n'
        "  valve: {intake: {claimed: {head_diameter: 1.94 in}}, exhaust: {name: 12}}\n"
        "  spring: {measured: [{rate: {all: 300 lbf/in, bank left exhaust: 310 lbf/in}}]}\n"
        "  block: {claimed: {bore: 4.00 in}}\n",
    ),
    "figures and options as a page has them": (
        "build",
        "build: a\ncylinders: 8\nparts:\n  block: {claimed: {bore: 4.030}}\n"
        "  spring: {claimed: {seat_load: 125 lbs @ 1.800 in, rate: 370#/in}, measured: }\n"
        "  valve: {claimed: {head_diameter: 2.02/1.60, stem_diameter: 11/32}}\n"
        "  guide: {claimed: {material: phosphor_bronze or silicon_aluminium_bronze}}\n"
        "  head: {claimed: {sold_for_followers: 'hydraulic_flat, hydraulic_roller'}}\n"
        "  pushrod: {claimed: {diameter: 5/16 x .080 in}}\n"
        "  head_gasket: {claimed: {thickness: 1.0 mm (.039 in)}}\n"
        "  cam: {claimed: {lobe_separation: 110+4, lash: .012 hot}}\n",
    ),
}


@pytest.mark.parametrize("name", GOOD)
def test_a_good_file_is_accepted(name, refused):
    assert refused(*GOOD[name]) == []


@pytest.mark.parametrize("everything", [False, True])
def test_a_build_to_start_from_is_accepted_and_good(everything, knowledge, refused):
    asked = Asked("mine", 8, "vee", {"cam.lobe_lift": ".350"})
    text = build_starter(asked, knowledge, "inch", everything=everything)
    assert refused("build", text) == []
    read_build("a.yaml", knowledge, text)
    read_build("a.yaml", knowledge, GOOD["figures and options as a page has them"][1])


# (kind, a good file, what is put in the place of what)
WRONG = [
    ("prices", PRICES, "hour: 80 EUR", "hour: 80"),
    ("prices", PRICES, "hour: 80 EUR", "hour: -80 EUR"),
    ("prices", PRICES, "hone_guide", "hone_guid"),
    ("prices", PRICES, "fits: spring", "fits: sprin"),
    ("prices", PRICES, "    price: 120 EUR\n", "    cost: 120 EUR\n"),
    ("prices", PRICES, "rate: 300 lbf/in", "rat: 300 lbf/in"),
    ("prices", PRICES, "[installed_height]", "[installed]"),
    ("prices", PRICES, "[retainer.gap_to_seal]", "[gap_to_seal]"),
    ("prices", PRICES, "-2 lbf", "-2 mm"),
    ("prices", PRICES, "spring.seat_load: -2 lbf", "spring.damper: no"),
    ("routes", ROUTES, "build: build.yaml, ", ""),
    ("routes", ROUTES, "{head: 500 EUR}", "{head: 500}"),
    ("house", GOOD["a house's limits and waivers"][1], "coil_bind.least", "coil_bund.least"),
    ("house", GOOD["a house's limits and waivers"][1], "coil_bind.least", "coil_bind.most"),
    ("house", GOOD["a house's limits and waivers"][1], "at: 3 exhaust", "at: left hand"),
    ("house", GOOD["a house's limits and waivers"][1], "name: A. Foreman", "nam: me"),
    (
        "house",
        GOOD["a house's limits and waivers"][1],
        "rule: coil_bind",
        "rule: lift_outside_claim",
    ),
    ("columns", COLUMNS, "classes: spring", "classes: sprung"),
    ("columns", COLUMNS, "rate lbf/in", "ratee lbf/in"),
    ("columns", COLUMNS, "item: Part no", "evidence: guessed"),
    ("columns", COLUMNS, "item: Part no", "thousands: x"),
    ("pile", PILE, "spring", "sprung"),
    ("pile", PILE, "pieces: '16'", "pieces: some"),
    ("pile", PILE, "rate:", "ratee:"),
]


@pytest.mark.parametrize(("kind", "good", "old", "new"), WRONG)
def test_a_bad_file_is_refused(kind, good, old, new, refused):
    assert old in good
    assert refused(kind, good) == []
    assert refused(kind, good.replace(old, new)) != []


def test_what_a_schema_refuses_the_reader_refuses(knowledge, refused, tmp_path):
    """Over small changes of the invented builds: a word lost, or another in its place.

    Names stand as they are listed: for what people call things otherwise, which the reader
    understands, a schema points at the name as listed.
    """
    random = Random(14)
    count = 0
    for path in DEMOS:
        if kind_of(path) != "build":
            continue
        lines = path.read_text(encoding="utf-8").splitlines()
        # The parts at the top, which leave a whole file of less work.
        starts = [n for n, line in enumerate(lines) if re.match(r"  \w", line)]
        head, text = lines[: starts[0]], lines[starts[0] : starts[6]]
        for _ in range(30):
            changed = list(text)
            at = random.randrange(len(changed))
            words = changed[at].split(" ")
            which = random.randrange(len(words))
            words[which] = random.choice(["", "wrong", "7", "300 lbf/in"])
            changed[at] = " ".join(words)
            whole = "\n".join([*head, *changed]) + "\n"
            try:
                told = refused("build", whole)
            except (yaml.YAMLError, TypeError):
                continue
            if told:
                count += 1
                with pytest.raises(BadInput):
                    read_build(tmp_path / "a.yaml", knowledge, whole)
    assert count >= 10


def test_places_are_those_that_the_reader_knows(knowledge):
    from fitcheck.model import Selector

    for text in (
        "all", "intake", "exhausts", "cylinder 3", "3 exhaust", "cylinder 3 intake", "bank left",
        "bank left exhaust", "bank a-b 4 intake", "left", "inlet", "3rd", "exhaust 3", "bank",
        "", "intake exhaust", "cylinder 123",
    ):  # fmt: skip
        assert bool(re.search(WHERE, text)) == (text != "" and Selector.read(text) is not None), (
            text
        )


def test_a_schema_explains_each_figure_and_option(knowledge):
    definitions = file_schema("build", knowledge)["definitions"]
    for slot, part_class in knowledge.classes.items():
        said = definitions[f"said_{slot}"]["properties"]
        for attribute in written(part_class):
            told = said[attribute.name.partition(".")[2]]["description"]
            assert told.lower().startswith(attribute.title.lower())
            assert attribute.about.lower() in told.lower()
    height = definitions["said_spring"]["properties"]["installed_height"]["description"]
    for piece in ("Within 1.000..2.600 in", "Units: in, mm", "One for each valve"):
        assert piece.lower() in height.lower()
    orders = definitions["firing_order"]["anyOf"]
    assert {"const": "order_1_5_3_6_2_4", "description": "1-5-3-6-2-4"} in orders


def test_the_command_lists_the_kinds_and_writes_one(tmp_path, capsys):
    assert main(["schema"]) == 0
    listed = capsys.readouterr().out
    assert all(comment(kind) in listed for kind in FILES)
    path = tmp_path / file_name("routes")
    assert main(["schema", "routes", "-o", str(path)]) == 0
    assert json.loads(path.read_text(encoding="utf-8"))["title"] == "fitcheck routes file"
    assert main(["schema", "rotes"]) == 2
