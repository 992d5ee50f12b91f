"""Pages of a work order and of routes: everything of the plan stands there, soundly and to scale."""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.cli import main
from fitcheck.plan.others import others_in_kind
from fitcheck.plan.planner import make_plan
from fitcheck.plan.prices import read_prices
from fitcheck.plan.routes import at_head, at_hour, compare_routes, read_routes
from fitcheck.plan.work_order import work_order
from fitcheck.report.drawings.route_prices import made_of, pieces, today, turning
from fitcheck.report.html.routes import routes_page
from fitcheck.report.html.work_order import work_order_page
from fitcheck.report.phrases import capital
from fitcheck.report.plan_answer import answer, remarks
from tests.plan.long import LONG
from tests.report.measuring import NEEDS_BROWSER, faults
from tests.report.test_pages import PAYLOADS, Tree, keeps_to_itself, shape, soundly_built

DEMOS = Path(__file__).parents[2] / "catalog_demo"
DAY = date(2026, 3, 9)

# A spring that goes solid 0.020 in after full lift, and a shop that can cut its seat or sells
# another. Two ways: with the spring as it is, or with a head that is bought with more room.
BUILD = """build: {words}
about: {words}
cylinders: "1"
parts:
  cam: {{measured: {{by: {words}, lobe_lift: 0.3000 in}}}}
  rocker: {{measured: {{ratio: "1.500..1.501"}}}}
  lifter: {{measured: {{type: solid_roller, lash: 0.000 in}}}}
  shim: none
  spring: {{name: {words}, measured: {{installed_height: {height}, coil_bind_height: 1.170 in}}}}
"""
PRICES = """prices: {words}
hour: 60 EUR
operations: {{cut_spring_seat: 9 EUR}}
parts:
  - {{fits: spring, price: 30 EUR, keeps: [installed_height],
     part: {{name: {words}, claimed: {{by: {words}, coil_bind_height: 1.050 in}}}}}}
"""
ROUTES = """routes: {words}
ways:
  - {{way: {first}, build: first.yaml, prices: prices.yaml, complete_head: {words},
     bought: {{{words}: 500 EUR, {other}: 2 h}}}}
  - {{way: {second}, build: second.yaml, prices: prices.yaml, bought: {{{words}: 640 EUR}}}}
"""


def quoted(words: str) -> str:
    return "'" + words.replace("'", "''") + "'"


def written(folder: Path, words: str) -> Path:
    """The two builds, the price list and the routes with the same words in every field."""
    own = quoted(words)
    files = {
        "first.yaml": BUILD.format(words=own, height="1.640 in"),
        "second.yaml": BUILD.format(words=own, height="1.700 in"),
        "prices.yaml": PRICES.format(words=own),
        "routes.yaml": ROUTES.format(
            words=own,
            first=quoted(f"first {words}"),
            second=quoted(f"second {words}"),
            other=quoted(f"other {words}"),
        ),
    }
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def order_page(folder: Path, little) -> str:
    build = read_build(folder / "first.yaml", little)
    prices = read_prices(folder / "prices.yaml", little, build.layout)
    outcome = make_plan(check_build(build, little), prices, "price")
    assert outcome.plan is not None and outcome.plan.works
    others = others_in_kind(outcome, 5)
    said = answer(outcome, prices), remarks(outcome)
    return work_order_page(work_order(outcome.plan, prices), *said, prices, others, "inch", DAY)


def routes_of(folder: Path, little):
    return compare_routes(*read_routes(folder / "routes.yaml", little))


def routes_page_of(folder: Path, little) -> str:
    return routes_page(routes_of(folder, little), little, "inch", DAY)


@pytest.fixture(scope="module")
def pages(tmp_path_factory, little):
    folder = written(tmp_path_factory.mktemp("plain"), "plain")
    return {
        "order": order_page(folder, little),
        "routes": routes_page_of(folder, little),
    }


@pytest.mark.parametrize("kind", ["order", "routes"])
def test_structure(kind, pages):
    soundly_built(pages[kind])
    keeps_to_itself(pages[kind])


@pytest.mark.parametrize("several", range(4))
def test_hostile_words_stay_words(several, tmp_path, little, pages):
    payload = " ".join(PAYLOADS[several::4])
    folder = written(tmp_path, payload)
    order = Tree(order_page(folder, little))
    routes = Tree(routes_page_of(folder, little))
    assert shape(order) == shape(Tree(pages["order"]))
    # Longer words break into more lines of a drawing; nothing else may change.
    assert [one for one in shape(routes) if one[0] != "text"] == [
        one for one in shape(Tree(pages["routes"])) if one[0] != "text"
    ]
    wanted = " ".join(payload.split())
    assert order.text.count(wanted) >= 4  # title twice, about, the price list
    assert routes.text.count(wanted) >= 8


def test_a_work_order_tells_each_step_with_its_caution(tmp_path, little):
    """Cutting the seat by 0.020 in brings 0.040 in of clearance to the 0.060 in wanted."""
    page = order_page(written(tmp_path, "plain"), little)
    text = Tree(page).text
    assert ". Cut the spring seat deeper" in text and "by 0.0" in text
    cards = [one.partition("</article>")[0] for one in page.split('<article class="job">')]
    (card,) = [one for one in cards if ". Cut the spring seat deeper" in one]
    operation = little.operations["cut_spring_seat"]
    assert operation.file.cautions
    said, told = (
        " ".join(re.sub("<[^>]+>", " ", one).replace("&#39;", "'").split()) for one in (page, card)
    )
    for id_ in operation.file.cautions:
        caution = little.cautions[str(id_)].file
        assert " ".join(str(caution.text).split()) in said
        title = capital(str(caution.title))
        assert " ".join(str(caution.text).split()) in told or f"{title} (in full at step" in told
    assert "becomes" not in card and '<th scope="col">After</th>' in card
    assert "Measure when it comes back" in text and "Prices plain" in text


@pytest.fixture(scope="module")
def truck(tmp_path_factory):
    """The truck's work order, as the command writes it."""
    folder, page = DEMOS / "work_truck", tmp_path_factory.mktemp("truck") / "order.html"
    arguments = ["plan", str(folder / "build.yaml"), "--prices", str(folder / "prices.yaml")]
    assert main([*arguments, "--page", str(page)]) == 3  # much is not known
    return page.read_text(encoding="utf-8")


@LONG
def test_every_step_of_the_demo_stands_on_its_page(truck):
    soundly_built(truck)
    assert truck.count('<article class="job">') >= 4
    assert len(truck.encode()) < 1_000_000


def test_a_page_is_never_written_over_another_file(tmp_path, capsys):
    build = tmp_path / "first.yaml"
    build.write_text(BUILD.format(words="b", height="1.640 in"), encoding="utf-8")
    before = build.read_text(encoding="utf-8")
    works = ["--do", "cut_spring_seat@intake=0.020 in"]
    assert main(["plan", str(build), *works, "--page", str(build)]) == 2
    assert ".html" in capsys.readouterr().err
    assert build.read_text(encoding="utf-8") == before


# The price of routes.


@pytest.fixture(scope="module")
def compared(tmp_path_factory, little):
    return routes_of(written(tmp_path_factory.mktemp("routes"), "plain"), little)


def svg_of(drawing):
    return ElementTree.fromstring(drawing.body)


def all_of(svg, tag):
    return svg.iter("{http://www.w3.org/2000/svg}" + tag)


def test_bars_are_to_scale(compared):
    drawing = made_of(compared)
    svg = svg_of(drawing)
    scale = float(svg.get("data-scale"))
    widths = {
        one.get("data-of"): float(one.get("width")) / scale
        for one in all_of(svg, "rect")
        if one.get("data-of")
    }
    for route in compared.routes:
        made = list(pieces(route))
        for piece in made:
            assert widths[f"{route.way.title}: {piece.name}"] == pytest.approx(
                float(piece.price), abs=0.01 / scale
            )
        assert sum(piece.price for piece in made) == route.price


def test_lines_cross_where_the_answer_turns(compared):
    assert compared.turns
    for turn in compared.turns:
        drawing = turning(turn, today(turn, compared))
        svg = svg_of(drawing)
        scale = float(svg.get("data-scale"))
        lines = []
        for one in all_of(svg, "path"):
            if one.get("data-of") in (turn.dearer.way.title, turn.other.way.title):
                numbers = list(map(float, re.findall(r"[\d.]+", one.get("d"))))
                lines.append(((numbers[0], numbers[1]), (numbers[2], numbers[3])))
        assert len(lines) == 2
        (ax, ay), (bx, by) = lines[0]
        (_, cy), (_, dy) = lines[1]
        share = (cy - ay) / ((by - ay) - (dy - cy))
        crossing = share * (bx - ax) / scale
        assert crossing == pytest.approx(float(turn.price), rel=0.01)
        # And there both routes, planned at that price, do cost the same.
        if turn.what in turn.dearer.way.bought:
            assert at_head(turn.dearer, turn.price).price == turn.other.price
        else:
            both = [at_hour(route, turn.price).price for route in (turn.dearer, turn.other)]
            assert both[0] == both[1]


def test_a_route_without_a_price_is_hatched(tmp_path, little):
    folder = written(tmp_path, "plain")
    text = (folder / "prices.yaml").read_text(encoding="utf-8")
    bare = text[: text.index("operations")].replace("hour: 60 EUR\n", "")
    (folder / "prices.yaml").write_text(bare, encoding="utf-8")
    ways = (folder / "routes.yaml").read_text(encoding="utf-8").replace("2 h", "120 EUR")
    (folder / "routes.yaml").write_text(ways, encoding="utf-8")
    found = routes_of(folder, little)
    without = [route for route in found.routes if route.price is None]
    assert without
    svg = svg_of(made_of(found))
    hatched = {one.get("data-of") for one in all_of(svg, "rect") if one.get("class") == "unknown"}
    assert hatched == {f"{route.way.title}: not known" for route in without}


def test_today_is_what_the_way_pays_now(compared):
    heads = [turn for turn in compared.turns if turn.what == "plain"]
    assert [today(turn, compared) for turn in heads] == [Fraction(500)] * len(heads)


def test_drawings_by_command(tmp_path, capsys):
    """The names of files come from what a user typed, so they keep to letters and figures."""
    folder = written(tmp_path, "../up")
    out = tmp_path / "out"
    out.mkdir()
    assert main(["routes", str(folder / "routes.yaml"), "--drawings", str(out), "--json"]) == 3
    capsys.readouterr()
    names = sorted(path.name for path in out.iterdir())
    assert "route-prices.svg" in names and "route-turn-hour-of-the-shop.svg" in names
    assert all(path.read_text("utf-8").startswith("<svg") for path in out.iterdir())
    assert not list(tmp_path.parent.glob("*.svg"))


@NEEDS_BROWSER
def test_nothing_overlaps_or_is_cut(pages, tmp_path):
    assert faults(pages, tmp_path) == []


@LONG
@NEEDS_BROWSER
def test_nothing_of_the_demos_work_order_overlaps_or_is_cut(truck, tmp_path):
    assert faults({"truck": truck}, tmp_path) == []
