"""The questions of the face. Paths are text or `Path`; what can't be read raises BadInput."""

from __future__ import annotations

from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.check import read_build
from fitcheck.face.answers import Answer, Build
from fitcheck.knowledge import as_makers_ask, load_knowledge
from fitcheck.model import EVERYWHERE, Selector
from fitcheck.quantity.showing import system_of
from fitcheck.source import BadInput, Problem

if TYPE_CHECKING:
    from rich.console import Console

    from fitcheck.knowledge import Knowledge
    from fitcheck.plan.stages import Objective

WIDTH = 100
_CATALOG = ".duckdb"


def read(
    path: Path | str, *, rules: Path | str | None = None, house: Path | str | None = None
) -> Build:
    """A build file, with rules beside those of fitcheck and a house's limits where given."""
    knowledge = load_knowledge(beside=Path(rules) if rules is not None else None)
    if house is not None:
        from fitcheck.knowledge.house import with_house  # noqa: PLC0415

        knowledge = with_house(knowledge, Path(house))
    listed = read_build(Path(path), knowledge)
    text = listed.place.source.text if listed.place is not None else ""
    return Build(listed, as_makers_ask(knowledge, listed), system_of(text))


def suppose(build: Build, *changes: str) -> Build:
    """The build after changes, each as in "spring.rate=300 lbf/in", "shim=none"."""
    from fitcheck.check.supposing import suppose_all  # noqa: PLC0415

    changed = suppose_all(build.listed, changes, build.knowledge).build
    return Build(changed, build.knowledge, build.units)


def measure(build: Build) -> Answer:
    """What to measure next, the most telling for the work first."""
    from fitcheck.check.measuring.asks import MissingFigures  # noqa: PLC0415
    from fitcheck.report.measure import measurements_data, write_measurements  # noqa: PLC0415

    asks = MissingFigures(build.check.checked)
    text = _written(lambda out: write_measurements(asks, out, build.units, everything=False))
    return Answer("measure", text, measurements_data(asks, build.units))


def reach(build: Build, figure: str, at: str = "") -> Answer:
    """How far a figure, as in "cam.lobe_lift", can go, and the rule that ends it."""
    from fitcheck.plan.howfar import how_far  # noqa: PLC0415
    from fitcheck.report.reach import reach_data, write_reach  # noqa: PLC0415

    word = build.knowledge.words.figure(figure).name
    attribute = build.knowledge.attributes.get(word or figure)
    if attribute is None:
        raise _refused(*build.knowledge.hints.figure(figure))
    if attribute.text or attribute.several:
        raise _refused(f"'{figure}' has no end to reach", "name a figure or a choice of one option")
    where = Selector.read(at) if at else EVERYWHERE
    if where is None:
        raise _refused(f"'{at}' names no position", "write intake, exhaust or 3 exhaust")
    found = how_far(build.listed, build.knowledge, attribute, where, build.units)
    title = build.knowledge.title_of(attribute)
    text = _written(lambda out: write_reach(found, build.listed, title, out, build.units))
    return Answer("reach", text, reach_data(found, build.units))


def plan(build: Build, prices: Path | str | None = None, *, seconds: float = 60) -> Answer:
    """The cheapest work that leaves no clash, with its work order; or what leaves none."""
    from fitcheck.plan.contradiction import contradiction  # noqa: PLC0415
    from fitcheck.plan.decide import decide_first  # noqa: PLC0415
    from fitcheck.plan.planner import make_plan  # noqa: PLC0415
    from fitcheck.plan.prices import NO_PRICES, read_prices  # noqa: PLC0415
    from fitcheck.plan.question import Goal  # noqa: PLC0415
    from fitcheck.plan.work_order import work_order  # noqa: PLC0415
    from fitcheck.report.measure_first import first_words  # noqa: PLC0415
    from fitcheck.report.plan import PlanReport  # noqa: PLC0415
    from fitcheck.report.plan_answer import write_proof  # noqa: PLC0415
    from fitcheck.report.plan_data import outcome_data  # noqa: PLC0415

    told = NO_PRICES
    if prices is not None:
        told = read_prices(Path(prices), build.knowledge, build.listed.layout)
    objective: Objective = "price" if prices is not None else "hours"
    checked = build.check.checked
    outcome = make_plan(checked, told, objective, Goal.MENDED, seconds, lambda progress: None)
    order = work_order(outcome.plan, told) if outcome.plan else None
    proof = contradiction(outcome, seconds)
    first = decide_first(outcome, told, seconds, build.units)

    def written(out: Console) -> None:
        if order is not None:
            said = first_words(first, told, build.units)
            PlanReport(order, told, out, build.units).found(outcome, first=said)
        else:
            write_proof(outcome, proof, told, out, build.units)

    data = outcome_data(outcome, order, [], proof, first, told, build.units)
    return Answer("plan", _written(written), data)


def screen(build: Build, slot: str, catalog: Path | str, *, top: int = 5) -> Answer:
    """Which parts of a catalog, or a list of parts, fit one slot; the cheapest first."""
    from fitcheck.plan.at_place import known_of_place  # noqa: PLC0415
    from fitcheck.plan.prices import NO_PRICES  # noqa: PLC0415
    from fitcheck.report.screen import screen_data, write_screen  # noqa: PLC0415
    from fitcheck.screen.importing import import_list  # noqa: PLC0415
    from fitcheck.screen.opening import Opening  # noqa: PLC0415
    from fitcheck.screen.ranking import best, nearest  # noqa: PLC0415
    from fitcheck.screen.screening import screen as screened  # noqa: PLC0415
    from fitcheck.screen.store import Catalog  # noqa: PLC0415

    known = _slot(slot, build.knowledge)
    path = Path(catalog)
    kept = path.suffix.lower() == _CATALOG
    if kept and not path.is_file():
        raise _refused(f"there is no catalog {path}", "name a list of parts, or a catalog")
    with Catalog(build.knowledge, path) if kept else Catalog(build.knowledge) as parts:
        if not kept:
            import_list(parts, path)
        stays = known_of_place(build.listed, build.knowledge, known)
        found = screened(parts, build.listed, Opening(known, "", stays))
        some, misses = best(found, "price", top), nearest(found, top)
        text = _written(lambda out: write_screen(found, some, misses, NO_PRICES, out, build.units))
        return Answer("screen", text, screen_data(found, some, misses, build.units))


def _slot(text: str, knowledge: Knowledge) -> str:
    found = knowledge.words.part(text).name
    if not found or found == "engine":
        raise _refused(*knowledge.hints.part(text))
    return found


def _refused(what: str, mend: str) -> BadInput:
    return BadInput([Problem(what, None, mend)])


def _written(write: Callable[[Console], None]) -> str:
    """What a report writes, as plain text."""
    from rich.console import Console  # noqa: PLC0415

    out = StringIO()
    write(Console(file=out, width=WIDTH, highlight=False, color_system=None, force_terminal=False))
    return out.getvalue()
