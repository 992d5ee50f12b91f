"""Readings taken beside the engine: each on the disk at once, the claim hidden until then."""

from __future__ import annotations

import html
import json
import re
from concurrent.futures import Future

import pytest

from fitcheck.bench.aside import Slow
from fitcheck.check import read_build
from fitcheck.check.records.keeping import held
from fitcheck.model import Selector
from tests.bench.conftest import Never, Sitting
from tests.plan.long import LONG
from tests.record.builds import BUILD

HEIGHT = "spring.installed_height"
KEYS = (f"{HEIGHT}@1 intake", f"{HEIGHT}@1 exhaust", f"{HEIGHT}@3 exhaust", "seal.type@exhaust")
MET = {"by": "me", "with": "height micrometer", "when": "2026-03-09"}


class Ready(Never):
    """What decides most is known at once."""

    def ask(self, name, text, system):
        done: Future[Slow] = Future()
        done.set_result(Slow((), "", (), (), KEYS))
        return done


@pytest.fixture
def sitting(tmp_path, knowledge) -> Sitting:
    text = BUILD.replace(
        "      spring:\n", "      seal: {claimed: {type: positive}}\n      spring:\n"
    )
    return Sitting(tmp_path, knowledge, text, Ready())


def _takes(page: str) -> list[dict]:
    return json.loads(html.unescape(re.search(r'data-takes="([^"]*)"', page)[1]))


def _read(sitting: Sitting, key: str, value: str, **more: str):
    return sitting.script("/beside/reading", key=key, value=value, **(MET | more))


def _held(sitting: Sitting, knowledge, key: str):
    name, _, where = key.partition("@")
    build = read_build(sitting.path, knowledge)
    return held(build, knowledge.attributes[name], Selector.read(where or "all"))


@LONG
def test_one_figure_and_one_place_a_screen_in_the_order_of_the_set_ups(sitting):
    page = sitting.get("/beside/take").text
    takes = _takes(page)
    assert {one["key"] for one in takes} == set(KEYS)
    setups = [one["setup"] for one in takes]
    assert [one for i, one in enumerate(setups) if one not in setups[:i]] == list(
        dict.fromkeys(setups)
    )
    assert ("How it is taken" in page and "Can&#39;t reach it" in page) or "Can't reach it" in page


def test_what_is_claimed_is_hidden_until_the_reading_is_in(sitting):
    for path in ("/beside", "/beside/take", f"/beside/take?key={HEIGHT}@1 intake"):
        page = sitting.client.get(path).text.partition('id="answer"')[0]
        assert "1.700" not in page and "seller" not in page and "Said before" not in page
    told = _read(sitting, KEYS[0], "1.720").json()
    assert "Said before: claimed 1.700 in" in told["html"]
    assert "1.720 in" in told["html"]


def test_a_reading_is_in_the_file_before_the_next_is_asked(sitting, knowledge):
    told = _read(sitting, KEYS[0], "1.720").json()
    said = _held(sitting, knowledge, KEYS[0])
    assert (said.value.text, str(said.origin)) == (
        "1.720 in",
        "by me, on 2026-03-09, with height micrometer",
    )
    assert told["next"] == KEYS[1]
    assert "3 left" in told["html"]


def test_repeats_give_the_spread(sitting, knowledge):
    saw = _read(sitting, KEYS[0], "1.720").json()["saw"]
    told = _read(sitting, KEYS[0], "1.722", saw=saw).json()
    assert "With the reading before: 1.7175..1.7245 in." in told["html"]
    again = _read(sitting, KEYS[0], "1.7210", saw=told["saw"]).json()
    assert _held(sitting, knowledge, KEYS[0]).value.text == "1.7175..1.7245 in"  # read to 0.005 in
    instead = _read(sitting, KEYS[0], "1.715", saw=again["saw"], instead="yes").json()
    assert "1.715 in" in instead["html"]
    assert _held(sitting, knowledge, KEYS[0]).value.text == "1.715 in"


def test_two_who_read_one_place_lose_nothing(sitting, knowledge):
    """The second phone has not seen the first one's reading."""
    saw = _takes(sitting.get("/beside/take").text)[0]["saw"]
    _read(sitting, KEYS[0], "1.720", saw=saw)
    told = _read(sitting, KEYS[0], "1.724", saw=saw).json()
    assert "Somebody else took a reading here meanwhile" in told["html"]
    both = _held(sitting, knowledge, KEYS[0]).value.interval
    assert float(both.lower) < 1.720 * 25.4 and float(both.upper) > 1.724 * 25.4


def test_a_reading_that_is_offered_again_is_known(sitting):
    """The answer was lost on the way, so the phone offers it once more."""
    first = _read(sitting, KEYS[0], "1.720", number="a-1").json()
    text, version = sitting.text, sitting.desk.version
    again = _read(sitting, KEYS[0], "1.720", number="a-1").json()
    assert (sitting.text, sitting.desk.version) == (text, version)
    assert again["html"] == first["html"]


def test_a_reading_that_cannot_be_is_refused_and_nothing_is_written(sitting):
    for value, what in (
        ("17.20", "outside"),
        ("", "nothing was read"),
        ("a mile", ""),
        ("1" * 300, ""),
    ):
        told = _read(sitting, KEYS[0], value)
        assert told.status_code == 422 and what in told.json()["refused"].lower()
    page = sitting.post("/beside/reading", key=KEYS[0], value="17.20")
    assert page.status_code == 422 and "Not taken." in page.text and 'value="17.20"' in page.text
    assert "17.2" not in sitting.text
    assert _read(sitting, "spring.nothing", "1").status_code == 422


def test_skip_and_out_of_reach(sitting):
    page = sitting.get("/beside/take", key=KEYS[0]).text
    following = re.search(r'data-next href="/beside/take\?key=([^"]*)"', page)[1]
    assert following != KEYS[0]
    answer = sitting.post("/beside/out-of-reach", key=KEYS[1])
    assert answer.status_code == 303
    assert "1 out of reach, 3 left" in sitting.get("/beside").text
    assert KEYS[1] not in sitting.post("/beside/out-of-reach", key=KEYS[0]).headers["location"]


def test_what_is_seen_and_not_read_off_is_chosen(sitting, knowledge):
    page = sitting.get("/beside/take", key="seal.type@exhaust").text
    assert 'type="radio"' in page and "Which is it?" in page
    options = knowledge.attributes["seal.type"].options
    assert _read(sitting, "seal.type@exhaust", options[0]).status_code == 200
    assert _held(sitting, knowledge, "seal.type@exhaust").value == 1


def test_a_day_to_come_is_no_day_of_a_reading(sitting, knowledge):
    _read(sitting, KEYS[0], "1.720", when="2999-01-01")
    assert _held(sitting, knowledge, KEYS[0]).origin.when.year < 2999


def test_without_a_script_each_reading_is_a_page(sitting, knowledge):
    answer = sitting.post("/beside/reading", key=KEYS[0], value="1.720", by="me")
    assert answer.status_code == 200 and "1.720 in</strong> is in the file" in answer.text
    assert f"/beside/take?key={KEYS[1].replace('@', '%40').replace(' ', '%20')}" in answer.text
    assert _held(sitting, knowledge, KEYS[0]).value.text == "1.720 in"


def test_a_round_of_everything(sitting):
    assert sitting.post("/beside/begin", whole="yes").status_code == 303
    assert len(_takes(sitting.get("/beside/take").text)) > 20
