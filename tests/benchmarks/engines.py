"""The numeric rules in general-purpose engines: each takes the ends of figures by name."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any, Protocol

from tests.benchmarks.numeric_rules import ATTRIBUTES, DEMANDS, SHARED
from tests.benchmarks.random_figures import Ends
from tests.benchmarks.texts import Infix, InfixWithLists, Prefix, unfolded, verdict, written

FIGURES = [f"{short}_{end}" for _, short, _ in ATTRIBUTES for end in ("lo", "hi")]


class Engine(Protocol):
    """An engine with the rules loaded."""

    name: str

    def verdicts(self, ends: Ends) -> tuple[int, ...]: ...


class CelList:
    """common-expression-language: one compiled program that gives the list of verdicts."""

    name = "common-expression-language, one program"

    def __init__(self) -> None:
        import cel

        name = unfolded(Infix(), str)
        listed = ", ".join(verdict(rule, Infix(), name) for rule in DEMANDS)
        self.program = cel.compile(f"[{listed}]")

    def verdicts(self, ends: Ends) -> tuple[int, ...]:
        return tuple(self.program.execute(ends))


class CelPrograms:
    """common-expression-language: a compiled program for each rule, one context for all."""

    name = "common-expression-language, twenty programs"

    def __init__(self) -> None:
        import cel

        self.context = cel.Context
        name = unfolded(Infix(), str)
        self.programs = [cel.compile(verdict(rule, Infix(), name)) for rule in DEMANDS]

    def verdicts(self, ends: Ends) -> tuple[int, ...]:
        context = self.context(ends)
        return tuple(program.execute(context) for program in self.programs)


class ZenDecision:
    """zen-engine: a decision whose expressions are the shared figures and the verdicts."""

    name = "zen-engine, a decision"

    def __init__(self) -> None:
        import zen

        style = InfixWithLists()
        shared = {
            f"{name}_{end}": text
            for name, *ends in SHARED
            for end, text in zip(("lo", "hi"), ends, strict=True)
        }

        def name(found: str) -> str:
            return f"$.{found}" if found in shared else found

        texts = {key: written(text, style, name) for key, text in shared.items()}
        texts |= {rule: verdict(rule, style, name) for rule in DEMANDS}
        graph = {
            "nodes": [
                {"id": "in", "type": "inputNode", "name": "in"},
                {
                    "id": "rules",
                    "type": "expressionNode",
                    "name": "rules",
                    "content": {
                        "expressions": [
                            {"id": key, "key": key, "value": text} for key, text in texts.items()
                        ]
                    },
                },
                {"id": "out", "type": "outputNode", "name": "out"},
            ],
            "edges": [
                {"id": f"{a}-{b}", "sourceId": a, "targetId": b, "type": "edge"}
                for a, b in (("in", "rules"), ("rules", "out"))
            ],
        }
        self.decision = zen.ZenEngine().create_decision(json.dumps(graph))

    def verdicts(self, ends: Ends) -> tuple[int, ...]:
        result: dict[str, Any] = self.decision.evaluate(ends)["result"]
        return tuple(int(result[rule]) for rule in DEMANDS)


class ZenExpression:
    """zen-engine: one compiled expression that gives the list of verdicts."""

    name = "zen-engine, one expression"

    def __init__(self) -> None:
        import zen

        style = InfixWithLists()
        name = unfolded(style, str)
        listed = ", ".join(verdict(rule, style, name) for rule in DEMANDS)
        self.expression = zen.compile_expression(f"[{listed}]")

    def verdicts(self, ends: Ends) -> tuple[int, ...]:
        return tuple(map(int, self.expression.evaluate(ends)))


class Clips:
    """clipspy: a template for the figures, a production for each rule, globals for verdicts."""

    name = "clipspy, a fact and twenty productions"

    def __init__(self) -> None:
        import clips

        self.environment = clips.Environment()
        slots = " ".join(f"(slot {figure} (type FLOAT))" for figure in FIGURES)
        self.environment.build(f"(deftemplate figures {slots})")
        self.template = self.environment.find_template("figures")
        name = unfolded(Prefix(), lambda figure: f"?{figure}")
        for rule in DEMANDS:
            self.environment.build(f"(defglobal ?*{rule}* = 3)")
            told = verdict(rule, Prefix(), name)
            matched = " ".join(f"({figure} ?{figure})" for figure in _read(told))
            self.environment.build(
                f"(defrule {rule} (figures {matched}) => (bind ?*{rule}* {told}))"
            )
        answers = " ".join(f"?*{rule}*" for rule in DEMANDS)
        self.environment.build(f"(deffunction verdicts () (create$ {answers}))")
        self.ask = self.environment.find_function("verdicts")

    def verdicts(self, ends: Ends) -> tuple[int, ...]:
        fact = self.template.assert_fact(**ends)
        self.environment.run()
        found = tuple(self.ask())
        fact.retract()
        return found


def _read(text: str) -> Iterator[str]:
    """The figures that a text reads, each once."""
    return iter(dict.fromkeys(re.findall(r"\?(\w+)", text)))


ENGINES: tuple[type[Engine], ...] = (Clips, CelList, CelPrograms, ZenDecision, ZenExpression)
