"""What a flood of odd words costs: refusing it, and of that the mere reading of its YAML.

    python -m tests.benchmarks.bad_input

Milliseconds of the processor: the first time, when all words are spelt out first, and the least of
five.
"""

from __future__ import annotations

from time import process_time

from fitcheck.check import read_build
from fitcheck.knowledge import Knowledge, load_knowledge
from fitcheck.source import BadInput, read_yaml
from tests.words.test_manners import FLOODS

RUNS = 5
START = "build: a\ncylinders: '6'\nparts:\n"


def refused(text: str, knowledge: Knowledge) -> int:
    """Characters told of what is wrong with a build."""
    try:
        read_build("flood.yaml", knowledge, text)
    except BadInput as error:
        return len(str(error))
    return 0


def main() -> None:
    """Print the table."""
    print(f"{'':34}{'first':>8}{'least':>8}{'YAML':>8}{'told':>8}")
    for name, flood in FLOODS.items():
        knowledge, text, took = load_knowledge(), START + flood, []
        for _ in range(RUNS):
            start = process_time()
            told = refused(text, knowledge)
            took.append(1000 * (process_time() - start))
        start = process_time()
        read_yaml("flood.yaml", [], text)
        yaml = 1000 * (process_time() - start)
        print(f"{name:34}{took[0]:8.0f}{min(took):8.0f}{yaml:8.0f}{told:8}")


if __name__ == "__main__":
    main()
