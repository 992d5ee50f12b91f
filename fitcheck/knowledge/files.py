"""The shapes of the files under rules/: which keys each has. What they mean stands elsewhere."""

from __future__ import annotations

from pydantic import Field

from fitcheck.model import Shape
from fitcheck.source import Text

Facts = dict[Text, Text | list[Text]]


class AttributeFile(Shape):
    """An attribute in a class file."""

    title: Text
    about: Text | None = None
    quantity: Text | None = None
    plausible: Text | None = None
    claim: Text | None = None
    choice: Text | list[Text] | None = None
    some_of: Text | list[Text] | None = None
    flag: Text | None = None
    text: Text | None = None
    measure: Text | None = None
    each: Text | None = None
    absent: Text | None = None


class ClassFile(Shape):
    """classes/<class>.yaml."""

    title: Text
    about: Text
    each: Text
    optional: Text | None = None
    attributes: dict[Text, AttributeFile]


class MateFile(Shape):
    """An entry of mates/<place>.yaml."""

    title: Text
    between: list[Text]
    through: list[Text]
    free: Text | None = None


class ProcedureFile(Shape):
    """An entry of measuring/<place>.yaml."""

    title: Text
    tool: Text
    setup: Text
    steps: list[Text]
    resolution: Text
    minutes: Text
    careful: Text | None = None
    cautions: list[Text] = []
    source: Text


class DerivedFile(Shape):
    """An entry of derived/<place>.yaml."""

    title: Text
    is_: Text = Field(alias="is")
    quantity: Text
    plausible: Text | None = None
    about: Text | None = None
    source: Text


class AmountFile(Shape):
    """The amount of an operation."""

    quantity: Text
    step: Text
    range: Text
    means: Text


class OperationFile(Shape):
    """An entry of operations/<place>.yaml."""

    title: Text
    does: Text
    on: Text
    each: Text
    amount: AmountFile | None = None
    effects: dict[Text, Text] = {}
    undoes: list[Text] = []
    after: list[Text] = []
    hours: Text
    cautions: list[Text] = []
    source: Text


class SourceFile(Shape):
    """An entry of sources.yaml."""

    title: Text
    kind: Text
    note: Text | None = None


class CautionFile(Shape):
    """An entry of cautions.yaml."""

    title: Text
    text: Text
    source: Text


class LimitFile(Shape):
    """A named limit of a rule: one value, or one for each option of a choice."""

    value: Text | None = None
    by: Text | None = None
    values: dict[Text, Text] | None = None
    quantity: Text | None = None
    source: Text
    why: Text | None = None


class FixFile(Shape):
    """A fix: an operation, or another part."""

    do: Text | None = None
    amount: Text | None = None
    replace: Text | None = None
    look_for: Text | None = None
    note: Text | None = None


class ExamplesFile(Shape):
    """The examples of a rule, by the verdict they must give."""

    given: Facts = {}
    fits: list[Facts] = []
    conflict: list[Facts] = []
    straddles: list[Facts] = []
    unmeasured: list[Facts] = []
    not_applicable: list[Facts] = []


class RuleFile(Shape):
    """fits/<family>/<rule>.yaml."""

    title: Text
    subject: Text
    severity: Text
    applies: Text | None = None
    requires: Text
    limits: dict[Text, LimitFile] = {}
    message: Text
    why: Text
    fixes: list[FixFile]
    cautions: list[Text] = []
    covers: list[Text] = []
    source: Text | None = None
    examples: ExamplesFile
