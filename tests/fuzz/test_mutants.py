"""Spoilt files and arguments for every command: told or answered, never a fault, nothing endless.

Some 250 in the suite, 500 in CI. By hand FITCHECK_MUTANTS=10000 tries so many, each in a process of its own
that the system holds to ten seconds of the processor and a gigabyte:

    FITCHECK_MUTANTS=10000 python -m pytest -s tests/fuzz
"""

from __future__ import annotations

import contextlib
import gc
import io
import os
import pickle
import random
import resource
import shutil
import signal
import time
import unicodedata
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import pytest

import fitcheck.knowledge
from fitcheck.cli.demo import demo_folder
from fitcheck.cli.main import COMMANDS, main
from tests.fuzz.mutants import spoilt_file, spoilt_text

MUTANTS = int(os.environ.get("FITCHECK_MUTANTS", "60"))
BY_HAND = "FITCHECK_MUTANTS" in os.environ
FIRST = int(os.environ.get("FITCHECK_MUTANTS_FROM", "0"))  # others than were tried before
MOST_SECONDS, MOST_BYTES = 10, 1_000_000_000
AT_LEAST = 4  # mutants of each subject

BUILD = """\
build: a try
cylinders: "2"
parts:
  head: {claimed: {by: seller, material: cast_iron}}
  spring:
    claimed: {by: seller, rate: 280 lbf/in, "load_1": "110 lbf", load_1_height: 1.700 in}
    measured: {by: me, when: 2026-03-09, with: height micrometer, installed_height: {intake: 1.700 in, exhaust: 1.690 in}}
  retainer: {measured: {by: me, gap_to_seal: 0.520 in}}
  cam: {claimed: {lobe_lift: 0.320 in +-0.002, lobe_type: roller, duration_050: 224/230}}
  rocker: {claimed: {ratio: "1.5"}}
  engine: {maker_asks: {by: manual, coil_bind.least: 0.050 in}}
"""
LIST = """\
class,item,name,price [EUR],stock,rate [lbf/in],load_1 [lbf],load_1_height [in],coil_bind_height [in],shape
spring,A1,"blue, invented",45.50,3,300,120,1.80,1.100,beehive
spring,A2,,12 EUR,,280.5,,,1.150,cylindrical
retainer,R1,steel,8,1,,,,,
"""
MAPPING = """\
classes: {column: class, words: {springs: spring}}
item: item
price: "price [EUR]"
currency: EUR
thousands: "'"
columns: {"rate [lbf/in]": rate lbf/in, shape: shape, "load_1 [lbf]": {attribute: load_1, unit: lbf}}
"""
PRICES = """\
prices: an invented shop
hour: 80 EUR
operations: {hone_guide: 7 EUR, mill_deck: 120 EUR, cut_spring_seat: 12.50 EUR}
parts:
  - {fits: spring, price: 90 EUR, part: {name: others (invented), claimed: {rate: 250 lbf/in}}}
"""
ROUTES = """\
routes: two ways
ways:
  - {way: one, build: b.yaml, prices: prices.yaml, bought: {head: 100 EUR, work: 2 h}}
  - {way: other, build: b.yaml, prices: prices.yaml, bought: {casting: 90 EUR}}
"""
PILE = """\
pile: a crate
parts:
  - spring: {name: loose ones, price: 20 EUR, claimed: {rate: 300 lbf/in}}
  - retainer: {name: steel, claimed: {material: steel}}
"""
HOUSE = """\
house: an invented shop
limits:
  coil_bind.least: {value: 0.050 in, reason: light springs, name: A. Tester}
waivers:
  - {rule: retainer_meets_seal, reason: tried, name: A. Tester, until: 2027-01-01}
"""
SHORT = "parts:\n  - spring: {item: S1, price: 45 EUR, claimed: {rate: 300 lbf/in}}\n"
FILES = {
    "b.yaml": BUILD,
    "list.csv": LIST,
    "map.yaml": MAPPING,
    "prices.yaml": PRICES,
    "routes.yaml": ROUTES,
    "pile.yaml": PILE,
    "house.yaml": HOUSE,
    "short.yaml": SHORT,
}


@dataclass(frozen=True)
class Subject:
    """A command as it is right: the file that is spoilt, or the word of it where there is none."""

    arguments: str
    spoils: str = ""
    weight: float = 1
    word: int = field(default=-1)  # which argument is spoilt, where no file is
    dear: bool = False  # takes its time: tried by hand

    @property
    def name(self) -> str:
        return f"{self.arguments} ({self.spoils or 'argument'})"


SUBJECTS = [
    Subject("check b.yaml", "b.yaml", weight=4, dear=True),
    Subject("check b.yaml --all", "b.yaml", weight=1, dear=True),
    Subject("check b.yaml --json", "b.yaml", weight=0.5, dear=True),
    Subject("check b.yaml --house house.yaml", "house.yaml", weight=1, dear=True),
    Subject("check b.yaml --rules own", "own/fits/pushrods_and_rockers/thin_walled_for_competition.yaml", weight=0.2, dear=True),
    Subject("prove own", "own/house.yaml", weight=0.2, dear=True),
    Subject("explain b.yaml coil_bind", "b.yaml", weight=4),
    Subject("measure b.yaml", "b.yaml", weight=0.5, dear=True),
    Subject("compare b.yaml other.yaml", "other.yaml", weight=0.5, dear=True),
    Subject("reach b.yaml cam.lobe_lift", "b.yaml", weight=0.4, dear=True),
    Subject("order b.yaml spring", "b.yaml", weight=0.3, dear=True),
    Subject("chance b.yaml", "b.yaml", weight=0.5, dear=True),
    Subject("plan b.yaml --prices prices.yaml --seconds 1 --csv out.csv", "prices.yaml", weight=0.5, dear=True),
    Subject("routes routes.yaml --seconds 1", "routes.yaml", weight=0.5, dear=True),
    Subject("pile b.yaml pile.yaml --top 1 --catalog list.csv", "pile.yaml", weight=0.5, dear=True),
    Subject("catalog new.duckdb --add list.csv", "list.csv", weight=3),
    Subject("catalog new.duckdb --add list.csv --columns map.yaml", "map.yaml", weight=3),
    Subject("catalog new.duckdb --add list.xlsx", "list.xlsx", weight=2),
    Subject("catalog new.duckdb --add list.parquet", "list.parquet", weight=2, dear=True),
    Subject("catalog new.duckdb --add short.yaml", "short.yaml", weight=1),
    Subject("catalog parts.duckdb --add list.csv", "parts.duckdb", weight=2, dear=True),
    Subject("screen b.yaml spring --catalog list.csv", "list.csv", weight=0.3, dear=True),
    Subject("identify spring rate=300lbf/in --catalog list.csv", "list.csv", weight=0.3, dear=True),
    Subject("identify spring rate=300lbf/in --catalog list.csv", word=2, weight=0.5, dear=True),
    Subject("handbook book", word=1, weight=0.1, dear=True),
    Subject("page b.yaml -o page.html", "b.yaml", weight=0.5, dear=True),
    Subject("draw b.yaml stack -o stack.svg", "b.yaml", weight=0.5, dear=True),
    Subject("sheet b.yaml --all", "b.yaml"),
    Subject("record b.yaml sheet.csv --by me", "sheet.csv", weight=3),
    Subject("record b.yaml sheet.xlsx --by me", "sheet.xlsx", weight=2),
    Subject("record b.yaml sheet.csv --by me", "b.yaml", weight=8),
    Subject("samples b.yaml", "b.yaml", weight=6),
    Subject("audit b.yaml", "b.yaml", weight=8),
    Subject("history b.yaml", "b.yaml", weight=6),
    Subject("undo b.yaml", "b.yaml", weight=3),
    Subject("start new.yaml --cylinders 8 --given cam.lobe_lift=.32", word=5),
    Subject("start new.yaml --title x --cylinders 8", word=3),
    Subject("start new.yaml --cylinders 8", word=3),
    Subject("check b.yaml --set spring.rate=300", word=3, weight=1, dear=True),
    Subject("plan b.yaml --seconds 1 --do mill_deck=0.010in", word=5, weight=1, dear=True),
    Subject("reach b.yaml cam.lobe_lift --at 1", word=4, weight=0.4, dear=True),
    Subject("reach b.yaml cam.lobe_lift", word=2, weight=0.4, dear=True),
    Subject("order b.yaml spring", word=2, weight=0.3, dear=True),
    Subject("explain b.yaml coil_bind", word=2),
    Subject("parts cam.lobe_lift", word=1),
    Subject("rule coil_bind", word=1),
    Subject("rules --family deck", word=2),
    Subject("schema build", word=1),
    Subject("demo work_truck", word=1),
    Subject("completion bash", word=1),
    Subject("screen b.yaml spring --catalog list.csv", word=2, weight=0.3, dear=True),
    Subject("check b.yaml", word=1),
    Subject("check", word=0),
]  # fmt: skip


def test_every_command_is_tried():
    served = {"bench"}  # stays until it is ended; what it is sent is spoilt in tests/bench
    assert {subject.arguments.split()[0] for subject in SUBJECTS} == set(COMMANDS) - served


@pytest.fixture(scope="module")
def right(knowledge, tmp_path_factory):
    """A folder with a right file of each kind."""
    import openpyxl
    import pyarrow.csv
    import pyarrow.parquet

    folder = tmp_path_factory.mktemp("right")
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "other.yaml").write_text(BUILD.replace("0.320", "0.350"), encoding="utf-8")
    shutil.copytree(demo_folder() / "shop_rules", folder / "own")
    pyarrow.parquet.write_table(pyarrow.csv.read_csv(folder / "list.csv"), folder / "list.parquet")
    book = openpyxl.Workbook()
    for line in LIST.replace('"blue, invented"', "blue").splitlines():
        book.active.append(
            [float(cell) if cell.isdigit() else cell or None for cell in line.split(",")]
        )
    book.save(folder / "list.xlsx")
    with contextlib.chdir(folder), pytest.MonkeyPatch.context() as patch:
        patch.setattr(fitcheck.knowledge, "load_knowledge", lambda *_: knowledge)
        for arguments in ("catalog parts.duckdb --add list.csv", "sheet b.yaml --all --table sheet.csv",
                          "sheet b.yaml --all --table sheet.xlsx"):  # fmt: skip
            assert main(arguments.split()) == 0, arguments
    return folder


def copied(right, folder, subject):
    """The files that a subject reads."""
    if "own" in subject.arguments:
        shutil.copytree(right / "own", folder / "own")
    folder.mkdir(exist_ok=True)
    for name in {"b.yaml", "prices.yaml", *subject.arguments.split()}:
        if (right / name).is_file():
            shutil.copy(right / name, folder / name)


def spoilt(subject, seed, folder):
    """A subject with its file or its argument spoilt; the arguments."""
    chance = random.Random(f"{subject.name} {seed}")
    arguments = subject.arguments.split()
    if subject.spoils:
        path = folder / subject.spoils
        path.write_bytes(spoilt_file(path.name, path.read_bytes(), chance))
    else:
        word = spoilt_text(arguments[subject.word], chance)
        arguments[subject.word] = word.replace("\0", "").removeprefix("-")[:5000]
    return arguments


def wrong_with(code, told):
    """What must not be, of an exit code and all that was printed."""
    if "fault of fitcheck itself" in told or "Traceback" in told:
        return told[told.find("fault of") - 10 :][:1500]
    if code not in (0, 1, 2, 3):
        return f"it ended with {code}"
    if code == 2 and not told.strip():
        return "it ended with 2 and said nothing"
    odd = {f"U+{ord(one):04X}" for one in told if _commands(one)}
    return f"it printed {', '.join(sorted(odd))}" if odd else ""


def _commands(letter):
    """Control characters, and those that turn the direction of what is shown (Unicode's Cc, Bidi)."""
    turning = unicodedata.bidirectional(letter) in ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI")
    return turning or (unicodedata.category(letter) == "Cc" and letter not in "\n\t\r")


def run_here(arguments):
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        code = main(arguments)
    return wrong_with(code, out.getvalue()), code


def run_apart(arguments):
    """In a process of its own, which the system ends when it takes too long or too much."""
    source, sink = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(source)
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS + 1))
        resource.setrlimit(resource.RLIMIT_AS, (8 * MOST_BYTES, 8 * MOST_BYTES))
        signal.alarm(20 * MOST_SECONDS)
        try:
            os.write(sink, pickle.dumps(run_here(arguments)))
        finally:
            os._exit(0)
    os.close(sink)
    told = b""
    while piece := os.read(source, 65536):
        told += piece
    os.close(source)
    _, status, usage = os.wait4(child, 0)
    if not told:
        return f"it was ended by the system: {status}", None, usage
    wrong, code = pickle.loads(told)
    if usage.ru_maxrss * 1024 > MOST_BYTES:
        wrong = wrong or f"it took {usage.ru_maxrss // 1024} MB"
    return wrong, code, usage


def shares():
    """How many mutants of each subject."""
    tried = [subject for subject in SUBJECTS if BY_HAND or not subject.dear]
    whole = sum(subject.weight for subject in tried)
    return [(subject, max(AT_LEAST, int(MUTANTS * subject.weight / whole))) for subject in tried]


def unspoilt(right, folder, subject):
    """A subject as it is right is answered: what is refused before it is spoilt would try nothing.

    What it imports and compiles is there then for every process that is forked for a mutant.
    """
    shutil.copytree(right, folder)
    out = io.StringIO()
    with contextlib.chdir(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        code = main(subject.arguments.split())
    assert code in (0, 1, 3) or subject.arguments in ("check", "undo b.yaml"), out.getvalue()
    gc.collect()
    gc.freeze()  # a process that looks through all of it for garbage would copy it


@pytest.mark.parametrize(("subject", "count"), shares(), ids=lambda one: getattr(one, "name", ""))  # fmt: skip
def test_no_mutant_ends_in_a_fault(right, knowledge, tmp_path, monkeypatch, subject, count):
    if "own" not in subject.arguments:
        monkeypatch.setattr(fitcheck.knowledge, "load_knowledge", lambda *_: knowledge)
    wrongs, codes, longest, largest = [], Counter(), 0.0, 0
    if BY_HAND:
        unspoilt(right, tmp_path / "unspoilt", subject)
    for seed in range(FIRST, FIRST + count):
        folder = tmp_path / str(seed)
        copied(right, folder, subject)
        arguments = spoilt(subject, seed, folder)
        monkeypatch.chdir(folder)
        if BY_HAND:
            wrong, code, usage = run_apart(arguments)
            longest = max(longest, usage.ru_utime + usage.ru_stime)
            largest = max(largest, usage.ru_maxrss // 1024)
        else:
            wrong, code = run_here(arguments)
        codes[code] += 1
        if wrong:
            wrongs.append(f"mutant {seed}, {arguments}: {wrong}")
        monkeypatch.chdir(tmp_path)
        shutil.rmtree(folder)
    if BY_HAND:
        told = dict(sorted(codes.items(), key=str))
        print(
            f"{count:5} {longest:5.1f} s {largest:5} MB {told} {subject.name}", time.strftime("%X")
        )
    assert not wrongs, "\n".join(wrongs[:5])
    assert Path.cwd() == tmp_path
