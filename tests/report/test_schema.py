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
from fitcheck.report.schema import FILES, comment, file_name, file_schema
from fitcheck.report.schema_pieces import WHERE
from fitcheck.report.schema_words import WordPatterns
from fitcheck.report.starter import StartRequest, build_starter
from fitcheck.source import BadInput
from tests.check.test_bad_builds import BAD
from tests.knowledge.test_house import ANSWER
from tests.plan.test_prices import FILE as PRICES
from tests.plan.test_routes import ROUTES
from tests.words.test_words import find, rows

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
    asked = StartRequest("mine", 8, "vee", {"cam.lobe_lift": ".350"})
    text = build_starter(asked, knowledge, "inch", everything=everything)
    assert refused("build", text) == []
    read_build("a.yaml", knowledge, text)
    read_build("a.yaml", knowledge, GOOD["figures and options as a page has them"][1])


# (kind, a good file, what is put in the place of what)
WRONG = [
    ("prices", PRICES, "hour: 80 EUR", "hour: 80"),
    ("prices", PRICES, "hour: 80 EUR", "hour: -80 EUR"),
    ("prices", PRICES, "hone_guide", "hone_guid"),
    ("prices", PRICES, "fits: spring", "fits: sprung"),
    ("prices", PRICES, "    price: 120 EUR\n", "    cost: 120 EUR\n"),
    ("prices", PRICES, "rate: 300 lbf/in", "ratee: 300 lbf/in"),
    ("prices", PRICES, "[installed_height]", "[instaled_height]"),
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


# The trade's words, which the schema does not complete.
IN_WORDS = """Build: a page (invented)
Cylinders: 8
Parts:
  Camshaft:
    Claimed: {By: cam card, LSA: 110+4, Duration at fifty: 224/230, lash type: hyd}
  keepers: {claimed: {lock angle: 7 deg}}
  lifters: {claimed: {Lifter Type: hyd roller}}
  Intake valves: {claimed: {head dia: 2.02 in, stem: 11/32, stem dia. (mm): 8.7}}
  valve-springs:
    measured: {Seat Pressure: 125 lbs @ 1.800, damper: "true", I.D.: {intake: .700 in}, ht inst: 1.8 in}
  Cylinder Heads: {claimed: {Flow @ .500: 245 cfm, type of chamber: hemi, metal: ALLOY}}
"""
# The word, and what is no longer one.
MISSPELT = [
    ("keepers", "keapers"),
    ("LSA", "LSB"),
    ("Seat Pressure", "Seat Presure"),
    ("head dia", "haed dia"),
    ("hyd roller", "hyd rolar"),
    ("2.02 in", "2.02 lbf"),
]


def test_the_trades_words_pass_and_misspelt_ones_do_not(knowledge, refused):
    assert refused("build", IN_WORDS) == []
    for word, other in MISSPELT:
        assert IN_WORDS.count(word) == 1
        wrong = IN_WORDS.replace(word, other)
        assert refused("build", wrong) != [], other
        with pytest.raises(BadInput):
            read_build("a.yaml", knowledge, wrong)


@pytest.mark.parametrize("kind", FILES)
def test_a_schema_stays_small_enough_for_an_editor(kind, knowledge):
    assert len(json.dumps(file_schema(kind, knowledge))) < 1_250_000


def test_only_plain_names_are_completed(knowledge):
    definitions = file_schema("build", knowledge)["definitions"]
    for slot, part_class in knowledge.classes.items():
        plain = {attribute.name.partition(".")[2] for attribute in written(part_class)}
        assert definitions[f"said_{slot}"]["properties"].keys() == plain | {"by", "when", "with"}


def test_a_words_own_attribute_is_explained_and_held_to_its_unit(knowledge):
    said = file_schema("build", knowledge)["definitions"]["said_spring"]["patternProperties"]
    means = {"seat pressure": "seat_load", "SolidHeight": "coil_bind_height", "stiffness": "rate"}
    for word, name in means.items():
        (found,) = [
            one
            for pattern, one in said.items()
            if re.search(pattern, word) and "anything" not in str(one)
        ]
        assert found == {"$ref": f"#/definitions/about_spring.{name}"}


def every_word(knowledge):
    """What people write: where, and the word; as listed, and as titles changed at random."""
    yield from ((where, word) for where, word, _ in rows())
    random = Random(140)
    for slot, part_class in knowledge.classes.items():
        for attribute in written(part_class):
            listed = knowledge.word_lists.attributes.get(slot)
            listed = listed.words.get(attribute.name, ()) if listed else ()
            for text in (attribute.title, attribute.name.partition(".")[2], *listed):
                words = re.split(r"[ _-]", text)
                yield slot, text.upper()
                yield slot, random.choice(["", "_", "-", "  "]).join(words)
                yield slot, " ".join(word[: random.randint(3, 9)] for word in words)
                yield slot, f"{part_class.title} {text}s"
                yield slot, f"intake {text}"
                random.shuffle(words)
                yield slot, " ".join(words)


def test_every_word_that_the_reader_understands_passes(knowledge):
    patterns = WordPatterns(knowledge.words)
    compiled = {"parts": re.compile(patterns.part)}
    understood = 0
    for where, word in every_word(knowledge):
        if where not in compiled:
            attribute = knowledge.attributes.get(where)
            made = patterns.option(attribute) if attribute else patterns.attribute(where)
            compiled[where] = re.compile(made)
        found = find(knowledge, where, word).name
        if found and not compiled[where].search(word):
            run_together = patterns.attributes(found) if where in knowledge.classes else ""
            assert run_together and re.search(run_together, word), (where, word)
        understood += bool(found)
    assert understood > 4000


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
            own = attribute.name.partition(".")[2]
            assert said[own] == {"$ref": f"#/definitions/about_{attribute.name}"}
            told = definitions[f"about_{attribute.name}"]["description"]
            assert told.lower().startswith(attribute.title.lower())
            assert attribute.about.lower() in told.lower()
    height = definitions["about_spring.installed_height"]["description"]
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
