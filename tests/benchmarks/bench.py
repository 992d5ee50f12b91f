"""From a key to the new answer at the bench: the server's time for each, beside a full check.

Run by hand: `python -m tests.benchmarks.bench`. It types figures into the truck's form one key
after the other, in this process, as a page's script sends them: read, checked again, put into
words and into HTML. Keeping one writes the file twice to the disk, and is told apart.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from fitcheck.bench.aside import in_this_process
from fitcheck.bench.fields import held_here, in_a_field, named
from fitcheck.check import check_build, read_build
from fitcheck.knowledge import load_knowledge
from fitcheck.report.demos import demo_names, demo_text
from tests.bench.conftest import Never, Sitting

TYPED = {
    "spring.coil_bind_height": "1.100 in",
    "spring.rate": "300 lbf/in",
    "cam.lobe_lift": "0.330 in",
    "block.bore": "3.915 in",
    "valve.stem_diameter": "0.3410 in",
    "head.chamber_volume": "64.5 cc",
    "rocker.ratio": "1.55",
    "piston.deck_clearance": "0.020 in",
    "retainer.gap_to_seal": "0.550 in",
    "head_gasket.thickness": "0.040 in",
}


def _timed(run: Callable[[], object]) -> float:
    start = time.perf_counter()
    run()
    return (time.perf_counter() - start) * 1000


def _told(name: str, times: list[float]) -> None:
    times = sorted(times)
    nine = times[int(0.9 * (len(times) - 1))]
    print(f"  {name:<34} median {statistics.median(times):7.1f} ms, nine in ten {nine:7.1f} ms")


def _value(sitting: Sitting, figure: str) -> str:
    """What stands in a field now."""
    attribute, selector = named(figure, sitting.desk.knowledge)
    return in_a_field(next(iter(held_here(sitting.desk.build, attribute, selector)), None))


def main(names: list[str]) -> None:
    """The times for each of the invented builds."""
    knowledge = load_knowledge()
    for name in names or demo_names():
        with tempfile.TemporaryDirectory() as folder:
            text = demo_text(name)
            sitting = Sitting(Path(folder), knowledge, text, Never())
            build = read_build(sitting.path, knowledge)
            check_build(build, knowledge)
            full = [_timed(lambda b=build: check_build(b, knowledge)) for _ in range(10)]
            keys, answered, kept = [], [], []
            for figure, value in TYPED.items():
                was = _value(sitting, figure)
                for end in range(1, len(value) + 1):
                    form = {f"f:{figure}": value[:end], f"was:{figure}": was, "says": "me"}
                    start = time.perf_counter()
                    told = sitting.script("/draft", **form).json()
                    keys.append((time.perf_counter() - start) * 1000)
                    if "not kept yet" in told["answer"]:
                        answered.append(keys[-1])
                start = time.perf_counter()
                done = sitting.type(figure, value, was=was, says="me").json()
                kept.append((time.perf_counter() - start) * 1000)
                assert done["fields"][figure]["bad"] == "", done
                sitting.post("/undo")
            print(name)
            _told("a full check, told in nothing", full)
            _told(f"a key, {len(keys)} of them", keys)
            _told(f"of these {len(answered)} with another answer", answered)
            _told("a figure kept in the file", kept)
            slow = Sitting(Path(folder), knowledge, text, in_this_process(knowledge))
            _told(
                "the short answer, worked out aside",
                [_timed(lambda s=slow: s.get("/answer/whole"))],
            )


if __name__ == "__main__":
    main(sys.argv[1:])
