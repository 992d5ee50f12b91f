"""From a key to the settled page at the bench: a real browser before a bench of its own.

Run by hand: `python -m tests.benchmarks.bench_page [NAME …]`; Chromium has to be there. Figures are
typed one key after the other into the forms of an invented build (the work truck where none is
named; `twenty_four` is one of so many cylinders, all different), each key once the answer to the one before stands. The clock starts with the browser's own
time of the key and stops when the new answer is in the page, laid out, and the frame that shows it
has been handed over. Then the same with a key every 80 ms, as somebody types fast: from the last
key to the answer to all of them. Beside both stands a full check of the build in this process.
Aims: a key's page settled within 150 ms at the median.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path
from statistics import median
from typing import Any

from fitcheck.check import check_build, read_build
from fitcheck.knowledge import load_knowledge
from fitcheck.report.demos import demo_text
from tests.bench.served import Served, browser, served
from tests.bench.twenty_four import TWENTY_FOUR
from tests.benchmarks.bench import TYPED

AIM = 150.0  # milliseconds
FAST = 0.08  # seconds between keys
# Notes when each key went down and when the answer stood that came after it.
WATCH = """() => {
  window.keys = []; window.settled = []; window.told = 0;
  addEventListener('keydown', event => keys.push(event.timeStamp), true);
  new MutationObserver(() => {
    window.told += 1;
    document.body.getBoundingClientRect();
    requestAnimationFrame(() => setTimeout(() => settled.push(performance.now()), 0));
  }).observe(document.getElementById('sight'), {childList: true});
}"""
QUIET = (
    "() => !document.getElementById('sight').hasAttribute('aria-busy') && settled.length === told"
)
PATIENCE = 20_000


def main(names: list[str]) -> None:
    """The times for some of the invented builds."""
    knowledge = load_knowledge()
    for name in names or ["work_truck"]:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "build.yaml"
            text = TWENTY_FOUR if name == "twenty_four" else demo_text(name)
            path.write_text(text, encoding="utf-8")
            build = read_build(path, knowledge)
            full = [_check(build, knowledge) for _ in range(20)]
            with served(path) as bench, browser() as chrome:
                single, fast = _typed(chrome, bench)
        print(f"{name} (aim: {AIM:.0f} ms)")
        _told("a full check, told in nothing", full)
        _told(f"a key to the settled page, {len(single)} keys", single)
        _told(f"the last of keys {FAST * 1000:.0f} ms apart", fast)


def _check(build: Any, knowledge: Any) -> float:
    start = time.perf_counter()
    check_build(build, knowledge)
    return (time.perf_counter() - start) * 1000


def _typed(chrome: Any, bench: Served) -> tuple[list[float], list[float]]:
    page = chrome.new_context(viewport={"width": 1280, "height": 900}).new_page()
    page.goto(bench.way_in)
    page.wait_for_url(f"{bench.home}/")
    single: list[float] = []
    fast: list[float] = []
    for figure, value in TYPED.items():
        field = _field(page, bench, figure)
        field.fill("")
        _quiet(page)
        for letter in value:
            page.evaluate("() => { keys.length = settled.length = told = 0; }")
            page.keyboard.type(letter)
            page.wait_for_function("() => told > 0", timeout=PATIENCE)
            _quiet(page)
            single.append(page.evaluate("() => settled.at(-1) - keys.at(-1)"))
        field = _field(page, bench, figure)
        field.fill("")
        _quiet(page)
        page.evaluate("() => { keys.length = settled.length = told = 0; }")
        page.keyboard.type(value, delay=FAST * 1000)
        _quiet(page)
        fast.append(page.evaluate("() => settled.at(-1) - keys.at(-1)"))
    return single, fast


def _field(page: Any, bench: Served, figure: str) -> Any:
    """The field of a figure, on a page that was loaded anew and has come to rest."""
    page.goto(f"{bench.home}/part/{figure.partition('.')[0]}")
    page.wait_for_selector("#short .lines")
    page.evaluate(WATCH)
    field = page.locator(f'[name="f:{figure}"]')
    if not field.is_visible():
        page.locator("details.more > summary").click()
    return field


def _quiet(page: Any) -> None:
    page.wait_for_function(QUIET, timeout=PATIENCE)
    time.sleep(0.05)
    page.wait_for_function(QUIET, timeout=PATIENCE)


def _told(name: str, times: list[float]) -> None:
    nine = sorted(times)[int(0.9 * (len(times) - 1))]
    print(f"  {name:<40} median {median(times):7.1f} ms, nine in ten {nine:7.1f} ms")


if __name__ == "__main__":
    main(sys.argv[1:])
