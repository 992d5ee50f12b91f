"""The shapes of the files under rules/: which keys each has. What they mean stands elsewhere."""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar

from fitcheck.model import shape
from fitcheck.source import Text

Facts = dict[Text, Text | list[Text]]


@shape
class AttributeFile:
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
    spread_of: Text | None = None
    identity: Text | None = None
    nominal: Text | None = None
    of_place: Text | None = None
    remembers: Text | None = None
    brings: list[Text] = field(default_factory=list)


@shape
class ClassFile:
    """classes/<class>.yaml."""

    title: Text
    about: Text
    each: Text
    optional: Text | None = None
    sits_with: Text | None = None
    needed: Text | None = None
    order_tells: list[Text] = field(default_factory=list)
    attributes: dict[Text, AttributeFile]


@shape
class MoreFile:
    """classes/<class>.yaml of a folder beside the rules: attributes added to a class there is."""

    attributes: dict[Text, AttributeFile]


@shape
class MateFile:
    """An entry of mates/<place>.yaml."""

    title: Text
    between: list[Text]
    through: list[Text]
    free: Text | None = None


@shape
class ProcedureFile:
    """An entry of measuring/<place>.yaml."""

    title: Text
    tool: Text
    setup: Text
    steps: list[Text]
    resolution: Text
    minutes: Text
    asked: Text | None = None
    careful: Text | None = None
    cautions: list[Text] = field(default_factory=list)
    source: Text


@shape
class ContradictsFile:
    """By how much two ways to a figure may part before one of them is wrong.

    Past `far` no seller's figure can be the reason, and it is as grave as between measurements.
    Two ways that were both measured may part by `measured`, where that is said. `told_by` names the
    contradictions that tell of the same mistaken figure.
    """

    allowance: Text
    measured: Text | None = None
    far: Text | None = None
    when: Text | None = None
    source: Text
    why: Text
    cautions: list[Text] = field(default_factory=list)
    told_by: list[Text] = field(default_factory=list)


@shape
class DerivedFile:
    """An entry of derived/<place>.yaml: an expression, with the ranges it names in `with`, or two
    or more ways to one figure."""

    title: Text
    spelt: ClassVar = {"is": "is_", "with": "with_"}
    is_: Text | None = None
    with_: dict[Text, Text] = field(default_factory=dict)
    ways: list[Text] = field(default_factory=list)
    contradicts: ContradictsFile | None = None
    quantity: Text
    plausible: Text | None = None
    about: Text | None = None
    source: Text


@shape
class UsualFile:
    """A branch of an entry of usual/<class>.yaml: what an attribute usually is, and when.

    Of a figure `range`, or `is` with the ranges it names in `with`; of a choice `one_of`, or `is`.
    It holds where `when` surely does, nobody stated what `unless_stated` names and somebody all
    that `if_stated` names; its figures are read at the valves that `at` names. A `helper` serves
    other usual figures only.
    """

    spelt: ClassVar = {"is": "is_", "with": "with_"}
    is_: Text | None = None
    with_: dict[Text, Text] = field(default_factory=dict)
    range: Text | None = None
    one_of: Text | list[Text] | None = None
    when: Text | None = None
    unless_stated: Text | list[Text] | None = None
    if_stated: Text | list[Text] | None = None
    at: Text | None = None
    helper: Text | None = None
    why: Text
    source: Text


@shape
class AmountFile:
    """The amount of an operation; it is held to half a step where no `tolerance` is told."""

    quantity: Text
    step: Text
    range: Text
    tolerance: Text | None = None
    means: Text


@shape
class GoesWithFile:
    """When an operation that mends nothing goes with a job: any of these is enough.

    Work on one of `parts`, one of `operations`, or a figure among `undone`; never where an
    attribute in `where` is surely none of its options. Done `everywhere` it is not only done where
    the work is: what is to be made alike is measured at all.
    """

    parts: list[Text] = field(default_factory=list)
    operations: list[Text] = field(default_factory=list)
    undone: list[Text] = field(default_factory=list)
    where: dict[Text, list[Text]] = field(default_factory=dict)
    everywhere: Text | None = None


@shape
class OperationFile:
    """An entry of operations/<place>.yaml; `sort` says what sort of work it is.

    `sizes` are what its effects read beside the amount: a length that it is always done to. `then`
    names the work that has to follow at the same places, for this one spoils what that makes.
    `stop` says of a test when the job ends there.
    """

    title: Text
    does: Text
    sort: list[Text]
    on: Text
    each: Text
    amount: AmountFile | None = None
    sizes: dict[Text, Text] = field(default_factory=dict)
    effects: dict[Text, Text] = field(default_factory=dict)
    undoes: list[Text] = field(default_factory=list)
    after: list[Text] = field(default_factory=list)
    then: list[Text] = field(default_factory=list)
    goes_with: GoesWithFile | None = None
    stop: Text | None = None
    hours: Text
    cautions: list[Text] = field(default_factory=list)
    source: Text


@shape
class SourceFile:
    """An entry of sources.yaml."""

    title: Text
    kind: Text
    note: Text | None = None


@shape
class CautionFile:
    """An entry of cautions.yaml; `uses` are uses of an engine that call for it alone.

    It is not told where an attribute in `where` is surely none of its options.
    """

    title: Text
    text: Text
    uses: list[Text] = field(default_factory=list)
    where: dict[Text, list[Text]] = field(default_factory=dict)
    source: Text


@shape
class LimitFile:
    """A named limit of a rule: one value, one for each option of a choice, or another rule's.

    `same_as` names a limit of another rule as `rule.limit`: one figure stands in one place.
    """

    same_as: Text | None = None
    value: Text | None = None
    by: Text | None = None
    values: dict[Text, Text] | None = None
    quantity: Text | None = None
    source: Text | None = None
    why: Text | None = None


@shape
class FixFile:
    """A fix: an operation, or another part."""

    do: Text | None = None
    amount: Text | None = None
    replace: Text | None = None
    look_for: Text | None = None
    note: Text | None = None
    when: Text | None = None


@shape
class ExamplesFile:
    """The examples of a rule, by the verdict they must give."""

    given: Facts = field(default_factory=dict)
    fits: list[Facts] = field(default_factory=list)
    conflict: list[Facts] = field(default_factory=list)
    straddles: list[Facts] = field(default_factory=list)
    unmeasured: list[Facts] = field(default_factory=list)
    not_applicable: list[Facts] = field(default_factory=list)


@shape
class QuestionFile:
    """An entry of questions.yaml: what a person asks of the whole, and the rules that answer it.

    A rule that only advises counts for the answer where `advice_counts`. `tells` names the figures
    that a person wants to hear with it.
    """

    title: Text
    short: Text
    advice_counts: Text | None = None
    families: list[Text] = field(default_factory=list)
    rules: list[Text] = field(default_factory=list)
    tells: list[Text] = field(default_factory=list)


@shape
class StartFile:
    """An entry of start.yaml: where somebody looks, and what stands there of each part."""

    title: Text
    figures: dict[Text, list[Text]]
    measured: dict[Text, list[Text]] = field(default_factory=dict)


@shape
class RuleFile:
    """fits/<family>/<rule>.yaml.

    `answered_by` is told of what no part's figure settles: `work` that is done or checked as the
    engine goes together, or one `look` at parts held against each other.
    Of a rule that holds a statement against what is usually bought by it, `never_usual` says that
    usual figures do not answer it. Where a rule named in `told_by` clashes at the same places, the
    fault is told by that one alone.
    """

    title: Text
    subject: Text
    severity: Text
    told_by: list[Text] = field(default_factory=list)
    answered_by: Text | None = None
    never_usual: Text | None = None
    applies: Text | None = None
    only_given: list[Text] = field(default_factory=list)
    unless_given: list[Text] = field(default_factory=list)
    requires: Text
    limits: dict[Text, LimitFile] = field(default_factory=dict)
    message: Text
    why: Text
    fixes: list[FixFile]
    cautions: list[Text] = field(default_factory=list)
    covers: list[Text] = field(default_factory=list)
    source: Text | None = None
    examples: ExamplesFile
