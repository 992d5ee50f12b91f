"""What to write instead of a word that is not understood, by meaning before letters.

A suggestion that could put a right figure in a wrong place is worse than none: a word that somebody
uses is never taken for a misspelling of another, and where several things could be meant all of
them are told, with what they are and their units.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from difflib import get_close_matches
from functools import cached_property

from fitcheck.knowledge.words import (
    MOST_CHARACTERS,
    Scope,
    Tokens,
    Word,
    Words,
    one_of,
)
from fitcheck.model import SIDES, Attribute
from fitcheck.quantity import QuantityError, read_quantity

MOST_OFFERED = 5
# Words that say nothing of which figure is meant: what is plausible is asked.
BARE = (("size",), ("dimension",), *((side,) for side in SIDES))
# Words that say what kind of figure is meant, of many things each.
OF_A_KIND = frozenset(
    [
        "angle",
        "area",
        "clearance",
        "depth",
        "diameter",
        "gap",
        "height",
        "length",
        "lift",
        "load",
        "mass",
        "number",
        "size",
        "thickness",
        "volume",
        "width",
    ]
)
MOST_ELSEWHERE = 2  # a word of more parts than that says nothing of any of them
LIKE = 0.75  # of the letters, for a misspelling of a word that stands in its place
ALMOST = 0.85  # of the letters, for a misspelling of any word at all
UNKNOWN = 0.5  # of a word that names no part, beside one that does
LEAST_SHARED = 0.5  # of what a text says, for a name to be what it means
Told = tuple[str, str]
_Texts = tuple[dict[str, set[str]], dict[str, set[str]], Counter[str]]
_FIGURE = re.compile(r"[+-]?(\d+[ -])?[\d.]+(/\d+)?\s*[^\d\s/@x(]*")
_AND = re.compile(r"\s*(?:[&+/,]|\band\b)\s*")


class Hints:
    """Tells what is wrong with a word, and what to write."""

    def __init__(self, words: Words) -> None:
        self.words = words
        self._kept: dict[int, _Texts] = {}
        self._alike: dict[str, str] = {}
        self._misspelt: dict[int, dict[str, list[str]]] = {}
        self.attributes: dict[str, Attribute] = {
            name: attribute
            for found in words.classes.values()
            for name, attribute in found.attributes.items()
        }

    # What is told: what is wrong, what to write.

    def part(self, text: str) -> Told:
        """A word that names no part class for certain."""
        found = self.words.part(text)
        if found.may:
            names = ", ".join(self._part(slot) for slot in found.may)
            return f"'{text}' could be one of several parts", f"write one of: {names}"
        what = f"there is no part class '{cut(text)}'"
        sided = self.words.part_on_a_side(text)
        if sided.name:
            return what, f"write '{sided.name}:', beneath it '{sided.side}:', and the rest there"
        scope = self.words.parts
        if spelt := self.respelt(scope, text):
            return what, f"did you mean '{spelt}'?"
        said = self._said_of(scope.tokens(text))
        if said:
            return what, f"that is said of a part: {self._listed(said, '')}"
        tokens = scope.tokens(text)
        several = [one_of(scope.whole(scope.tokens(one))).name for one in _AND.split(text)]
        if len(several) > 1 and all(several):
            return what, f"write each for itself: {', '.join(f'{one}:' for one in several)}"
        # What kind of a part it is stands in front of what it is: roller rockers are rockers.
        kind_of = one_of(scope.whole(tokens[-1:])).name
        close = [kind_of] if kind_of else self.by_meaning(scope, text)
        if close:
            return what, f"perhaps {' or '.join(self._part(slot) for slot in close)}"
        return what, f"one of: {', '.join(self.words.classes)}"

    def attribute(self, slot: str, text: str, *, found: Word | None = None, said: str = "") -> Told:
        """A word that names no attribute of a class for certain; `said` stands behind it."""
        found = found or self.words.attribute(slot, text)
        title = with_article(self.words.classes[slot].title)
        what = f"{title} has no attribute '{cut(text)}'"
        own = [name for name in found.may if name.startswith(f"{slot}.")]
        if own and len(found.may) > 1:
            return (
                f"'{text}' of {title} could be one of {len(found.may)} things",
                f"write the one meant: {self._listed(found.may, slot)}",
            )
        if own:
            return what, f"if it is this, write {self._listed(own, slot)}"
        scope = self.words.attributes(slot)
        if found.may and scope.find(text).may:
            return what, f"that is said of another part: {self._listed(found.may, slot)}"
        if other := self._of_another(slot, scope.tokens(text)):
            return what, f"that is said of another part: {self._listed(other, slot)}"
        # 'forged: yes' says what stands among the options of a choice.
        options = self._by_option(slot, text if said.casefold() == "yes" else said)
        if options and self.words.part(text).name == slot:
            return what, f"perhaps {' or '.join(options)}"
        if scope.tokens(text) in BARE or self.words.part(text).name == slot:
            fitting = self._fitting(slot, said)
            return what, f"write the one meant: {self._listed(fitting, slot)}" if fitting else (
                f"write what of it; 'fitcheck parts {slot}' lists what it has"
            )
        if 0 < len(found.may) <= MOST_ELSEWHERE:
            where = self._listed(found.may, slot)
            return what, f"leave it out, unless it is said of another part: {where}"
        if spelt := self.respelt(scope, text):
            return what, f"did you mean '{spelt.rpartition('.')[2]}'?"
        if options:
            return what, f"perhaps {' or '.join(options)}"
        part = self.words.part(text)
        if part.name and part.name != slot:
            return what, f"that is a part of its own: write '{part.name}:' beneath parts:"
        close = [name for name in self.by_meaning(scope, text) if self._holds(name, said)]
        if close:
            return what, f"perhaps {self._listed(close, slot, ' or ')}"
        names = [name.rpartition(".")[2] for name in scope.titles]
        if len(names) <= 2 * MOST_OFFERED:
            return what, f"one of: {', '.join(names)}"
        return what, f"'fitcheck parts {slot}' lists the {len(names)} that it has"

    def _holds(self, name: str, said: str) -> bool:
        """Whether a plain figure can be of an attribute; of other texts nothing is known."""
        attribute = self.attributes[name]
        if not _FIGURE.fullmatch(said[:MOST_CHARACTERS]):
            return True
        return attribute.kind is not None and _plausible(attribute, said)

    def _of_another(self, slot: str, words: Tokens) -> tuple[str, ...]:
        """What a figure may be that is told with the name of another part in front."""
        for count in (2, 1):
            part = one_of(self.words.parts.whole(words[:count])).name
            if part and part != slot and words[count:]:
                found = one_of(self.words.attributes(part).whole(words[count:]))
                if found.name or found.may:
                    return found.may or (found.name,)
        return ()

    def _by_option(self, slot: str, said: str) -> list[str]:
        """The choices of a part that have what was said among their options, with it."""
        words = self.words.spelling.tokens(said[:MOST_CHARACTERS])
        known = [one for one in self.words.classes[slot].attributes.values() if not one.flag]
        means = [
            (one, one_of(self.words.options(one).exact(words))) for one in known if one.options
        ]
        options = [(one, word.name or " or ".join(word.may)) for one, word in means]
        found = [f"'{own.name.partition('.')[2]}: {option}'" for own, option in options if option]
        return found if len(found) <= MOST_OFFERED else []

    def _fitting(self, slot: str, said: str) -> list[str]:
        """The figures of a part that what was said can be."""
        found = [
            name
            for name, one in self.words.classes[slot].attributes.items()
            if said and _plausible(one, said)
        ]
        return found if len(found) <= MOST_OFFERED else []

    def figure(self, text: str) -> Told:
        """A text such as `spring.seat pressure` that names no attribute for certain."""
        part, dot, own = (piece.strip() for piece in text.partition("."))
        slot = self.words.part(part)
        if dot and slot.name:
            return self.attribute(slot.name, own)
        if dot:
            return self.part(part)
        what = f"'{cut(text)}' names no figure"
        said = self._said_of(self.words.spelling.tokens(text[:MOST_CHARACTERS]))
        if said:
            return what, f"write it with its part: {self._listed(said, '')}"
        return what, "write part and attribute with a point between, as in cam.lobe_lift"

    def option(self, attribute: Attribute, text: str) -> Told:
        """A word that names no option of an attribute for certain."""
        found = self.words.option(attribute, text)
        worded = dict(zip(attribute.options, attribute.option_words, strict=True))
        if found.may:
            names = ", ".join(_option(one, worded) for one in found.may)
            return (
                f"'{text}' could be one of several options of {attribute.title}",
                f"write one of: {names}"
                + (
                    ""
                    if attribute.several
                    else f"; where nobody knows which, '{' or '.join(found.may)}'"
                ),
            )
        what = f"'{cut(text)}' is no option of {attribute.title}"
        scope = self.words.options(attribute)
        if spelt := self.respelt(scope, text):
            return what, f"did you mean '{spelt}'?"
        if text[:1].isdigit() or text[:1] == ".":
            alike = self.figures_like(attribute, text)
            if alike:
                return what, f"for a figure write {self._listed(alike, attribute.slot, ' or ')}"
        close = self.by_meaning(scope, text)
        if close:
            return what, f"perhaps {' or '.join(_option(one, worded) for one in close)}"
        return what, f"one of: {', '.join(_option(one, worded) for one in attribute.options)}"

    # How names are listed.

    def _part(self, slot: str) -> str:
        title = self.words.classes[slot].title
        return slot if title == slot else f"{slot} ({title})"

    def _listed(self, names: Iterable[str], slot: str, between: str = ", ") -> str:
        """Names with their titles and units; of another slot with the slot in front."""
        listed = []
        for name in names:
            attribute = self.attributes[name]
            short = name.partition(".")[2] if attribute.slot == slot else name
            listed.append(f"{short} ({attribute.title}{_unit(attribute)})")
        return between.join(listed)

    # What could be meant.

    @cached_property
    def _vocabulary(self) -> dict[str, None]:
        """All words that stand anywhere, sorted: none of them is a misspelling."""
        scopes = [self.words.parts, *map(self.words.attributes, self.words.classes)]
        return dict.fromkeys(sorted({word for scope in scopes for word in scope.vocabulary}))

    def respelt(self, scope: Scope, text: str) -> str:
        """The one name that a text with misspelt words means."""
        tokens = scope.tokens(text)
        own = scope.vocabulary
        if not tokens:
            return ""
        changed = []
        for token in tokens:
            known = token in own or (scope.titles and token in self._vocabulary)
            close = [] if known or token.isdigit() else self._close(token, scope)
            if not known and not close:
                return ""
            changed.append(close[0] if close else token)
        if tuple(changed) == tokens:
            return ""
        return scope.find_tokens(tuple(changed)).name

    def _close(self, token: str, scope: Scope) -> list[str]:
        """The word of a scope that another is misspelt from; looked for once."""
        kept = self._misspelt.setdefault(id(scope), {})
        if token not in kept:
            kept[token] = get_close_matches(token, scope.vocabulary, n=1, cutoff=LIKE)
        return kept[token]

    def by_meaning(self, scope: Scope, text: str) -> list[str]:
        """The names whose titles, words or descriptions share most with the text."""
        tokens = [self._likely(token) for token in scope.tokens(text)]
        titled, told, count = self._texts(scope)
        # A word that says nothing of any part (what a gasket is made of) counts less.
        unknown = UNKNOWN if scope is self.words.parts else 1
        weight = {token: 1 / count[token] if count[token] else unknown for token in tokens}
        # What is known here and says more than the kind of figure has to be met: a port's volume is
        # no chamber's.
        telling = {token for token in tokens if count[token]} - OF_A_KIND or set(tokens)
        titles = [name for name, found in titled.items() if not found.isdisjoint(telling)]
        points = {
            name: sum(
                weight[token] if token in titled[name] else weight[token] / 2
                for token in tokens
                if token in titled[name] or token in told.get(name, ())
            )
            for name in titles
        }
        best = max((points[name] for name in titles), default=0)
        if best < LEAST_SHARED * sum(weight.values()) or not best:
            return []
        close = [name for name in titles if points[name] >= best / 2]
        close.sort(key=lambda name: (-points[name], len(name)))
        return close if len(close) <= MOST_OFFERED else []

    def _texts(self, scope: Scope) -> _Texts:
        """The words of each name's titles, and of its description; how often each is in titles."""
        scope_id = id(scope)
        if scope_id not in self._kept:
            titled: dict[str, set[str]] = {name: set() for name in scope.titles}
            for tier in scope.said:
                for key, means in tier.items():
                    for word in means:
                        for name in (word.name, *word.may):
                            if name in titled:
                                titled[name].update(key)
            told = {
                name: set(self.words.spelling.tokens(self.attributes[name].about))
                for name in titled
                if name in self.attributes
            }
            count = Counter(word for found in titled.values() for word in found)
            self._kept[scope_id] = titled, told, count
        return self._kept[scope_id]

    def _likely(self, token: str) -> str:
        """A word, or the known one that it is plainly misspelt from."""
        if token in self._vocabulary or not token.isalpha():
            return token
        if token not in self._alike:
            close = get_close_matches(token, self._vocabulary, n=1, cutoff=ALMOST)
            self._alike[token] = close[0] if close else token
        return self._alike[token]

    def _said_of(self, words: Tokens) -> list[str]:
        """The attributes, of any part, that the words say."""
        found = {
            name
            for slot in self.words.classes
            for word in self.words.attributes(slot).exact(words)
            for name in (word.may or (word.name,))
        }
        return sorted(found)[:MOST_OFFERED] if len(found) <= MOST_OFFERED else []

    def figures_like(self, attribute: Attribute, text: str) -> list[str]:
        """What a figure may be of that stands where a choice is made: the title holds the
        choice's, and the figure is plausible for it."""
        tokens = self.words.spelling.tokens
        wanted = set(tokens(attribute.title))
        return [
            name
            for name, other in self.words.classes[attribute.slot].attributes.items()
            if wanted <= set(tokens(other.title)) and _plausible(other, text)
        ][:MOST_OFFERED]


def with_article(title: str) -> str:
    """The title of a part with a or an, unless there are several of it."""
    if title.endswith("s") and not title.endswith("ss"):
        return title
    return f"{'an' if title[0] in 'aeiou' else 'a'} {title}"


def _plausible(attribute: Attribute, text: str) -> bool:
    """Whether a figure, with its unit or without, is plausible for an attribute."""
    if attribute.kind is None or attribute.plausible is None:
        return False
    # Fractions, and figures that start with their point, are of an inch.
    inch_only = "/" in text or text.startswith(".")
    metric = () if inch_only else (attribute.kind.metric[0],)
    for unit in ("", attribute.kind.inch[0], *metric):
        try:
            found = read_quantity(f"{text} {unit}".strip(), attribute.kind).interval.middle
        except QuantityError:
            continue
        if attribute.plausible.lower <= found <= attribute.plausible.upper:
            return True
    return False


def _option(option: str, worded: dict[str, str]) -> str:
    words = worded[option]
    return option if words == option.replace("_", " ") else f"{option} ({words})"


def _unit(attribute: Attribute) -> str:
    if attribute.kind is None:
        few = attribute.options[:MOST_OFFERED]
        if attribute.flag or not few:
            return ", yes or no" if few else ""
        return f": {', '.join(few)}{', …' if len(few) < len(attribute.options) else ''}"
    units = dict.fromkeys((attribute.kind.inch[0], attribute.kind.metric[0]))
    named = " or ".join(unit for unit in units if unit)
    return f", {named}" if named else ""


def cut(text: str) -> str:
    """A text that was typed, never longer than a name can be."""
    return text if len(text) <= MOST_CHARACTERS else f"{text[: MOST_CHARACTERS - 1]}…"
