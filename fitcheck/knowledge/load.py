"""Loads rules/ into one checked `Knowledge`; every problem of every file is told in one run."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any

from fitcheck.knowledge.base import Knowledge
from fitcheck.knowledge.classes import build_class, read_choices, wrong_of_others
from fitcheck.knowledge.contradictions import contradictions
from fitcheck.knowledge.files import (
    CautionFile,
    ClassFile,
    DerivedFile,
    MateFile,
    MoreFile,
    OperationFile,
    ProcedureFile,
    QuestionFile,
    RuleFile,
    SourceFile,
    StartFile,
)
from fitcheck.knowledge.folders import Folders
from fitcheck.knowledge.names import Names, refused
from fitcheck.knowledge.parts import (
    ASKED,
    SORTS,
    SOURCE_KINDS,
    Amount,
    Caution,
    Citation,
    Mate,
    Operation,
    Procedure,
    Rule,
)
from fitcheck.knowledge.questions import build_questions
from fitcheck.knowledge.rules import RuleBuilder
from fitcheck.knowledge.usual import UsualBuilder
from fitcheck.knowledge.word_files import load_words
from fitcheck.language import Known, Node, Variable
from fitcheck.model import LEVELS, Attribute, PartClass, shaped
from fitcheck.quantity import KINDS, Quantity
from fitcheck.source import BadInput, Problems, Text


def load_anew(root: Path, *beside: Path) -> Knowledge:
    """The knowledge under `root` and folders beside it; raises BadInput with every problem."""
    problems = Problems()
    knowledge = _Loader((root, *beside), problems).load()
    if problems:
        raise BadInput(problems)
    return knowledge


def _known(name: str, size: Quantity) -> Callable[[tuple[int, int]], Node]:
    return lambda at: Known(size.kind.dimension, at, name, size.interval, size.kind)


# The cautions that work with a grinder, and with a cutter, calls for.
DUST, CHIPS = "grinding_dust", "machine_tools"


class _Loader(Folders):
    def load(self) -> Knowledge:
        self.check()
        sources = self.sources = {
            str(key): Citation(str(key), file)
            for key, file in self.single("sources.yaml", SourceFile).items()
        }
        cautions = self.cautions = {
            str(key): Caution(str(key), file)
            for key, file in self.single("cautions.yaml", CautionFile).items()
        }
        for source in sources.values():
            self.reader.one_of(source.file.kind, SOURCE_KINDS, "kind of source")
        for caution in cautions.values():
            self.reader.one_of(caution.file.source, sources, "source in sources.yaml")
        procedures = self._procedures()
        classes = self._classes(procedures)
        self.attributes = {
            name: attribute
            for found in classes.values()
            for name, attribute in found.attributes.items()
        }
        self.problems.extend(wrong_of_others(self.attributes))
        self._check_uses()
        mates = self._mates(classes)
        names = Names(self.reader, self.attributes)
        names.add_derived(self.several("derived", DerivedFile))
        for derived in names.derived.values():
            self.reader.one_of(derived.file.source, sources, "source in sources.yaml")
        operations = self._operations(names, classes)
        builder = RuleBuilder(names, self.reader, sources, operations, classes)
        rules = self._rules(builder)
        rules |= {rule.id: rule for rule in contradictions(names.derived, builder)}
        asked = self.single("questions.yaml", QuestionFile)
        usual = UsualBuilder(names, self.reader, sources).build(self.files("usual"))
        return Knowledge(
            classes,
            names.attributes,
            names.derived,
            rules,
            mates,
            procedures,
            operations,
            sources,
            cautions,
            self.digest.hexdigest()[:12],
            names.ranges,
            ordinary=usual,
            questions=build_questions(asked, rules, self.families(), names.derived, self.reader),
            word_lists=load_words(self.files("words"), classes, self.reader),
            starts=self._starts(classes),
        )

    # Kinds.

    def _procedures(self) -> dict[str, Procedure]:
        found = {}
        for key, file in self.several("measuring", ProcedureFile).items():
            scale = file.resolution != "none"
            resolution = self.reader.any_quantity(file.resolution, None) if scale else None
            self._check(file.cautions, self.cautions, "caution")
            self.reader.one_of(file.source, self.sources, "source in sources.yaml")
            minutes = self.reader.count(file.minutes)
            self._check([file.asked] if file.asked else [], ASKED, "one who can be asked")
            found[str(key)] = Procedure(str(key), file, resolution, minutes)
        return found

    def _classes(self, procedures: dict[str, Procedure]) -> dict[str, PartClass]:
        choices = read_choices(self.entries_of("choices.yaml"), self.reader)
        classes: dict[str, PartClass] = {}
        named: list[Text] = []
        for key, file in self._class_files().items():
            named += [file.sits_with] if file.sits_with is not None else []
            named += [name for entry in file.attributes.values() for name in entry.brings]
            built = build_class(key, file, choices, self.reader)
            if built is None:
                self.reader.broken.add(str(key))
            else:
                classes[built.id] = built
            for name, entry in file.attributes.items():
                if entry.measure is not None:
                    self.reader.one_of(entry.measure, procedures, "procedure in measuring/")
                    attribute = built.attributes.get(f"{key}.{name}") if built else None
                    self._reads(entry.measure, procedures, attribute)
        self._check(named, classes, "part class")
        return classes

    def _reads(
        self, typed: Text, procedures: Mapping[str, Procedure], attribute: Attribute | None
    ) -> None:
        """Refuse a procedure that reads another kind of figure."""
        read = procedures[typed].resolution if typed in procedures else None
        kind = attribute.kind if attribute is not None else None
        if read is not None and kind is not None and read.kind.dimension != kind.dimension:
            what = f"'{typed}' reads to {read.text}, which is no {kind.name}"
            self.reader.problem(typed, what, "name a procedure that reads it")

    def _class_files(self) -> dict[Text, ClassFile]:
        """The files of the classes, each with the attributes that another folder adds."""
        found: dict[Text, ClassFile] = {}
        for path, node in self.files("classes"):
            key = Text(path.stem, node.place)
            if key not in found:
                file = shaped(ClassFile, node, self.problems)
                if file is None:
                    self.reader.broken.add(path.stem)
                else:
                    found[key] = file
            elif "title" in node:
                first = next(one.place for one in found if one == key)
                self.reader.problem(
                    key,
                    f"'{key}' stands already at {first}",
                    "keep one of the two files, or write only the 'attributes:' to be added",
                )
            elif (more := shaped(MoreFile, node, self.problems)) is not None:
                own = found[key].attributes
                keys = {name: name for name in own}
                own |= {
                    name: one for name, one in more.attributes.items() if self._once(name, keys)
                }
        return found

    def _starts(self, classes: dict[str, PartClass]) -> tuple[StartFile, ...]:
        """What a build file is started with; a folder need not say."""
        if not any((root / "start.yaml").exists() for root in self.roots):
            return ()
        found = tuple(self.single("start.yaml", StartFile).values())
        for start in found:
            for named in (start.figures, start.measured):
                self._check(list(named), classes, "part class")
                for slot, names in named.items():
                    own = [
                        name.partition(".")[2]
                        for name in self.attributes
                        if name.startswith(f"{slot}.")
                    ]
                    self._check(names, own, "attribute of this part")
        return found

    def _check_uses(self) -> None:
        use = self.attributes.get("engine.use")
        known = use.options if use else ()
        for caution in self.cautions.values():
            self._check(caution.file.uses, known, "use of an engine")
            self._check_where(caution.file.where)

    def _mates(self, classes: dict[str, PartClass]) -> dict[str, Mate]:
        found = self.several("mates", MateFile)
        for key, mate in found.items():
            self._check(mate.between, classes, "part class")
            self._check(mate.through, self.attributes, "attribute")
            if len(set(mate.between)) != 2:
                self.reader.problem(
                    key, "an interface is between two classes", "give two different ones"
                )
                continue
            if not classes.keys() >= set(mate.between):
                continue
            for slot in sorted(
                {name.partition(".")[0] for name in mate.through} - set(mate.between)
            ):
                self.reader.problem(
                    key,
                    f"'{slot}' is not one of the two classes that meet here",
                    "leave its attributes out",
                )
        return {str(key): Mate(str(key), mate) for key, mate in found.items()}

    def _operations(self, names: Names, classes: dict[str, PartClass]) -> dict[str, Operation]:
        files = self.several("operations", OperationFile)
        found = {}
        for key, file in files.items():
            self.reader.one_of(file.on, classes, "part class")
            self._check(file.undoes, self.attributes, "attribute")
            self._check(file.after, files, "operation")
            self._check(file.cautions, self.cautions, "caution")
            self.reader.one_of(file.source, self.sources, "source in sources.yaml")
            self._check_sort(key, file)
            self._check_then(key, file, files)
            self._check_goes_with(file, files, classes)
            each = self.reader.one_of(file.each, LEVELS, "level")
            hours = self.reader.quantity(file.hours, KINDS["time"])
            amount = self._amount(file)
            effects = self._effects(file, amount, names)
            if each is None or hours is None or (file.amount and amount is None):
                self.reader.broken.add(str(key))
                continue
            found[str(key)] = Operation(str(key), file, each, amount, effects, hours)
        self._check_order(files)
        return found

    def _check_then(self, key: Text, file: OperationFile, files: dict[Text, OperationFile]) -> None:
        """What has to follow an operation comes after it, at places of the same kind."""
        self._check(file.then, files, "operation")
        for name in file.then:
            other = files.get(name)
            if other is not None and (str(key) not in other.after or other.each != file.each):
                self.reader.problem(
                    name,
                    f"'{name}' is to follow '{key}', but is not done after it at each {file.each}",
                    f"add '{key}' to the `after` of '{name}', or leave it out here",
                )

    def _check_goes_with(
        self, file: OperationFile, files: dict[Text, OperationFile], classes: dict[str, PartClass]
    ) -> None:
        if (with_ := file.goes_with) is None:
            return
        self._check(with_.parts, classes, "part class")
        self._check(with_.operations, files, "operation")
        self._check(with_.undone, self.attributes, "attribute")
        self._check_where(with_.where)
        self.reader.yes(with_.everywhere)

    def _check_where(self, where: dict[Text, list[Text]]) -> None:
        self._check(where, self.attributes, "attribute")
        for name in filter(self.attributes.__contains__, where):
            self._check(where[name], self.attributes[name].options, "option")

    def _check_sort(self, key: Text, file: OperationFile) -> None:
        """What sort of work it is, against what else is told of it."""
        self._check(file.sort, dict.fromkeys(SORTS), "sort of work")
        sort, cautions = set(map(str, file.sort)), set(map(str, file.cautions))
        if not sort:
            self.reader.problem(key, f"'{key}' is of no sort", f"name some of {', '.join(SORTS)}")
        if sort & {"looks", "washes"} and (file.amount or file.effects or len(sort) > 1):
            self.reader.problem(
                key,
                f"'{key}' only looks or washes, and changes a figure",
                "take away its effects, or say what sort of work it is",
            )
        for one, needed in (("makes_dust", {DUST}), ("removes_metal", {DUST, CHIPS})):
            if one in sort and not needed & cautions:
                self.reader.problem(
                    key,
                    f"'{key}' {one.replace('_', ' ')} without a caution that says so",
                    f"add one of {', '.join(sorted(needed))} to its cautions",
                )
        if DUST in cautions and "makes_dust" not in sort:
            self.reader.problem(
                key, f"'{key}' warns of dust that it does not make", "add makes_dust to its sort"
            )

    def _amount(self, file: OperationFile) -> Amount | None:
        if file.amount is None:
            return None
        kind = self.reader.kind(file.amount.quantity)
        if kind is None:
            return None
        step = self.reader.quantity(file.amount.step, kind)
        span = self.reader.quantity(file.amount.range, kind)
        if step is None or span is None:
            return None
        held = file.amount.tolerance
        tolerance = self.reader.quantity(held, kind) if held is not None else None
        if held is not None and tolerance is None:
            return None
        most = tolerance.interval.upper if tolerance else step.interval.middle / 2
        return Amount(kind, step, span.interval, most, str(file.amount.means))

    def _effects(self, file: OperationFile, amount: Amount | None, names: Names) -> dict[str, Node]:
        extra: dict[str, Callable[[tuple[int, int]], Node]] = {}
        if file.amount is not None:
            extra["amount"] = refused
        if amount is not None:
            extra["amount"] = lambda at: Variable(
                amount.kind.dimension, at, "amount", amount.kind, amount.range
            )
        for name, text in file.sizes.items():
            size = self.reader.quantity(text, KINDS["length"])
            if size is not None:
                extra[str(name)] = _known(str(name), size)
        effects = {}
        for target, text in file.effects.items():
            attribute = self.reader.one_of(target, self.attributes, "attribute")
            if attribute is None:
                continue
            kind = self.attributes[attribute].kind
            node = names.expression(text, extra, want=kind.dimension if kind else None)
            if node is not None:
                effects[str(attribute)] = node
        return effects

    def _check_order(self, files: dict[Text, OperationFile]) -> None:
        order = {str(key): [str(name) for name in file.after] for key, file in files.items()}
        try:
            TopologicalSorter(order).prepare()
        except CycleError as error:
            circle = " -> ".join(error.args[1])
            key = next(key for key in files if key == error.args[1][0])
            self.reader.problem(
                key, f"operations wait for each other: {circle}", "break the circle"
            )

    def _rules(self, builder: RuleBuilder) -> dict[str, Rule]:
        rules: dict[str, Rule] = {}
        covered: list[Text] = []
        files = list(self.named("fits", RuleFile))
        named = {
            f"{key}.{name}": one for key, _, file in files for name, one in file.limits.items()
        }
        for key, path, file in files:
            file.limits.update(builder.shared(file.limits, named))
            if path.parent.parent not in [root / "fits" for root in self.roots]:
                self.reader.problem(
                    key,
                    "a rule's file stands in a folder named by its family",
                    "move it to fits/<family>/<rule>.yaml",
                )
                self.reader.broken.add(str(key))
            self._check(file.cautions, self.cautions, "caution")
            covered += [*file.covers, *file.told_by]
            rule = builder.build(key, path.parent.name, file)
            if rule is None:
                self.reader.broken.add(str(key))
            elif rule.id in rules:
                self.reader.problem(
                    key,
                    f"'{key}' stands already at {rules[rule.id].place}",
                    "keep one of the two files",
                )
                self.reader.broken.add(rule.id)
            else:
                rules[rule.id] = rule
        self._check(covered, rules, "rule")
        return rules

    def _check(self, names: Iterable[Text], known: Iterable[Any], what: str) -> None:
        for name in names:
            self.reader.one_of(name, map(str, known), what)
