"""Figures as a seller's page, a cam card or a shop's note has them, taken apart into plain ones.

A plain figure (see `fitcheck.quantity.text`) is read as it stands. What is not one is taken apart
where it can be read in one way only; which attributes stand together in one figure is said by
`forms:` in the words of their part (rules/words/):

    1-51/64                 a fraction is of an inch
    45,4 mm   0,550 in      a comma, where one reading alone is plausible
    7,2/7,0 mm              commas between the figures of one text, where none parts thousands
    .0015-.0020   10 to 12  a range
    2.02/1.60               intake and exhaust
    125 lbs @ 1.800         a load and the height it is stated at
    224/230 @ .050          a duration, and the lift it is counted at
    5/16 x .080             a diameter and what stands beside it
    .012 hot                a lash and its state
    5 BTDC   12 ATDC        an angle to one side of a dead centre, or to the other
    30 Nm + 90° + 90°     a torque, and the angle to turn on
    110+4                   lobe separation, ground so many degrees ahead
    3/8-24   M10 x 1.5      a thread, and its pitch
    .039 compressed         a word that the name says already
    0.550 in (13.97 mm)     a remark; a figure in it has to agree
    8.00 H7                 a size with a standard tolerance
    8 mm                    the name of a size, where what bears it measures less

A unit that is left out is the one in which the figure is plausible; where two are, nothing is read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from fitcheck.check.one_figure import (
    NUMBER,
    ONE,
    UNIT,
    fits,
    plain,
    same_length,
    units,
    with_points,
)
from fitcheck.check.printed_one import OnePrinted, Pieces, PrintedFigure
from fitcheck.knowledge.word_lists import Forms
from fitcheck.model import SIDES, Attribute
from fitcheck.quantity import EXACT, QuantityError, read_quantity, tidied
from fitcheck.quantity.units import find_unit

MOST_PRINTED = 200  # characters
ANY = "any"
_PAIR = re.compile(rf"({NUMBER})\s*({UNIT})?\s*/\s*({NUMBER})\s*({UNIT})?")
_AT = re.compile(r"\s*(?:@|\bat\b)\s*")
_BY = re.compile(r"\s*(?:[x×]|\bby\b)\s*")
_IN_A_ROW = re.compile(r"\s*[-/,x]\s*")
_AHEAD = re.compile(r"(\d+(?:\.\d+)?)\s*(?:deg|°)?\s*([+-])\s*(\d+(?:\.\d+)?)\s*(?:deg|°)?")
_PLUS = re.compile(r"\s*(?:\+|\bplus\b|\bthen\b|,)\s*")
_OF_DEGREES = ("deg", "°", "degrees", "degree")
_DEGREES = re.compile(r"^\s*(?:°|deg(?:rees?)?\b)?")
_REMARK = re.compile(r"([^()]*[^()\s])\s*\(([^()]*)\)\s*")
_INCH_THREAD = re.compile(r"((?:\d+[ -])?\d+/\d+)\s*-\s*(\d{1,2})\s*(?:unc|unf|unef|nc|nf)?", re.I)
_METRIC_THREAD = re.compile(r"M(\d{1,2})(?:\s*x\s*(\d(?:\.\d+)?))?", re.I)


class Printing(OnePrinted):
    """Takes figures apart; nothing where a text is no figure, or can be read in two ways.

    `bare` figures are read where it is told what was understood, as of a build file.
    """

    def pieces(self, attribute: Attribute, text: str, *, sided: bool, claimed: bool) -> Pieces:
        """The plain figures that a text says under an attribute.

        `sided` tells that it is said for one side already; `claimed`, that the size may be a name.
        """
        text = tidied(text)
        if len(text) > MOST_PRINTED:  # no page prints that, and the patterns would try without end
            return ()
        ways = (
            self._name,
            self._state,
            self._ahead,
            self._beside,
            self._then,
            self._thread,
            self._by,
            self._row,
            self._at,
            self._pair,
        )
        readings = [
            found for read in ways if (found := read(attribute, text, sided, claimed))
        ] or self._whole(attribute, text)
        if not readings and (rest := self._less_words(attribute, text)):
            return self.pieces(attribute, rest, sided=sided, claimed=claimed)
        if not readings and (points := with_points(text)):
            return self.pieces(attribute, points, sided=sided, claimed=claimed)
        return readings[0] if len(readings) == 1 else ()

    def _less_words(self, attribute: Attribute, text: str) -> str:
        """The figure without a remark in brackets that agrees with it, and without words behind it
        that are the attribute's own; nothing where there are none."""
        if remark := _REMARK.fullmatch(text):
            figure, said = (self._whole(attribute, one) for one in remark.groups())
            if not (len(figure) == len(said) == 1):
                return remark[1]
            one, other = (plain(attribute, found[0][0].text) for found in (figure, said))
            assert one is not None and other is not None
            return remark[1] if one.lower <= other.upper and other.lower <= one.upper else ""
        spelt = self.knowledge.words.spelling.tokens
        known = {*spelt(attribute.title), *spelt(attribute.short_name)}
        typed = text.split()
        while typed[1:] and (behind := spelt(typed[-1])) and known.issuperset(behind):
            typed.pop()
        rest = " ".join(typed)
        return rest if rest != text else ""

    def named_at(self, slot: str, word: str, text: str) -> str:
        """The attribute that a word means by the lift or height that stands behind the figure."""
        forms = self.knowledge.word_lists.forms.get(slot, Forms())
        spelt = self.knowledge.words.spelling.tokens
        said = next((one for one in forms.at if spelt(one) == spelt(word)), "")
        parts = _AT.split(tidied(text))
        if not said or len(parts) != 2:
            return ""
        names = self._found_at(slot, forms.at[said], parts[1])
        return f"{slot}.{names[0]}" if names else ""

    def stated_at(self, attribute: Attribute, text: str) -> tuple[str, str] | None:
        """What is wrong where a figure and what it is stated at can't be read, and a way out."""
        parts = [ONE.match(part) for part in _AT.split(tidied(text))]
        if len(parts) != 2 or not all(parts):
            return None
        assert parts[0] and parts[1]
        what = f"{attribute.title}: '{text}' is a figure and what it is stated at"
        names = self.forms(attribute).at.get(attribute.short_name, {}).get(ANY)
        if names is None or not names[1:]:
            return what, "write the figure alone here"
        figures = [
            f"{part[1]} {part[2] or unit}"
            for part, name in zip(parts, names, strict=False)
            if part and (kind := self._of(attribute, name).kind) and (unit := kind.inch[0])
        ]
        return f"{what}, and one of the two is not plausible so", (
            f"write both with their units, as in {' @ '.join(figures)}, or each alone: "
            f"{names[0]} and {names[1]}"
        )

    def is_name(self, attribute: Attribute, text: str) -> bool:
        """Whether a size is only a name of what measures otherwise."""
        return bool(self._name(attribute, tidied(text), False, True))

    def _name(self, attribute: Attribute, text: str, sided: bool, claimed: bool) -> Pieces:
        """8 mm: the name of a size, where what bears it measures less."""
        assert attribute.kind is not None
        if not claimed or "." in text:
            return ()
        for name, real in self.forms(attribute).names.get(attribute.short_name, {}).items():
            try:
                size = read_quantity(text, attribute.kind, EXACT).interval
            except QuantityError:
                return ()
            if size == read_quantity(name, attribute.kind, EXACT).interval:
                return (PrintedFigure(attribute, real),)
        return ()

    # Several figures in one.

    def _pair(self, attribute: Attribute, text: str, sided: bool, claimed: bool) -> Pieces:
        """2.02/1.60: intake and exhaust, unless it can be a fraction."""
        match = _PAIR.fullmatch(text)
        if match is None or sided or attribute.each != "valve":
            return ()
        first, unit, second, other = match.groups()
        if fits(attribute, text) or any(
            fits(attribute, f"{first}/{second} {one}".strip())
            for one in units(attribute, other, first, second)
            if not unit
        ):
            return ()
        found = [
            (f"{first} {one}".strip(), f"{second} {one}".strip())
            for one in units(attribute, other or unit, first, second)
            if not (unit and other and unit != other)
        ]
        both = [two for two in found if all(fits(attribute, figure) for figure in two)]
        if len(both) != 1:
            return ()
        return tuple(
            PrintedFigure(attribute, figure, side)
            for figure, side in zip(both[0], SIDES, strict=True)
        )

    def _at(self, attribute: Attribute, text: str, sided: bool, claimed: bool) -> Pieces:
        """125 lbs @ 1.800: a figure and what it is stated at."""
        parts = _AT.split(text)
        known = self.forms(attribute).at.get(attribute.short_name, {})
        if len(parts) != 2 or not known:
            return ()
        names = self._found_at(attribute.slot, known, parts[1])
        if not names:
            return ()
        of = self._of(attribute, names[0])
        if names[1:]:
            length = self._of(attribute, names[1])
            if together := self._of_one_system(of, parts[0], length, parts[1]):
                return together
            behind = self._one(length, parts[1])
        figures = (
            self._one(of, parts[0])
            or self._beside(of, parts[0], sided, claimed)
            or self._pair(of, parts[0], sided, claimed)
        )
        if names[1:]:
            return (*figures, *behind) if figures and behind else ()
        return figures

    def _of_one_system(self, one: Attribute, text: str, other: Attribute, beside: str) -> Pieces:
        """Two figures of one page, of which the unit of the one tells that of the other: 130 @ 1.75
        is in inches, as no such height is 1.75 mm, so the load is in pounds."""
        both = [
            (first, second)
            for first, system in self._by_system(one, text)
            for second, with_system in self._by_system(other, beside)
            if system == with_system
        ]
        return both[0] if len(both) == 1 else ()

    def _by_system(self, attribute: Attribute, text: str) -> Iterator[tuple[PrintedFigure, str]]:
        """What one figure can be, in the unit of inch drawings or in that of metric ones."""
        match = ONE.fullmatch(text.strip())
        assert attribute.kind is not None
        units = {"inch": attribute.kind.inch[0], "metric": attribute.kind.metric[0]}
        for system, unit in units.items() if match else ():
            assert match is not None
            meant = find_unit(match[2] or unit, attribute.kind)
            figure = f"{match[1]} {match[2] or unit}"
            if meant == find_unit(unit, attribute.kind) and fits(attribute, figure):
                yield PrintedFigure(attribute, figure), system

    def _found_at(self, slot: str, known: dict[str, tuple[str, ...]], text: str) -> tuple[str, ...]:
        """The attributes for a lift or height: those of just this one, else those of any."""
        length = self.knowledge.attributes[f"{slot}.{known[ANY][-1]}"] if ANY in known else None
        for stated, names in known.items():
            if stated != ANY and same_length(text, stated):
                return names
        return known[ANY] if length is not None and self._one(length, text) else ()

    def _by(self, attribute: Attribute, text: str, sided: bool, claimed: bool) -> Pieces:
        """5/16 x .080: a figure, and others that each fit one attribute beside it."""
        parts = _BY.split(text)
        beside = self.forms(attribute).by.get(attribute.short_name, ())
        if len(parts) < 2 or not beside:
            return ()
        found = [self._one(attribute, parts[0])]
        for part in parts[1:]:
            fitting = [
                one for name in beside if (one := self._one(self._of(attribute, name), part))
            ]
            found.append(fitting[0] if len(fitting) == 1 else ())
        taken = {one[0].attribute.name for one in found if one}
        return tuple(one[0] for one in found) if len(taken) == len(parts) else ()

    def _row(self, attribute: Attribute, text: str, sided: bool, claimed: bool) -> Pieces:
        """30-45-60: figures that stand in a row, each of its own attribute."""
        names = self.forms(attribute).row.get(attribute.short_name, ())
        figures = _IN_A_ROW.split(text.strip())
        if len(figures) < 3 or len(figures) != len(names):
            return ()
        found = [
            self._one(self._of(attribute, name), figure)
            for name, figure in zip(names, figures, strict=True)
        ]
        return tuple(one for pieces in found for one in pieces) if all(found) else ()

    def _thread(self, attribute: Attribute, text: str, sided: bool, claimed: bool) -> Pieces:
        """3/8-24, M10 x 1.5: the diameter of a thread, and its pitch where the part has one."""
        forms = self.forms(attribute).thread
        inch, metric = _INCH_THREAD.fullmatch(text), _METRIC_THREAD.fullmatch(text)
        if attribute.short_name not in forms or not (inch or metric):
            return ()
        if inch:
            size, pitch = f"{inch[1]} in", f"1/{inch[2]} in"
        else:
            assert metric is not None
            size, pitch = f"{metric[1]} mm", f"{metric[2]} mm" if metric[2] else ""
        beside = forms[attribute.short_name]
        found = self._one(attribute, size)
        if not found or not (beside and pitch):
            return found
        return (
            (*found, *behind) if (behind := self._one(self._of(attribute, beside), pitch)) else ()
        )

    def _state(self, attribute: Attribute, text: str, sided: bool, claimed: bool) -> Pieces:
        """.012 hot: a figure and the state it is meant for."""
        state = self.forms(attribute).state.get(attribute.short_name)
        if state is None:
            return ()
        of = self._of(attribute, state)
        words = text.split()
        for word, rest in ((words[-1], words[:-1]), (words[0], words[1:])):
            option = self.knowledge.words.option(of, word).name
            figure = " ".join(rest)
            if option and rest:
                pieces = self._one(attribute, figure) or self._pair(
                    attribute, figure, sided, claimed
                )
                return (*pieces, PrintedFigure(of, option)) if pieces else ()
        return ()

    def _ahead(self, attribute: Attribute, text: str, sided: bool, claimed: bool) -> Pieces:
        """110+4: lobe separation, and a centreline that is so many degrees ahead of it."""
        other = self.forms(attribute).ahead.get(attribute.short_name)
        match = _AHEAD.fullmatch(text)
        if other is None or match is None:
            return ()
        middle, sign, ahead = match.groups()
        centre = Fraction(middle) - Fraction(ahead) * (1 if sign == "+" else -1)
        of = self._of(attribute, other)
        found = self._one(attribute, f"{middle} deg"), self._one(of, f"{float(centre):g} deg")
        return (*found[0], *found[1]) if all(found) else ()

    def _beside(self, attribute: Attribute, text: str, sided: bool, claimed: bool) -> Pieces:
        """5 BTDC: an angle before a dead centre; where the other side is meant its sign turns."""
        match = ONE.match(text)
        spelt = self.knowledge.words.spelling.tokens
        for turned, words in enumerate(self.forms(attribute).beside.get(attribute.short_name, ())):
            if match and spelt(_DEGREES.sub("", text[match.end(1) :])) == spelt(words):
                sign = "-" if turned else ""
                return self._one(attribute, f"{sign}{match[1].lstrip('+')}".replace("--", ""))
        return ()

    def _then(self, attribute: Attribute, text: str, sided: bool, claimed: bool) -> Pieces:
        """30 Nm + 90° + 90°: a torque, and by how much the fastener is turned on after it."""
        other = self.forms(attribute).then.get(attribute.short_name)
        first, *angles = _PLUS.split(text)
        if other is None or not angles:
            return ()
        turned = [ONE.fullmatch(one.strip()) for one in angles]
        if not all(one and (one[2] or "deg") in _OF_DEGREES for one in turned):
            return ()
        whole = sum(Fraction(one[1]) for one in turned if one)
        found = (
            self._one(attribute, first),
            self._one(self._of(attribute, other), f"{float(whole):g} deg"),
        )
        return (*found[0], *found[1]) if all(found) else ()
