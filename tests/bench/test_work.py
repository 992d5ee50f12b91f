"""Longer work and the door for a phone."""

from __future__ import annotations

import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from fitcheck.bench import jobs, kinds, start
from fitcheck.bench.door import MOST_TRIES, Door
from fitcheck.cli.main import COMMANDS
from tests.bench.conftest import FORM

PHONE = "http://10.9.8.7:8771"
PHONE_OWN = {"origin": PHONE, "sec-fetch-site": "same-origin"} | FORM


# Longer work. The commands themselves have tests of their own; here a stand-in runs in their place.


@pytest.fixture
def started(monkeypatch):
    """What would be started; in its place runs what `script` says, in the folder of the work."""
    lines: list[list[str]] = []
    lines_script = {"script": "print('an answer')"}

    def begun(line, folder):
        lines.append(line)
        script = f"import os, sys, time; os.chdir({folder!r}); {lines_script['script']}"
        own = Path(folder)
        with (own / "answer").open("wb") as out, (own / "told").open("wb") as told:
            return subprocess.Popen([sys.executable, "-S", "-c", script], stdout=out, stderr=told)

    monkeypatch.setattr(jobs, "_begun", begun)
    begun.lines, begun.script = lines, lines_script
    return begun


def _ended(sitting, where: str) -> str:
    until = time.monotonic() + 20
    while sitting.client.get(f"{where}/state").json()["running"]:
        assert time.monotonic() < until
        time.sleep(0.01)
    return sitting.client.get(where).text


def test_a_plan_is_a_command_of_its_own_and_its_page_is_shown(sitting, started):
    (sitting.folder / "prices.yaml").write_text(
        "prices: mine\nhour: 60 EUR\noperations: {}\nparts: []\n"
    )
    started.script["script"] = "open('page.html', 'w').write('<style>p{}</style><p>order</p>')"
    where = sitting.post("/work/start", kind="plan", prices="prices.yaml", seconds="60").headers[
        "location"
    ]
    page = _ended(sitting, where)
    assert "Open the page" in page
    (line,) = started.lines
    assert line[1:4] == ["-m", "fitcheck", "plan"]
    assert f"--prices={sitting.folder / 'prices.yaml'}" in line and "--seconds=60" in line
    assert line[-2:] == ["--", str(sitting.path.resolve())]
    shown = sitting.client.get(f"{where}/page")
    assert "<p>order</p>" in shown.text
    policy = shown.headers["content-security-policy"]
    assert "'sha256-" in policy and "unsafe" not in policy and "script-src" not in policy


LISTED = "item,rate [lbf/in]\nA,270\n"
STARTED = {
    "a list": (
        {"kind": "screen", "catalog": "seller.csv", "slot": "spring", "also": "retainer",
         "first": "room"},
        ["screen", "--units=inch", "--catalog=HERE/seller.csv", "--by=room", "--", "BUILD",
         "spring", "retainer"],
    ),
    "an import": (
        {"kind": "take", "list": "seller.csv", "columns": "c.yaml"},
        ["catalog", "--add=HERE/seller.csv", "--columns=HERE/c.yaml", "--", "HERE/parts.duckdb"],
    ),
    "an unlabelled part": (
        {"kind": "identify", "slot": "spring", "figures": "wire=.177\n 125 lbs @ 1.8;--json"},
        ["identify", "--", "spring", "wire=.177", "125 lbs @ 1.8", "--json"],
    ),
    "a filled sheet": (
        {"kind": "record", "filled": "seller.csv", "by": "a  shop"},
        ["record", "--by=a shop", "--", "BUILD", "HERE/seller.csv"],
    ),
    "a reach": (
        {"kind": "reach", "figure": "spring.seat_load"},
        ["reach", "--units=inch", "--", "BUILD", "spring.seat_load"],
    ),
    "another build": (
        {"kind": "compare", "other": "other.yaml"},
        ["compare", "--units=inch", "--", "BUILD", "HERE/other.yaml"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", STARTED)
def test_what_a_form_says_becomes_a_command(sitting, started, name):
    """Files by their place in the folder, words as single arguments, nothing typed as an option."""
    form, wanted = STARTED[name]
    (sitting.folder / "seller.csv").write_text(LISTED)
    (sitting.folder / "c.yaml").write_text("classes: spring\ncolumns: {}\n")
    (sitting.folder / "other.yaml").write_text(sitting.text)
    assert sitting.post("/work/start", **form).status_code == 303
    here = {"BUILD": str(sitting.path), "HERE/": f"{sitting.folder}/"}
    for short, whole in here.items():
        wanted = [one.replace(short, whole) for one in wanted]
    assert started.lines[0][3:] == wanted


def test_no_text_of_a_piece_of_work_becomes_a_script(sitting, started):
    """Neither what was typed nor what the command says of it."""
    typed = "<script>alert(1)</script>"
    started.script["script"] = f"print({typed!r})"
    where = sitting.post("/work/start", kind="identify", slot="spring", figures=typed)
    page = _ended(sitting, where.headers["location"])
    assert typed not in page and page.count("&lt;script&gt;alert(1)") == 2


# What of the commands is no work: the bench itself, what its other screens do, what belongs to
# those who write rules, and the shell's.
OTHERWISE = {
    "bench": "itself", "check": "the answer", "explain": "a question opened", "draw": "Section",
    "start": "Files", "demo": "Files", "history": "History", "undo": "Undo", "rules": "Questions",
    "parts": "each part's form", "audit": "its page", "sheet": "Measure, and the sheet's page",
    "schema": "editors", "handbook": "a folder to read from the disk", "prove": "rules of one's own",
    "completion": "the shell's",
}  # fmt: skip


def test_each_command_is_reached_or_said_to_be_elsewhere():
    reached = {kind.command[0] for kind in kinds.KINDS.values()}
    assert reached | OTHERWISE.keys() == set(COMMANDS)
    assert not reached & OTHERWISE.keys()


def test_a_list_of_all_questions_leads_to_each(sitting):
    page = sitting.get("/questions").text
    ids = set(re.findall(r'href="/question/(\w+)"', page))
    assert ids == set(sitting.desk.knowledge.rules)
    assert page.count("<h2>Cannot be told yet") == 1


def test_files_of_other_kinds_are_begun_and_listed(sitting):
    for kind in start.OTHERS:
        assert f"{kind}.yaml" in sitting.post("/begin-other", kind=kind).text
    (sitting.folder / "x.set_aside.csv").write_text("a\n")
    assert [one.name for one in sitting.desk.folder.files("columns")] == ["columns.yaml"]
    assert sitting.desk.folder.files("list") == []
    assert sitting.post("/begin-other", kind="../x").status_code == 409


def test_work_is_told_how_far_it_is_and_can_be_stopped(sitting, started):
    started.script["script"] = "print('so far', file=sys.stderr, flush=True); time.sleep(60)"
    where = sitting.post("/work/start", kind="page").headers["location"]
    until = time.monotonic() + 20
    while sitting.client.get(f"{where}/state").json()["progress"] != "so far":
        assert time.monotonic() < until
        time.sleep(0.01)
    assert sitting.type("spring.rate", "270 lbf/in").status_code == 200  # the answer goes on
    assert "under way" in sitting.get(where).text
    sitting.post(f"{where}/stop")
    assert "stopped after" in sitting.get(where).text


def test_no_more_than_two_pieces_of_work_at_once(sitting, started):
    started.script["script"] = "time.sleep(60)"
    for _ in range(2):
        assert sitting.post("/work/start", kind="page").status_code == 303
    assert "under way" in sitting.post("/work/start", kind="page").text
    sitting.bench.more["jobs"].close()


@pytest.mark.parametrize(
    "form",
    [
        {"kind": "rm"},
        {"kind": "routes", "routes": "../routes.yaml"},
        {"kind": "plan", "prices": "/etc/passwd"},
        {"kind": "plan", "prices": "--output=x"},
        {"kind": "screen", "slot": "--catalog=/etc/passwd"},
        {"kind": "order", "slot": ""},
        {"kind": "pile", "pile": "build.yaml"},
        {"kind": "take", "list": "../seller.csv"},
        {"kind": "take", "list": "build.yaml"},
        {"kind": "screen", "slot": "spring", "catalog": "/etc/passwd"},
        {"kind": "reach", "figure": "spring.rate"},  # nobody gave it, so it has no reach
        {"kind": "compare", "other": "build.yaml"},  # with itself
        {"kind": "identify", "slot": "spring", "figures": "wire=.177\n" * 30},
        {"kind": "record", "filled": "--by=x"},
        {"kind": "rule", "rule": "--help"},
        {},
    ],
)
def test_nothing_is_started_that_is_not_on_the_page(sitting, started, form):
    assert sitting.post("/work/start", **form).status_code == 409
    assert started.lines == []


def test_odd_numbers_of_work_are_refused(sitting):
    for number in ("0", "99", "-1", "x", "%2e%2e", "1" * 40):
        for more in ("", "/state", "/page"):
            assert sitting.client.get(f"/work/{number}{more}").status_code in (404, 409)


# The door.


@pytest.fixture
def phone(sitting):
    return sitting.browser(PHONE)


def _code(sitting) -> str:
    sitting.post("/phone/open")
    return sitting.bench.more["door"].code


def test_a_phone_gets_no_answer_while_the_door_is_shut(sitting, phone):
    assert phone.get("/door").status_code == 421
    assert sitting.client.get("/door").status_code == 403
    assert "The door is shut" in sitting.get("/phone").text


def test_a_phone_is_let_in_by_the_code_to_take_readings_and_nothing_else(sitting, phone):
    code = _code(sitting)
    assert f"{code[:4]} {code[4:]}" in sitting.get("/phone").text
    assert "Type the code" in phone.get("/door").text
    answer = phone.post("/door", data={"code": f"{code[:4]} {code[4:].lower()}"}, headers=PHONE_OWN)
    assert answer.status_code == 200 and "httponly" in answer.headers["set-cookie"].lower()
    sitting.post("/beside/begin", whole="yes")
    assert phone.get("/beside").status_code == 200
    read = {"key": "spring.installed_height@1 intake", "value": "1.720", "by": "me"}
    assert phone.post("/beside/reading", data=read, headers=PHONE_OWN).status_code == 200
    assert "1 intake: 1.720 in" in sitting.text
    for path in (
        "/",
        "/files",
        "/part/spring",
        "/history",
        "/phone",
        "/work",
        "/answer",
        "/question/coil_bind",
    ):
        assert phone.get(path).status_code == 403, path
    for path in ("/open", "/undo", "/part/spring/keep", "/phone/open", "/work/start"):
        assert phone.post(path, data={"a": "b"}, headers=PHONE_OWN).status_code == 403, path


def test_a_code_lets_one_phone_in_once(sitting, phone):
    code = _code(sitting)
    assert phone.post("/door", data={"code": code}, headers=PHONE_OWN).status_code == 200
    other = sitting.browser(PHONE)
    assert other.post("/door", data={"code": code}, headers=PHONE_OWN).status_code == 403


def test_a_code_is_good_for_a_few_tries_and_some_minutes(sitting, phone):
    code = _code(sitting)
    for _ in range(MOST_TRIES):
        assert phone.post("/door", data={"code": "WRONG"}, headers=PHONE_OWN).status_code == 403
    assert phone.post("/door", data={"code": code}, headers=PHONE_OWN).status_code == 403
    late = Door()
    late.new_code()
    late.until = 0.0
    assert not late.admits(late.code)
    assert not Door().admits("")


def test_the_door_is_shut_at_the_end(sitting, phone):
    phone.post("/door", data={"code": _code(sitting)}, headers=PHONE_OWN)
    assert "The door for a phone is open" in sitting.get("/part/spring").text
    sitting.post("/phone/shut")
    assert phone.get("/beside").status_code == 421
    sitting.post("/phone/open")  # for another job: the first phone is not let in by that
    assert phone.get("/beside").status_code == 403


def test_an_open_door_does_not_open_the_desk_to_other_hosts(sitting, phone):
    _code(sitting)
    assert phone.get("/enter", params={"token": sitting.entry.token}).status_code == 421
    desk = {"cookie": f"{sitting.entry.cookie}={sitting.client.cookies[sitting.entry.cookie]}"}
    assert phone.get("/part/spring", headers=desk).status_code == 403
    assert sitting.browser("http://10.9.8.8:8771").get("/door").status_code == 421
    foreign = PHONE_OWN | {"origin": "http://127.0.0.1:8771"}
    assert phone.post("/door", data={"code": "x"}, headers=foreign).status_code == 403
