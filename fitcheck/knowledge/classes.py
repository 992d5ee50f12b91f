"""From class files to part classes and attributes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from collections.abc import Mapping as Named
from typing import Any

from fitcheck.knowledge.files import AttributeFile, ClassFile
from fitcheck.knowledge.reading import Reader
from fitcheck.model import LEVELS, Attribute, Each, PartClass
from fitcheck.quantity import EXACT, QuantityError, read_quantity
from fitcheck.source import Mapping, Problem, Text

Choices = dict[str, dict[str, str]]
YES_NO = ("no", "yes")


def read_choices(entries: Iterable[tuple[Text, Any]], reader: Reader) -> Choices:
    """The lists of options that attributes share."""
    choices: Choices = {}
    for key, options in entries:
        if isinstance(options, Mapping) and all(isinstance(w, Text) for w in options.values()):
            choices[str(key)] = {str(o): str(words) for o, words in options.items()}
        else:
            reader.problem(
                key,
                "a list of options is written option: words shown",
                "write as in: flat: flat tappet",
            )
            reader.broken.add(str(key))
    return choices


def build_class(key: Text, file: ClassFile, choices: Choices, reader: Reader) -> PartClass | None:
    """The class of a file; None after a problem with the class itself."""
    each = reader.one_of(file.each, LEVELS, "level (engine, bank, cylinder or valve)")
    if each is None:
        return None
    optional = reader.yes(file.optional)
    built = {
        f"{key}.{name}": _Attribute(key, name, attribute, each, optional, choices, reader).build()
        for name, attribute in file.attributes.items()
    }
    attributes = {name: attribute for name, attribute in built.items() if attribute}
    reader.broken |= built.keys() - attributes.keys()
    title = str(file.title)
    for name, words in (
        ("present", f"{title} fitted"),
        ("comes_with_head", f"{title} comes with the head"),
    ):
        attributes[f"{key}.{name}"] = Attribute(
            f"{key}.{name}",
            words,
            "engine",
            options=YES_NO,
            option_words=YES_NO,
            options_name="yes or no",
        )
    if file.sits_with is not None and not optional:
        reader.problem(
            file.sits_with,
            "only a part that an engine may do without stands on another's list",
            "set 'optional: yes' on the class, or leave 'sits_with' out",
        )
    with_ = str(file.sits_with or "")
    needed = reader.yes(file.needed)
    return PartClass(
        str(key),
        title,
        str(file.about),
        each,
        optional,
        attributes,
        key.place,
        with_,
        needed,
        tuple(map(str, file.order_tells)),
    )


class _Attribute:
    """Builds one attribute from its entry."""

    def __init__(
        self,
        slot: Text,
        name: Text,
        file: AttributeFile,
        class_each: Each,
        optional: bool,
        choices: Choices,
        reader: Reader,
    ) -> None:
        self.name = name
        self.full = f"{slot}.{name}"
        self.file = file
        self.each: Each = class_each
        self.optional = optional
        self.choices = choices
        self.reader = reader

    def build(self) -> Attribute | None:
        file, reader = self.file, self.reader
        kinds = {
            "quantity": file.quantity,
            "choice": file.choice,
            "some_of": file.some_of,
            "flag": file.flag,
            "text": file.text,
        }
        given = [name for name, value in kinds.items() if value is not None]
        if len(given) != 1:
            reader.problem(
                self.name,
                f"'{self.full}' has {len(given)} kinds",
                f"give just one of: {', '.join(kinds)}",
            )
            return None
        if file.each:
            self.each = reader.one_of(file.each, LEVELS, "level") or self.each
        if file.absent and not self.optional:
            reader.problem(
                file.absent,
                "only a part that an engine may do without can be absent",
                "set 'optional: yes' on the class, or leave 'absent' out",
            )
        if given[0] == "quantity":
            return self._quantity()
        if given[0] == "text":
            return self._made(text=True)
        if given[0] == "flag":
            return self._made(options=YES_NO, option_words=YES_NO, options_name="yes or no")
        return self._choice(several=given[0] == "some_of")

    def _made(self, absent: str = "", **more: Any) -> Attribute:
        file = self.file
        about = str(file.about or file.flag or "")
        return Attribute(
            self.full,
            str(file.title),
            self.each,
            measure=str(file.measure or ""),
            absent=absent,
            spread_of=str(file.spread_of or ""),
            identity=self.reader.yes(file.identity),
            about=about,
            nominal=self.reader.yes(file.nominal),
            of_place=self.reader.yes(file.of_place),
            brings=tuple(map(str, file.brings)),
            remembers=str(file.remembers or ""),
            place=self.name.place,
            **more,
        )

    def _quantity(self) -> Attribute | None:
        file, reader = self.file, self.reader
        assert file.quantity is not None
        kind = reader.kind(file.quantity)
        if kind is None:
            return None
        if file.plausible is None:
            reader.problem(
                self.name, f"'{self.full}' has no plausible range", "add plausible: low..high unit"
            )
            return None
        plausible = reader.quantity(file.plausible, kind)
        claim = reader.tolerance(file.claim, kind) if file.claim else None
        if plausible is None:
            return None
        if plausible.interval.width == 0:
            reader.problem(file.plausible, "the plausible range has no width", "write low..high")
        absent = str(file.absent or "")
        if file.absent:
            try:
                read_quantity(file.absent, kind, EXACT)
            except QuantityError as error:
                reader.misread(file.absent, error)
                absent = ""
        return self._made(absent, kind=kind, plausible=plausible.interval, claim=claim)

    def _choice(self, *, several: bool) -> Attribute | None:
        listed = self.file.some_of if several else self.file.choice
        if isinstance(listed, Text):
            if self.reader.one_of(listed, self.choices, "list in choices.yaml") is None:
                return None
            options = self.choices[listed]
            name = str(listed)
        else:
            assert listed is not None
            options = {str(option): str(option).replace("_", " ") for option in listed}
            name = self.full
            if len(options) < len(listed) or len(options) < 2:
                self.reader.problem(
                    self.name, f"the options of '{self.full}' are not two or more different ones"
                )
                return None
        absent = self.file.absent
        known = absent and self.reader.one_of(absent, options, f"option of {self.full}")
        return self._made(
            str(known or ""),
            options=tuple(options),
            option_words=tuple(options.values()),
            options_name=name,
            several=several,
        )


def wrong_of_others(attributes: Named[str, Attribute]) -> Iterator[Problem]:
    """What attributes say of others that cannot be: what they are the spread of, or remember."""
    for one in attributes.values():
        of = attributes.get(one.spread_of)
        levels = ("engine", "valve")
        if one.spread_of and (of is None or of.kind != one.kind or one.each not in levels):
            yield Problem(
                f"'{one.name}' can't be the spread of '{one.spread_of}'",
                one.place,
                "name an attribute of the same kind; the spread is one of the engine, or "
                "one of the valves of a side with each: valve",
            )
        held = attributes.get(one.remembers)
        if one.remembers and (held is None or (held.kind, held.each) != (one.kind, one.each)):
            yield Problem(
                f"'{one.name}' can't remember '{one.remembers}'",
                one.place,
                "name a figure of another part, of the same kind and for the same places",
            )
