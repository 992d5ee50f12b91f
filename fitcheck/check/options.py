"""Options as a seller's page has them, where one text says several things of a part.

hydraulic roller        of a camshaft: ground for hydraulic lifters, with lobes for rollers
7/16 screw-in stud      of a rocker: the size of what it sits on, and how it is mounted
single w/ damper        of springs: how many, and what is there beside them
FKM positive            of a seal: what it is of and how it sits, beneath either of the two
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from fitcheck.check.one_figure import fits
from fitcheck.check.printed_one import Pieces, PrintedFigure
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.words import MOST_CHARACTERS, Tokens, one_of
from fitcheck.model import Attribute
from fitcheck.quantity import tidied

_SIZED = re.compile(r"(\d+/\d+|\.\d+|\d+\.?\d*)\s*(in|mm|\")?[\s-]+(.+)")
_WITH = re.compile(r"\s+w(?:/\s*|ith\s+)")


def beside(attribute: Attribute, text: str, knowledge: Knowledge) -> Pieces:
    """An option of a choice, and what is told to be there beside it; nothing where it says less."""
    if len(text) > MOST_CHARACTERS or attribute.several or not attribute.options:
        return ()
    words, parts = knowledge.words, _WITH.split(text)
    if len(parts) < 2:
        found = words.option(attribute, text)
        if found.name or found.may:
            return ()
        return _sized(attribute, text, knowledge) or _of_several(attribute, text, knowledge)
    option = words.option(attribute, parts[0]).name
    names = [words.attribute(attribute.slot, one).name for one in parts[1:]]
    flags = [knowledge.attributes[name] for name in names if name]
    if not option or len(flags) < len(names) or not all(one.flag for one in flags):
        return ()
    return (PrintedFigure(attribute, option), *(PrintedFigure(one, "yes") for one in flags))


def _sized(attribute: Attribute, text: str, knowledge: Knowledge) -> Pieces:
    """A choice with a size of the part before it, as in `7/16 stud`."""
    forms = knowledge.word_lists.forms.get(attribute.slot)
    sizes = forms.by.get(attribute.short_name, ()) if forms is not None else ()
    match = _SIZED.fullmatch(tidied(text)) if sizes else None
    option = knowledge.words.option(attribute, match[3]).name if match is not None else ""
    if match is None or not option:
        return ()
    size = f"{match[1]} {match[2] or 'in'}"
    of = [knowledge.attributes[f"{attribute.slot}.{name}"] for name in sizes]
    found = [PrintedFigure(one, size) for one in of if fits(one, size)]
    return (*found, PrintedFigure(attribute, option)) if len(found) == 1 else ()


def _of_several(attribute: Attribute, text: str, knowledge: Knowledge) -> Pieces:
    """A choice said with others of its part in one breath, as in `fluorocarbon positive`."""
    found = chosen(knowledge.classes[attribute.slot].attributes, text, knowledge)
    return found if len(found) > 1 and any(one.attribute is attribute for one in found) else ()


def chosen(names: Iterable[str], text: str, knowledge: Knowledge) -> Pieces:
    """The options that a text says of some choices of a part, each said of one alone.

    Every word of the text has to be part of an option; nothing where one is not, or may be an
    option of two.
    """
    choices = [knowledge.attributes[name] for name in names]
    left = [one for one in choices if one.options and not (one.flag or one.several)]
    if len(text) > MOST_CHARACTERS:
        return ()
    return _chosen(left, knowledge.words.spelling.tokens(tidied(text)), knowledge)


def _chosen(choices: list[Attribute], words: Tokens, knowledge: Knowledge) -> Pieces:
    for length in range(len(words), 0, -1):
        found = [
            (one, word.name)
            for one in choices
            if (word := one_of(knowledge.words.options(one).exact(words[:length]))).name
        ]
        if len(found) > 1:
            return ()
        if found:
            attribute, option = found[0]
            rest = [one for one in choices if one is not attribute]
            behind = _chosen(rest, words[length:], knowledge)
            if behind or not words[length:]:
                return (PrintedFigure(attribute, option), *behind)
    return ()
