"""The job at the desk: figures typed, the answer, what turned, what is refused, two at once."""

from __future__ import annotations

import os
from concurrent.futures import Future, ThreadPoolExecutor
from threading import Event

import pytest

from fitcheck.bench import asking
from fitcheck.bench.aside import ShortLine, Slow, in_this_process
from fitcheck.bench.render import render
from fitcheck.report.html.frame import mark
from tests.bench.conftest import Never, Sitting
from tests.bench.twenty_four import TWENTY_FOUR
from tests.record.builds import BUILD

BIND, HEIGHT, LIFT = "spring.coil_bind_height", "spring.installed_height", "cam.lobe_lift"

ONE = """
build: one cylinder
cylinders: "1"
parts:
  cam: {claimed: {by: card, lobe_lift: 0.350 in}}
  spring: {claimed: {by: page, installed_height: 1.700 in, coil_bind_height: 1.050 in}}
"""


def _remarks(text: str) -> list[str]:
    return [line[line.index("#") :] for line in text.splitlines() if "#" in line]


def _lift(sitting: Sitting) -> None:
    """A cam and rockers, so that the springs have a lift to bear."""
    for name, value in (
        (LIFT, "0.330 in"),
        ("rocker.ratio", "1.5"),
        ("lifter.type", "hydraulic_roller"),
    ):
        assert sitting.type(name, value).json()["fields"][name]["bad"] == ""


def test_a_figure_is_kept_as_its_field_is_left(sitting):
    told = sitting.type(BIND, "1.150", by="springs' page").json()
    field = told["fields"][BIND]
    assert field == {
        "value": "1.150 in",
        "said": "claimed by springs' page",
        "taken": "",
        "bad": "",
        "hint": "",
    }
    assert "coil_bind_height: 1.150 in" in sitting.text
    assert _remarks(sitting.text) == _remarks(BUILD)


def test_what_turned_is_told_and_nothing_else(sitting):
    _lift(sitting)
    fits = sitting.type(BIND, "1.000 in").json()
    assert "was cannot be told, now <strong>fits</strong>" in fits["answer"]
    stops = sitting.type(BIND, "1.250 in", was="1.000 in").json()
    assert "was fits, now STOP" in stops["answer"]  # in the line of the clash itself
    assert "was fits, now STOP" in stops["bar"]
    assert stops["answer"].count("was fits") == 1
    again = sitting.type("spring.free_length", "2.1 in").json()
    assert "was fits, now <strong>STOP" not in again["answer"]


def test_the_answer_comes_as_somebody_types_and_nothing_is_written(sitting):
    _lift(sitting)
    before, version = sitting.text, sitting.desk.version
    told = sitting.script(
        "/draft", **{f"f:{BIND}": "1.250", f"was:{BIND}": "", "says": "page"}
    ).json()
    assert "As typed, not kept yet." in told["answer"]
    assert "now STOP" in told["answer"]
    assert told["read"] == {BIND: "1.250 in"}
    assert (sitting.text, sitting.desk.version) == (before, version)


@pytest.mark.parametrize(
    "half", ["1", "1.", ".", "-", "1.2 i", "1.2 in +", "1/", "x" * 500, "é", "1e9", "1..2..3"]
)
def test_a_half_typed_figure_is_no_fault(sitting, half):
    told = sitting.script("/draft", **{f"f:{BIND}": half, f"was:{BIND}": "", "says": "me"})
    assert told.status_code == 200


def test_a_figure_that_cannot_be_is_refused_at_its_field_and_the_rest_is_kept(sitting):
    told = sitting.script(
        "/part/spring/keep",
        **{
            f"f:{BIND}": "11.5 in",
            f"was:{BIND}": "",
            "f:spring.rate": "270 lbf/in",
            "was:spring.rate": "",
            "says": "page",
        },
    ).json()
    assert (
        "outside" in told["fields"][BIND]["bad"]
        and "check the figure" in told["fields"][BIND]["bad"]
    )
    assert told["fields"]["spring.rate"]["value"] == "270 lbf/in"
    assert "rate: 270 lbf/in" in sitting.text and "11.5" not in sitting.text


def test_without_a_script_the_form_does_the_same(sitting):
    form = {f"f:{BIND}": "11.5 in", f"was:{BIND}": "", "f:spring.rate": "270 lbf/in", "was:spring.rate": "",
            "says": "paper", "by": "a card"}  # fmt: skip
    answer = sitting.post("/part/spring/keep", **form)
    assert answer.status_code == 422
    assert "Not taken." in answer.text and 'value="11.5 in"' in answer.text
    assert (
        sitting.post(
            "/part/spring/keep", **form | {f"f:{BIND}": "1.150 in", "was:spring.rate": "270 lbf/in"}
        ).status_code
        == 303
    )
    page = sitting.get("/part/spring").text
    assert ("claimed by a card" in page and "What clashes" in page) or "cannot be told" in page


def test_words_are_understood_as_everywhere_else(sitting):
    for name, typed, kept in (
        ("spring.load_1", "125 lbs @ 1.800", "125 lbs"),
        ("lifter.type", "hydraulic roller", "hydraulic_roller"),
        (HEIGHT, '1 23/32"', '1 23/32"'),
        ("valve.stem_diameter", "8,7 mm", "8.7 mm"),
    ):
        told = sitting.type(name, typed, was="1.700 in" if name == HEIGHT else "").json()["fields"][
            name
        ]
        assert (told["value"], told["bad"]) == (kept, "")
    assert "load_1_height: 1.800 in" in sitting.text


def test_a_size_by_its_name_and_a_pair_for_the_sides(sitting):
    sitting.post("/begin", title="mine", cylinders="8")
    pair = sitting.type("valve.head_diameter", "2.02/1.60", by="page").json()["fields"]
    assert pair["valve.head_diameter"]["said"] == "intake 2.02 in, exhaust 1.60 in"
    size = sitting.type("valve.stem_diameter", "11/32", by="page").json()["fields"]
    assert size["valve.stem_diameter"]["bad"] == ""
    assert "stem_diameter: 11/32" in (sitting.folder / "mine.yaml").read_text()


def test_what_is_measured_holds_over_a_claim_and_that_is_said(sitting):
    """Both are kept; who types the claim is told why the answer does not move."""
    sitting.type(BIND, "1.150 in", says="me")
    told = sitting.type(BIND, "1.050 in", was="1.150 in", says="page", by="a page").json()
    assert told["fields"][BIND]["value"] == "1.150 in"
    assert told["holds"][BIND] == "Kept as claimed, but 1.150 in is measured, and that holds."
    assert "coil_bind_height: 1.050 in" in sitting.text
    turn = sitting.type(BIND, "1.160 in", was="1.150 in", says="me").json()
    assert turn["holds"][BIND] == ""


def test_places_one_by_one(sitting):
    page = sitting.get("/part/spring/places", one=HEIGHT).text
    assert f'name="f:{HEIGHT}@3 exhaust" value="1.690 in"' in page
    told = sitting.script(
        "/part/spring/keep",
        **{
            f"f:{HEIGHT}@2 intake": "1.705",
            f"was:{HEIGHT}@2 intake": "",
            "says": "me",
            "with": "caliper",
        },
    )
    assert told.json()["fields"][f"{HEIGHT}@2 intake"]["said"].endswith("with caliper")
    assert "2 intake: 1.705 in" in sitting.text


def test_a_figure_is_taken_back_by_emptying_its_field(sitting):
    sitting.type("spring.seat_load", "", was="105 lbf")
    assert "seat_load" not in sitting.text
    assert sitting.post("/undo").status_code == 303
    assert sitting.text == BUILD


def test_a_part_is_said_to_be_none_and_listed_again(sitting):
    assert sitting.post("/part/shim/none").status_code == 303
    assert "shim: none" in sitting.text
    assert "Said to be none." in sitting.get("/part/shim").text
    sitting.type("shim.thickness", "0.030 in", says="me")
    assert "shim: none" not in sitting.text and "thickness: 0.030 in" in sitting.text


def test_the_job_itself(sitting):
    told = sitting.script(
        "/part/engine/keep",
        **{"top:build": "bench six", "top:about": "hauls", "top:cylinders": "6"},
    )
    assert told.status_code == 200
    assert (sitting.desk.build.title, sitting.desk.build.layout.cylinders) == ("bench six", 6)
    refused = sitting.script(
        "/part/engine/keep",
        **{"top:build": "bench six", "top:about": "hauls", "top:cylinders": "99"},
    )
    assert refused.status_code == 409 and "99" in str(refused.json()["refused"])


def test_what_is_taken_while_a_field_is_empty_is_said(sitting):
    page = sitting.get("/part/valve").text
    assert "While empty, as usual:" in page and "for “likely” alone" in page


def test_one_question_opens_to_its_figures(sitting):
    _lift(sitting)
    sitting.type(BIND, "1.250 in")
    page = sitting.get("/question/coil_bind").text
    for told in ("Why:", "How the figure comes about", "By:", "Compressed springs"):
        assert told in page


def test_the_short_answer_and_what_to_ask_first(tmp_path, knowledge):
    sitting = Sitting(tmp_path, knowledge, ONE, in_this_process(knowledge))
    assert sitting.get("/answer/whole").status_code == 303
    told = sitting.get("/answer/short").json()
    assert told["version"] == sitting.desk.version
    assert "Question by question" in told["html"] and "Worth having first" in told["html"]
    page = sitting.get("/part/spring").text
    assert "What open questions need first" in page and "Asked for:" not in told["html"]


# Two at once.


def test_two_pages_lose_nothing_and_the_later_is_told(sitting):
    seen = str(sitting.desk.version)
    sitting.type("spring.rate", "270 lbf/in", tab="one", seen=seen)
    told = sitting.type("spring.free_length", "2.100 in", tab="two", seen=seen).json()
    assert told["news"] == ["Spring rate: 270 lbf/in."]
    assert "rate: 270 lbf/in" in sitting.text and "free_length: 2.100 in" in sitting.text


def test_of_two_figures_for_one_field_the_later_is_asked(sitting):
    sitting.type("spring.rate", "270 lbf/in", tab="one")
    told = sitting.type("spring.rate", "300 lbf/in", tab="two").json()["fields"]["spring.rate"]
    assert "Somebody else wrote 270 lbf/in here meanwhile" in told["bad"]
    assert (told["value"], "300" in sitting.text) == ("270 lbf/in", False)
    again = sitting.type("spring.rate", "300 lbf/in", tab="two", was=told["value"]).json()
    assert again["fields"]["spring.rate"]["bad"] == "" and "rate: 300 lbf/in" in sitting.text


def test_a_change_by_another_program_is_told(sitting):
    seen = str(sitting.desk.version)
    sitting.path.write_text(sitting.text.replace("105 lbf", "115 lbf"))
    told = sitting.get("/state", seen=seen, tab="one").json()
    assert told["news"] == ["The file was changed by another program. Spring seat load: 115 lbf."]
    refused = sitting.type("spring.seat_load", "120 lbf", was="105 lbf").json()["fields"][
        "spring.seat_load"
    ]
    assert "Somebody else wrote 115 lbf" in refused["bad"]


# Files that go wrong under the page.


def test_a_file_that_is_broken_meanwhile_is_told_and_nothing_is_written(sitting):
    broken = sitting.text.replace("seat_load: 105 lbf", "seat_load: 105 lb f [")
    sitting.path.write_text(broken)
    page = sitting.get("/part/spring").text
    assert "The file cannot be read as it is now." in page and "build.yaml:" in page
    told = sitting.type("spring.rate", "270 lbf/in")
    assert told.status_code == 409
    assert sitting.text == broken
    sitting.path.write_text(BUILD)
    assert sitting.type("spring.rate", "270 lbf/in").status_code == 200


def test_a_file_that_vanishes_is_told_and_comes_back(sitting):
    sitting.path.rename(sitting.folder / "aside")
    assert sitting.get("/state").json()["trouble"]
    assert sitting.type("spring.rate", "270 lbf/in").status_code == 409
    assert not sitting.path.exists()
    (sitting.folder / "aside").rename(sitting.path)
    assert sitting.get("/state").json()["trouble"] == []


def test_a_file_that_is_read_only_is_told(sitting):
    sitting.path.chmod(0o444)
    told = sitting.type("spring.rate", "270 lbf/in")
    assert told.status_code == 409 and "read-only" in str(told.json()["refused"])
    assert sitting.text == BUILD


@pytest.mark.skipif(not hasattr(os, "link"), reason="no hard links here")
def test_a_file_with_a_second_name_is_told(sitting):
    os.link(sitting.path, sitting.folder / "second.yaml")
    assert "another name" in str(sitting.type("spring.rate", "270 lbf/in").json()["refused"])


def test_a_file_that_cannot_be_read_is_told_when_it_is_opened(sitting):
    (sitting.folder / "odd.yaml").write_text(
        "build: odd\ncylinders: '25'\nparts: {spring: {claimed: {rate: 9 cows}}}\n"
    )
    assert sitting.post("/open", name="odd.yaml").headers["location"] == "/files"
    page = sitting.get("/files").text
    assert "odd.yaml:2:" in page and "odd.yaml:3:" in page
    assert sitting.get("/").headers["location"] == "/files"
    assert "no file open" in page


def test_twenty_four_cylinders_all_different(sitting):
    """Who looks sees one line for the clash, which valves it is at, and each valve's own field."""
    (sitting.folder / "many.yaml").write_text(TWENTY_FOUR)
    assert sitting.post("/open", name="many.yaml").headers["location"] == "/"
    first = sitting.get("/").text
    assert first.count('data-question="coil_bind"') == 1
    assert "intakes of 22, 23, 24 and exhausts of 21, 22, 23, 24" in first
    page = sitting.get("/part/spring", one=BIND).text
    # Each of 48 valves, either side, either bank.
    assert page.count(f'name="f:{BIND}@') == 52 and 'value="1.244 in"' in page
    told = sitting.type(f"{BIND}@24 exhaust", "1.100", was="1.244 in", says="me").json()
    assert told["fields"][f"{BIND}@24 exhaust"]["bad"] == ""
    assert "intakes of 22, 23, 24 and exhausts of 21, 22, 23<" in told["answer"]
    assert sitting.post("/begin", title="more", cylinders="25").status_code == 422
    assert "from 1 to 24" in sitting.post("/begin", title="more", cylinders="25").text


def test_a_thousand_keys_are_answered_each_by_itself(sitting):
    """Each answer is whole, and nothing is written; the browser's test sends a thousand."""
    for number in range(10):
        told = sitting.script(
            "/draft", **{f"f:{BIND}": "1" * number, f"was:{BIND}": "", "says": "page"}
        )
        assert told.status_code == 200 and told.json()["version"] == sitting.desk.version
    assert sitting.text == BUILD


class Late(Never):
    """An aside that takes longer than anybody waits, until it is told to be there."""

    def __init__(self):
        super().__init__()
        self.future, self.asked = Future(), Event()

    def ask(self, name, text, system):
        self.asked.set()
        return self.future

    def latest(self, name):
        return None


def test_nobody_waits_for_what_is_still_being_worked_out(tmp_path, knowledge, monkeypatch):
    """A form comes without it; who needs it waits away from the desk, and others go on."""
    monkeypatch.setattr(asking, "SECONDS_FOR_ASKS", 0.01)
    aside = Late()
    sitting = Sitting(tmp_path, knowledge, ONE, aside)
    assert "still being worked out" in sitting.get("/part/spring").text
    aside.asked.clear()
    with ThreadPoolExecutor(1) as pool:
        waits = pool.submit(sitting.get, "/beside")
        assert aside.asked.wait(20)
        assert sitting.type("spring.rate", "270 lbf/in").status_code == 200
        assert not waits.done()
        aside.future.set_result(Slow((), "", (), (), take=(f"{HEIGHT}@1 intake",)))
        assert "1 left" in waits.result(20).text


def test_a_fault_in_the_slow_part_is_told_and_the_rest_holds(tmp_path, knowledge):
    aside = Late()
    sitting = Sitting(tmp_path, knowledge, ONE, aside)
    aside.future.set_exception(ValueError("odd"))
    assert "could not be worked out" in sitting.get("/answer/short").json()["html"]
    assert "The answer" in sitting.get("/").text and sitting.get("/part/spring").status_code == 200


# Beginning.


def test_a_new_build_is_begun_and_no_other_file_is_touched(sitting):
    answer = sitting.post(
        "/begin", title="Build!", cylinders="8", layout="vee", **{"lifter.type": "solid_flat"}
    )
    assert answer.headers["location"] == "/parts"
    assert sitting.get("/parts").headers["location"] == "/part/engine"
    assert sitting.desk.name == "build.2.yaml" and sitting.desk.build.layout.cylinders == 8
    assert sitting.text == BUILD
    told = sitting.post("/begin", title="x", cylinders="")
    assert told.status_code == 422 and "how many cylinders" in told.text.lower()


def test_a_figure_goes_into_a_begun_build(sitting):
    sitting.post("/begin", title="mine", cylinders="4", layout="inline")
    assert (
        sitting.type("spring.rate", "270 lbf/in", by="a page").json()["fields"]["spring.rate"][
            "bad"
        ]
        == ""
    )
    text = (sitting.folder / "mine.yaml").read_text()
    assert "rate: 270 lbf/in" in text and "# rate: ____" in text


def test_an_invented_build_is_copied_and_opened(sitting):
    assert sitting.post("/invented", name="hill_climb_four").headers["location"] == "/"
    assert (sitting.folder / "hill-climb-four.yaml").is_file()
    assert sitting.post("/invented", name="../work_truck").status_code == 409


@pytest.mark.parametrize("standing", ["likely", "likely not", "ask", "decide", "look"])
def test_likely_never_looks_like_fits(standing):
    """Its mark, the class that colours it and its words are those of what is open."""
    line = ShortLine(standing, "Does it fit?", f"{standing}, if the rest is as usual")
    made = render("short", slow=Slow((line,), "", (), ()))
    assert str(mark("open")) in made and str(mark("fits")) not in made
    assert f'class="{standing.replace(" ", "-")}"' in made and 'class="yes"' not in made
