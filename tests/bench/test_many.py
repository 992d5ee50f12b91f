"""Ten at once at a bench in a process of its own: no error, and no write that is lost.

FITCHECK_SECONDS says for how long; .ci/run takes a few.
"""

from __future__ import annotations

import os
import time
from concurrent.futures import ThreadPoolExecutor

import httpx

from fitcheck.check import read_build
from fitcheck.check.records.keeping import held, written
from fitcheck.model import Selector
from tests.bench.served import WANTED, Served, served
from tests.record.builds import BUILD

pytestmark = WANTED
CLIENTS, SECONDS = 10, float(os.environ.get("FITCHECK_SECONDS", "8"))
NAME = "spring.load_1"


def _place(client: int) -> str:
    return (
        f"{client % 4 + 1} {('intake', 'exhaust')[client // 4 % 2]}"
        if client < 8
        else ("intake", "exhaust")[client - 8]
    )


def _work(bench: Served, client: int) -> tuple[int, str, list[str]]:
    """One client's time: it types, looks and keeps; how often, the last kept, what went wrong."""
    field, wrong, count, last = f"{NAME}@{_place(client)}", [], 0, ""
    own = {"origin": bench.home, "sec-fetch-site": "same-origin", "x-by": "script"}
    until = time.monotonic() + SECONDS
    with httpx.Client(base_url=bench.home, timeout=60) as http:
        http.get(bench.way_in)
        while time.monotonic() < until:
            count += 1
            value = f"{100 + client}.{count % 100:02} lbf"
            form = {
                f"f:{field}": value,
                f"was:{field}": last,
                "says": "page",
                "by": f"client {client}",
            }
            for path, data in (("/draft", form), ("/part/spring/keep", form)):
                answer = http.post(path, data=data, headers=own)
                if answer.status_code != 200:
                    wrong.append(f"{path}: {answer.status_code} {answer.text[:200]}")
            told = answer.json()["fields"][field]
            if told["bad"]:
                wrong.append(told["bad"])
            last = told["value"]
            for path in ("/state", "/answer", "/part/spring"):
                if (answer := http.get(path)).status_code != 200:
                    wrong.append(f"{path}: {answer.status_code}")
    return count, last, wrong


def test_ten_at_once_lose_nothing(tmp_path, knowledge):
    path = tmp_path / "build.yaml"
    path.write_text(BUILD)
    with served(path) as bench, ThreadPoolExecutor(CLIENTS) as pool:
        came = list(pool.map(lambda client: _work(bench, client), range(CLIENTS)))
        assert [wrong for *_, wrong in came if wrong] == []
        build = read_build(path, knowledge)
        attribute = knowledge.attributes[NAME]
        kept = [held(build, attribute, Selector.read(_place(client))) for client in range(CLIENTS)]
        assert [one and written(one) for one in kept] == [last for _, last, _ in came]
        print(f"\n{sum(count for count, *_ in came)} figures kept by {CLIENTS} in {SECONDS:g} s")
        assert "# the end" in bench.text
