"""What a person asks of the whole: each rule helps to answer exactly one question."""

from __future__ import annotations

from collections.abc import Mapping

from fitcheck.knowledge.files import QuestionFile
from fitcheck.knowledge.parts import JobQuestion, Rule
from fitcheck.knowledge.reading import Reader
from fitcheck.source import Text


def build_questions(
    files: Mapping[Text, QuestionFile],
    rules: Mapping[str, Rule],
    families: set[str],
    derived: Mapping[str, object],
    reader: Reader,
) -> dict[str, JobQuestion]:
    """The questions, checked: what each names is there, nothing stands twice, no rule is left.

    `families` are those that have a folder, whether or not their rules could be read.
    """
    named: dict[str, Text] = {}
    for file in files.values():
        for what, known, names in (
            ("family of rules", families, file.families),
            ("rule", rules, file.rules),
            ("derived quantity", derived, file.tells),
        ):
            for name in names:
                reader.one_of(name, known, what)
                if name in named:
                    reader.problem(
                        name, f"'{name}' stands already at {named[name].place}", "keep one of them"
                    )
                named.setdefault(str(name), name)
    for rule in rules.values():
        if not {rule.id, rule.family} & {*named, *reader.broken}:
            reader.problem(
                rule.file.title,
                f"the rule '{rule.id}' answers no question",
                f"name it, or its family '{rule.family}', in questions.yaml",
            )
    return {
        str(key): JobQuestion(str(key), file, reader.yes(file.advice_counts))
        for key, file in files.items()
    }
