"""Options as a seller's page has them, where one text says several things of a part.

hydraulic roller        of a camshaft: ground for hydraulic lifters, with lobes for rollers
single w/ damper        of springs: how many, and what is there beside them
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from fitcheck.check.printed import Pieces, PrintedFigure
from fitcheck.knowledge import Knowledge
from fitcheck.knowledge.words import MOST_CHARACTERS, Tokens, one_of
from fitcheck.model import Attribute
from fitcheck.quantity import tidied

_WITH = re.compile(r"\s+w(?:/\s*|ith\s+)")


def beside(attribute: Attribute, text: str, knowledge: Knowledge) -> Pieces:
    """An option of a choice, and what is told to be there beside it; nothing where it says less."""
    parts = _WITH.split(text) if len(text) <= MOST_CHARACTERS else []
    if len(parts) < 2 or attribute.several or not attribute.options:
        return ()
    words = knowledge.words
    option = words.option(attribute, parts[0]).name
    names = [words.attribute(attribute.slot, one).name for one in parts[1:]]
    flags = [knowledge.attributes[name] for name in names if name]
    if not option or len(flags) < len(names) or not all(one.flag for one in flags):
        return ()
    return (PrintedFigure(attribute, option), *(PrintedFigure(one, "yes") for one in flags))


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
