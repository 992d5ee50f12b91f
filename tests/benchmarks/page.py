"""How much longer a page with its drawings takes than the check that it shows.

Two measures: the check as a user gets it, with its report in the terminal, and the bare check, of
which no text was asked. Warm: everything that is made once per knowledge is made before.
"""

from __future__ import annotations

import argparse
import io
from datetime import date
from pathlib import Path

from rich.console import Console

from fitcheck.check import check_build, read_build
from fitcheck.knowledge import Knowledge, load_knowledge
from fitcheck.model import EngineBuild
from fitcheck.report.html import PAGES
from fitcheck.report.terminal import CheckReport
from tests.benchmarks.generated_builds import generated_build
from tests.benchmarks.timing import aim, interleaved

AIM = 3.0
LARGEST = 1_000_000
DEMOS = Path(__file__).parents[2] / "catalog_demo"


def page(build: EngineBuild, knowledge: Knowledge) -> str:
    """The check and its page."""
    return PAGES["check"].make(check_build(build, knowledge), "inch", date(2026, 3, 9))


def report(build: EngineBuild, knowledge: Knowledge) -> str:
    """The check and its report, as in the terminal."""
    out = io.StringIO()
    console = Console(file=out, width=100, highlight=False)
    CheckReport(check_build(build, knowledge), console, "inch").full()
    return out.getvalue()


def builds(knowledge: Knowledge) -> dict[str, EngineBuild]:
    """The builds that are timed."""
    found = {
        path.parent.name: read_build(path, knowledge) for path in sorted(DEMOS.glob("*/build.yaml"))
    }
    return found | {"generated, all measured": generated_build(knowledge, 1.0)}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rules", type=Path, default=None, help="a rules folder of your own")
    parser.add_argument("--rounds", type=int, default=15)
    options = parser.parse_args()
    knowledge = load_knowledge(options.rules)
    aims = []
    for name, build in builds(knowledge).items():
        size = len(page(build, knowledge).encode())
        times = interleaved(
            {
                "check": lambda build=build: check_build(build, knowledge),
                "check and report": lambda build=build: report(build, knowledge),
                "check and page": lambda build=build: page(build, knowledge),
            },
            options.rounds,
        )
        print(f"\n{name}: {size:,} bytes\n{times.table('check', 1e3, 'ms')}")
        aims.append(
            aim(
                f"{name}, page over check with its report",
                times.ratio("check and page", "check and report"),
                AIM,
            )
        )
        aims.append(
            aim(f"{name}, page over the bare check", times.ratio("check and page", "check"), AIM)
        )
        aims.append(aim(f"{name}, size of the page in MB", size / LARGEST, 1))
    print("", *aims, sep="\n")


if __name__ == "__main__":
    main()
