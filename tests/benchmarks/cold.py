"""A whole cold `fitcheck check` against a cold import of what is used of pydantic, yaml and rich.

Each is a process of its own, started in turn. The files are in the system's cache, bytecode is
compiled, and the knowledge is kept from an earlier run, as in daily use.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

from tests.benchmarks.timing import Times, aim

AIM = 3.0
ROOT = Path(__file__).parents[2]
BUILD = ROOT / "catalog_demo" / "work_truck" / "build.yaml"
FITCHECK, IMPORTS = "fitcheck check", "import pydantic, yaml, rich"
# The bare import is lazy: this row brings in what a program uses of the three.
WHAT_IS_USED = "the same, and what is used of them"
_IMPORT_LINE = re.compile(r"import time:\s+(\d+) \|\s+(\d+) \|(\s+)(\S+)")
_STAGES = """
import gc
from time import perf_counter as now
start = now()
from fitcheck.cli import check, main
from fitcheck.cli.common import output
from fitcheck.knowledge import load_knowledge
from fitcheck.check import check_build, read_build
from fitcheck.report.terminal import CheckReport
imported = now()
knowledge = load_knowledge({rules})
gc.freeze()
loaded = now()
build = read_build({build!r}, knowledge)
read = now()
check = check_build(build, knowledge)
checked = now()
CheckReport(check, output(), "inch").short()
import sys
written = now()
names = ("import", "load the knowledge", "read the build", "check", "write the report")
marks = (start, imported, loaded, read, checked, written)
for name, a, b in zip(names, marks, marks[1:]):
    print(f"{{(b - a) * 1e3:8.1f}} ms  {{name}}", file=sys.stderr)
"""


@dataclass(frozen=True)
class Command:
    """A process to time."""

    arguments: list[str]
    environment: Mapping[str, str]

    def seconds(self) -> tuple[float, float]:
        """Seconds by the clock and of processor time."""
        start = perf_counter()
        process = subprocess.Popen(
            [sys.executable, *self.arguments],
            env=dict(self.environment),
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        assert process.stderr is not None
        told = process.stderr.read()
        _, status, used = os.wait4(process.pid, 0)
        clock = perf_counter() - start
        process.returncode = os.waitstatus_to_exitcode(status)
        assert process.returncode in (0, 1, 3), told.decode()  # 2: the input can't be used
        return clock, used.ru_utime + used.ru_stime


def commands(rules: Path | None, bytecode: str) -> dict[str, Command]:
    """What is timed; `bytecode` is the folder that compiled modules are kept in."""
    usual = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    here = usual | {"PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": bytecode}
    check = [
        "-m",
        "fitcheck",
        "check",
        str(BUILD),
        *(["--only-rules", str(rules)] if rules else []),
    ]
    return {
        IMPORTS: Command(["-c", "import pydantic, yaml, rich"], here),
        WHAT_IS_USED: Command(
            ["-c", "import pydantic, yaml, rich.console; pydantic.TypeAdapter"], here
        ),
        FITCHECK: Command(check, here),
        "fitcheck check, nothing kept": Command(check, here | {"FITCHECK_NO_CACHE": "1"}),
        "bare python": Command(["-c", "pass"], here),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rules", type=Path, default=None, help="a rules folder of your own")
    parser.add_argument("--rounds", type=int, default=25)
    parser.add_argument("--breakdown", action="store_true", help="show what the time goes into")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as bytecode:
        run(commands(options.rules, bytecode), options)


def run(timed: dict[str, Command], options: argparse.Namespace) -> None:
    """Time the commands in turn and print what was found."""
    for command in timed.values():
        command.seconds()  # compiles what is imported, keeps the knowledge
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in timed}
    for _ in range(options.rounds):
        for name, command in timed.items():
            taken[name].append(command.seconds())
    clock, used = (
        Times({name: [both[which] for both in times] for name, times in taken.items()})
        for which in (0, 1)
    )
    print("by the clock:", clock.table(IMPORTS, 1e3, "ms"), sep="\n")
    print("\nprocessor time:", used.table(IMPORTS, 1e3, "ms"), sep="\n")
    print(
        "",
        aim("over what is used of them, by the clock", clock.ratio(FITCHECK, WHAT_IS_USED), AIM),
        aim("over what is used of them, processor time", used.ratio(FITCHECK, WHAT_IS_USED), AIM),
        f"over the bare imports, processor time: {used.ratio(FITCHECK, IMPORTS):.2f}",
        sep="\n",
    )
    if options.breakdown:
        breakdown(timed[FITCHECK], options.rules)


def breakdown(command: Command, rules: Path | None) -> None:
    """Print the stages of a run, and the imports that cost most."""
    given = f"__import__('pathlib').Path({str(rules)!r})" if rules else "None"
    stages = _STAGES.format(rules=given, build=str(BUILD))
    told = subprocess.run(
        [sys.executable, "-c", stages],
        env=dict(command.environment),
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    print("\nstages of one run:", told.stderr, sep="\n")
    traced = subprocess.run(
        [sys.executable, "-X", "importtime", *command.arguments],
        env=dict(command.environment),
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    own: dict[str, int] = {}
    whole: dict[str, int] = {}
    for self_us, whole_us, _, module in _IMPORT_LINE.findall(traced.stderr):
        package = module.partition(".")[0]
        own[package] = own.get(package, 0) + int(self_us)
        whole[module] = int(whole_us)
    print("imports by package, own time:")
    for package, us in sorted(own.items(), key=lambda item: -item[1])[:15]:
        print(f"{us / 1e3:8.1f} ms  {package}")
    print("imports with all they bring:")
    for module, us in sorted(whole.items(), key=lambda item: -item[1])[:25]:
        print(f"{us / 1e3:8.1f} ms  {module}")


if __name__ == "__main__":
    main()
