"""Rules that nobody writes: two ways to a figure that somebody told, and that do not meet.

Each pair of ways makes two of them, or more. On evidence of one kind one of the two is wrong, and
nothing can be built on either; where one is better known it holds, and that the other contradicts
it is worth knowing. Where the two are further apart than any seller's figure is off, a third one
says that as gravely as the first. Where the two meet, or one is not told, there is nothing to say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import combinations

from fitcheck.knowledge.files import ExamplesFile, LimitFile, RuleFile
from fitcheck.knowledge.parts import CONTRADICTIONS, Derived, Rule
from fitcheck.knowledge.rules import RuleBuilder
from fitcheck.language import Node
from fitcheck.language.tree import Apply
from fitcheck.model import PartClass
from fitcheck.source import Text

_KINDS = ("contradicts", "off_claim")
_ALIKE = (
    "One of the two is wrong, or belongs to another part. Nothing that rests on them can be "
    "trusted before it is settled which."
)
_FAR = (
    "So far no seller's figure is off: a figure is mistaken, or a part is not the one it is taken "
    "for. The better known figure is used until it is settled which."
)
_UNLIKE = (
    "The better known figure holds and the other is not used. It was perhaps measured on another "
    "part, or sold as what it is not."
)


def contradictions(derived: Mapping[str, Derived], builder: RuleBuilder) -> Iterator[Rule]:
    """The rules on figures that are known in two ways."""
    twofold = [one.id for one in derived.values() if one.file.ways]
    for one in derived.values():
        for name in one.file.contradicts.told_by if one.file.contradicts else ():
            builder.reader.one_of(name, twofold, "figure known in two ways")
        ways = list(_ways(one.node.inner))
        pairs = list(combinations(range(len(one.file.ways)), 2))
        far = one.file.contradicts is not None and one.file.contradicts.far is not None
        measured = one.file.contradicts is not None and one.file.contradicts.measured is not None
        kinds = [*_KINDS, *(["far_off"] if far else []), *(["misread"] if measured else [])]
        for number, (i, j) in enumerate(pairs, 1):
            tail = f"_{number}" if len(pairs) > 1 else ""
            for kind in kinds:
                key = f"{one.id}_{kind}{tail}"
                a, b = one.file.ways[i], one.file.ways[j]
                titles = [_title(way, derived, builder.classes) for way in (a, b)]
                file = _file(one, (a, b), titles, kind)
                place = one.file.title.place
                rule = builder.build(Text(key, place), CONTRADICTIONS, file)
                if rule is not None:
                    yield replace(rule, ways=(ways[i], ways[j]))


def _ways(node: Node) -> Iterator[Node]:
    if isinstance(node, Apply) and node.op == "agree":
        yield node.args[0]
        yield from _ways(node.args[1])
    else:
        yield node


def _file(derived: Derived, ways: tuple[Text, Text], titles: list[str], kind: str) -> RuleFile:
    """The rule on two ways, as a file would have it."""
    (a, b), (first, second) = ways, titles
    own = derived.file.contradicts
    assert own is not None
    at = derived.file.title.place

    def text(words: str) -> Text:
        return Text(words, at)

    alike = kind in ("contradicts", "misread")
    known = f"alike({a}, {b})" if alike else f"not alike({a}, {b})"
    if alike and own.measured is not None:
        known += f" and measured({a})" if kind == "misread" else f" and not measured({a})"
    when = f" and ({own.when})" if own.when else ""
    share = f" * max({a}, {b})" if own.allowance.endswith("%") else ""
    title = str(derived.file.title)
    allowed = {"far_off": own.far, "misread": own.measured}.get(kind, own.allowance)
    limits = {"allowance": allowed}
    if kind == "off_claim" and own.far is not None:
        limits["far"] = own.far
        when += f" and abs({a} - {b}) <= far"
    return RuleFile(
        title=text(
            {
                "contradicts": f"{first} and {second} do not meet",
                "misread": f"{first} and {second}, both measured, do not meet",
                "off_claim": f"{first} and {second} part, and one is better known",
                "far_off": f"{first} and {second} are far apart",
            }[kind]
        ),
        subject=text(f"{title} known in two ways"),
        severity=text("advice" if kind == "off_claim" else "serious"),
        applies=text(f"stated({a}) and stated({b}) and {known}{when}"),
        requires=text(f"abs({a} - {b}) <= allowance{share}"),
        limits={
            text(name): LimitFile(value=value, quantity=None, source=own.source, why=own.why)
            for name, value in limits.items()
        },
        message=text(
            f"{first[0].upper()}{first[1:]}: {{{a}}}. {second[0].upper()}{second[1:]}: {{{b}}}. "
            "They may part by {allowance}."
        ),
        why=text({"off_claim": _UNLIKE, "far_off": _FAR}.get(kind, _ALIKE)),
        fixes=[],
        cautions=own.cautions,
        told_by=[text(f"{name}_{said}") for name in own.told_by for said in _KINDS],
        examples=ExamplesFile(),
    )


def _title(name: Text, derived: Mapping[str, Derived], classes: Mapping[str, PartClass]) -> str:
    """A way in words."""
    slot, dot, _ = name.partition(".")
    if dot:
        return f"{classes[slot].title}, {classes[slot].attributes[name].title}"
    return str(derived[name].file.title)
