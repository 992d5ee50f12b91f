"""Whole jobs in a real browser: the buyer's, the shop's, the builder's; by keys alone; at any width.

Run with FITCHECK_BROWSER=1, as .ci/run does.
"""

from __future__ import annotations

import re
import shutil
import socket
import time
from urllib.parse import urlsplit

import pytest

from fitcheck.check import read_build
from fitcheck.model import Evidence
from fitcheck.report.demos import demo_folder, demo_text
from tests.bench.served import WANTED, browser, served
from tests.bench.twenty_four import TWENTY_FOUR

pytestmark = WANTED
SMALL = """\
# An invented engine; no figure is from a real part.
build: bench four (invented)
cylinders: "4"
parts:
  engine: {measured: {by: owner, layout: inline, use: road}}
  cam: {claimed: {by: cam card, lobe_lift: 0.350 in, lobe_type: roller}}  # the card lies in the box
  lifter: {measured: {by: owner, type: hydraulic_roller}}
  rocker: {claimed: {by: box, ratio: "1.5"}}
  head: {claimed: {by: page, material: aluminium}}
  spring:
    claimed: {by: page, rate: 270 lbf/in, coil_bind_height: 1.190 in, outside_diameter: 1.250 in}
    measured: {by: shop, when: 2026-03-01, installed_height: 1.700 in}
  retainer: {measured: {by: shop, when: 2026-03-01, gap_to_seal: 0.640 in}}
"""
PRICES = """\
prices: invented shop
hour: 60 EUR
operations: {}
parts:
  - fits: spring
    price: 9 EUR
    keeps: [installed_height]
    part: {name: other spring (invented), claimed: {by: shop, coil_bind_height: 1.000 in, rate: 280 lbf/in}}
"""
SCREENS = ("/", "/questions", "/part/spring", "/part/engine", "/section", "/try", "/beside", "/beside/take", "/work",
           "/history", "/files", "/question/coil_bind", "/phone")  # fmt: skip


@pytest.fixture(scope="module")
def chromium():
    with browser() as made:
        yield made


@pytest.fixture(scope="module")
def started(tmp_path_factory):
    folder = tmp_path_factory.mktemp("folder")
    (folder / "build.yaml").write_text(SMALL)
    (folder / "prices.yaml").write_text(PRICES)
    with served(folder / "build.yaml") as made:
        yield made


@pytest.fixture
def bench(started):
    """The bench with its file as it was, opened anew."""
    started.path.write_text(SMALL)
    return started


@pytest.fixture
def page(chromium, bench):
    """A page of somebody who came in; what a script or a policy complains of fails the test."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    made = _page(context, bench)
    yield made
    assert made.complaints == []
    context.close()


def _page(context, bench):
    made = context.new_page()
    made.complaints = []
    made.on("pageerror", lambda error: made.complaints.append(str(error)))
    made.on("console", lambda told: _heard(made, told))
    made.goto(bench.way_in)
    made.wait_for_url(re.compile(r"\d/(files)?$"))
    made.goto(f"{bench.home}/files")
    made.get_by_role("button", name="build.yaml", exact=True).click()
    made.wait_for_url(f"{bench.home}/")
    return made


def _heard(page, told) -> None:
    expected = ("Failed to load resource", "net::ERR")  # of a connection that is cut, and the like
    if told.type == "error" and not any(one in told.text for one in expected):
        page.complaints.append(told.text)


def _kept(page, name: str, value: str) -> None:
    """A figure typed, and its field left."""
    field = page.locator(f'[name="f:{name}"]')
    if not field.is_visible():
        page.locator("details.more > summary").click()
    if field.evaluate("one => one.tagName") == "SELECT":
        field.select_option(value)
    else:
        field.fill(value)
        field.press("Tab")
    page.wait_for_function(
        "name => document.querySelector(`[data-field='${name}'] .by`).textContent", arg=name
    )


# The buyer.

FIGURES = {
    "cam": {"cam.lobe_lift": "0.350", "cam.duration_at_050": "224 deg"},
    "lifter": {"lifter.type": "hydraulic_roller"},
    "rocker": {"rocker.ratio": "1.6"},
    "valve": {"valve.head_diameter": "2.02/1.60", "valve.stem_diameter": "11/32"},
    "spring": {
        "spring.load_1": "125 lbs @ 1.800",
        "spring.rate": "300 lbf/in",
        "spring.coil_bind_height": ".300 + 0.9",
    },
    "head": {"head.chamber_volume": "64 cc", "head.material": "aluminium"},
}


def test_a_buyer_enters_a_sellers_page_and_reads_the_answer(page, bench):
    page.goto(f"{bench.home}/files")
    page.get_by_label("What is it called?").fill("A page of a seller (invented)")
    page.get_by_label("How many cylinders?").fill("8")
    page.get_by_role("button", name="Begin").click()
    page.wait_for_url(f"{bench.home}/part/engine")
    path = bench.path.with_name("a-page-of-a-seller-invented.yaml")
    for slot, figures in FIGURES.items():
        page.goto(f"{bench.home}/part/{slot}")
        page.get_by_label("Named").fill("invented seller")
        for name, value in figures.items():
            if name == "spring.coil_bind_height":
                # What cannot be is refused at its field, and the rest stays.
                page.locator(f'[name="f:{name}"]').fill(value)
                page.locator(f'[name="f:{name}"]').press("Tab")
                page.locator(f'[data-field="{name}"] .refused').wait_for(state="visible")
                assert "Not taken" in page.locator(f'[data-field="{name}"]').inner_text()
                value = "1.200 in"  # noqa: PLW2901
            _kept(page, name, value)
    assert "Read as" not in page.locator("#sight").inner_text()
    page.wait_for_selector("#short .lines li")
    answer = page.locator("#answer").inner_text()
    assert "cannot be answered yet" in answer and "Question by question" in answer
    said = path.read_text()
    assert said.count("invented seller") >= 6
    build = read_build(path, _knowledge(), said)
    names = {one.attribute.name for one in build.statements() if one.origin.by == "invented seller"}
    assert len(names) >= 10
    assert "# lobe_separation: ____" in said  # the lines that wait are left as they are


def _knowledge():
    from fitcheck.knowledge import load_knowledge

    return load_knowledge()


# The shop.


def test_a_shop_takes_thirty_readings_with_the_connection_cut_twice(chromium, bench):
    context = chromium.new_context(
        viewport={"width": 390, "height": 780}, has_touch=True, is_mobile=True
    )
    page = _page(context, bench)
    page.goto(f"{bench.home}/beside")
    page.get_by_role("button", name="Everything not measured yet").click()
    page.get_by_label("Read by").wait_for()
    page.wait_for_load_state()  # before its script runs, Skip leads to a page where nobody is named
    page.get_by_label("Read by").fill("a machinist")
    taken, values = 0, {}
    while taken < 30:
        context.set_offline(taken in (8, 9, 10, 20, 21))
        key = page.locator("#reading [name=key]").input_value()
        assert key not in values, "each place is asked once"
        value = _answer(page)
        if value is None:
            page.get_by_role("link", name="Skip").click()
        else:
            values[key] = value
            page.get_by_role("button", name="Write it down").click()
            page.locator("#result [data-next]").wait_for()
            if taken in (8, 20):
                assert "No connection" in page.locator("#result").inner_text()
                assert "on this phone" in page.locator("#queue").inner_text()
            taken += 1
            page.locator("#result [data-next]").click()
        page.wait_for_function(
            "key => document.querySelector('#reading [name=key]')?.value !== key", arg=key
        )
    context.set_offline(False)
    page.wait_for_function(
        "() => !JSON.parse(localStorage.getItem('fitcheck-bench-readings') || '[]').length"
    )
    build = read_build(bench.path, _knowledge())
    own = [one for one in build.statements() if one.origin.by == "a machinist"]
    assert len({(one.attribute.name, one.selector) for one in own}) == 30, bench.text
    assert all(one.evidence is Evidence.MEASURED for one in own)
    assert "# the card lies in the box" in bench.text
    assert page.complaints == []
    context.close()


def _answer(page) -> str | None:
    """Something plausible, by the big keys; None where it is left out here."""
    options = page.locator("[data-slot=entry] input[type=radio]")
    if options.count():
        options.first.check()
        return options.first.input_value()
    if page.locator("[data-slot=entry] input[type=checkbox]").count():
        page.locator("[data-slot=entry] input[type=checkbox]").first.check()
        return "one"
    unit = page.locator("[data-slot=entry] .unit").inner_text()
    if unit not in ("in", "deg"):
        return None
    knowledge = _knowledge()
    attribute = knowledge.attributes[
        page.locator("#reading [name=key]").input_value().partition("@")[0]
    ]
    from fitcheck.quantity.units import in_unit

    value = f"{in_unit(attribute.plausible.middle, unit, attribute.kind):.3f}"
    for letter in value:
        page.locator(f'.keys [data-put="{letter}"]').click()
    assert page.locator("#value").input_value() == value
    return value


# The builder.


def test_a_builder_tries_three_springs_and_prints_the_work_order(page, bench, tmp_path):
    for name, bind in (("A", "1.250 in"), ("B", "1.100 in"), ("C", "1.000 in")):
        page.goto(f"{bench.home}/try?slot=spring&name={name}")
        page.locator('#suppose [name="f:spring.coil_bind_height"]').fill(bind)
        page.get_by_role("button", name="Suppose it").click()
        page.get_by_role("heading", name=f"Try {name}", exact=True).wait_for()
    table = page.locator("table").first.inner_text()
    assert "Try A" in table and "Try C" in table and "STOP" in table and "fits" in table
    assert "1.190 in" in bench.text and "1.000 in" not in bench.text
    page.locator('section[aria-label="Try A"]').get_by_role("button", name="Drop").click()
    page.goto(f"{bench.home}/work")
    page.locator("#plan-prices").select_option("prices.yaml")
    page.locator('form:has([value="plan"])').get_by_role("button", name="Start").click()
    page.get_by_text("under way").or_(page.get_by_text("done in")).first.wait_for()
    page.get_by_role("link", name="Open the page").wait_for(timeout=60_000)
    page.get_by_role("link", name="Open the page").click()
    page.get_by_text("Work order").first.wait_for()
    page.emulate_media(media="print")
    printed = page.pdf(path=str(tmp_path / "order.pdf"))
    assert printed.startswith(b"%PDF") and len(printed) > 10_000
    assert bench.text == SMALL


def test_long_work_is_stopped_and_the_answer_goes_on(page, bench):
    shutil.copy(demo_folder() / "work_truck" / "prices.yaml", bench.path.with_name("truck.yaml"))
    bench.path.write_text(demo_text("work_truck"))
    page.goto(f"{bench.home}/work")
    page.locator("#plan-prices").select_option("truck.yaml")
    page.locator("#plan-seconds").select_option("180")
    page.locator('form:has([value="plan"])').get_by_role("button", name="Start").click()
    page.get_by_text("under way").first.wait_for()
    number = page.url.rpartition("/")[2]
    page.goto(f"{bench.home}/part/spring")
    began = time.monotonic()
    _kept(page, "spring.free_length", "2.100 in")
    assert time.monotonic() - began < 30
    page.goto(f"{bench.home}/work/{number}")
    if page.get_by_role("button", name="Stop it").count():
        page.get_by_role("button", name="Stop it").click()
        page.get_by_text("stopped after").wait_for()


# The answer, first and as somebody types.


@pytest.mark.parametrize(("width", "height"), [(320, 640), (390, 780), (1280, 900), (1600, 900)])
def test_what_to_stop_for_is_seen_first_without_scrolling(page, bench, width, height):
    """Each with its severity in a word, its place and what is short, before any form."""
    bench.path.write_text(demo_text("work_truck"))
    page.set_viewport_size({"width": width, "height": height})
    page.goto(f"{bench.home}/")
    stops = page.locator(".clashes li.stop")
    assert stops.count() == 2
    for one in stops.all():
        box, told = one.bounding_box(), one.inner_text()
        assert box["y"] > 0 and box["y"] + box["height"] <= height
        assert "STOP" in told and "all valves" in told and "short by" in told
        if width >= 1280:
            assert box["height"] < 40, "one line each"
    assert page.locator("main form").count() == 0
    assert page.evaluate("scrollY") == 0
    stops.first.locator("a").click()
    page.locator("#sight .question").wait_for()


def test_the_answer_turns_as_somebody_types_and_nothing_is_kept_before(page, bench):
    page.goto(f"{bench.home}/part/spring")
    field = page.locator('[name="f:spring.coil_bind_height"]')
    field.fill("")
    field.type("1.350 in")
    page.get_by_text("As typed, not kept yet.").wait_for()
    assert "1.350" not in bench.text
    page.get_by_label("Said by").select_option("guess")
    field.focus()
    field.press("Tab")
    bench.until("1.350 in")


def test_a_thousand_keys_in_a_second(page, bench):
    """The page asks for few of them, the answer that stays is the last's, and nothing is kept."""
    page.goto(f"{bench.home}/part/spring")
    asked = []
    page.on("request", lambda one: asked.append(one.url) if one.url.endswith("/draft") else None)
    page.evaluate("""() => {
      const field = document.querySelector('[name="f:spring.coil_bind_height"]');
      for (let i = 0; i < 1000; i += 1) {
        field.value = (1 + i / 2000).toFixed(4);
        field.dispatchEvent(new Event('input', {bubbles: true}));
      }
    }""")
    page.get_by_text("Read as 1.4995 in.").wait_for()
    page.wait_for_function("() => !document.querySelector('#sight').ariaBusy")
    told = page.locator("#sight").inner_text()
    assert "As typed, not kept yet." in told and "STOP" in told
    assert len(asked) < 20
    assert bench.text == SMALL


def test_a_clash_opens_where_it_stands(page, bench):
    page.goto(f"{bench.home}/part/spring")
    link = page.locator("a[data-question=coil_bind]")
    link.click()
    told = page.locator("#sight .question").inner_text()
    assert "Why:" in told and "By:" in told and "What mends it" in told
    link.click()
    assert page.locator("#sight .question").count() == 0


def test_a_clash_of_many_places_opens_with_the_gravest_and_lists_the_rest(page, bench):
    bench.path.write_text(TWENTY_FOUR)
    page.goto(f"{bench.home}/")
    line = page.locator(".clashes li.stop")
    assert "intakes of 22, 23, 24 and exhausts of 21, 22, 23, 24" in line.inner_text()
    line.locator("a").click()
    told = page.locator("#sight .question")
    assert "STOP: Cylinder 24 exhaust" in told.inner_text()
    told.get_by_text("And at 40 more").click()
    assert re.search(r"fits: Cylinder 1 intake, .* to spare", told.inner_text())


def test_another_page_and_an_editor_are_told_of(chromium, page, bench):
    page.goto(f"{bench.home}/part/spring")
    bench.path.write_text(SMALL.replace("270 lbf/in", "275 lbf/in"))
    page.get_by_text("changed by another program").wait_for(timeout=15_000)
    bench.path.write_text("build: [")
    page.get_by_text("cannot be read as it is now").first.wait_for(timeout=15_000)
    bench.path.write_text(SMALL)
    page.wait_for_function("() => !document.querySelector('#trouble .trouble')", timeout=15_000)


def test_the_section_closes_its_gaps_as_the_valve_is_dragged(page, bench):
    page.goto(f"{bench.home}/section")
    page.locator("#lift").fill("0.1")
    page.locator("#stack caption", has_text="0.100 in open").wait_for()
    assert "enough" in page.locator("#stack").inner_text()
    page.locator("#slide").focus()
    page.keyboard.press("End")
    page.wait_for_function(
        "() => document.querySelector('#stack').innerText.includes('too little')"
    )


# By keys alone, at any width, for everybody.


def test_by_keys_alone(page, bench):
    page.goto(f"{bench.home}/part/spring")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the work"
    page.keyboard.press("Enter")
    for _ in range(200):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.name") == "f:spring.rate":
            break
    page.keyboard.press("Control+A")
    page.keyboard.type("285 lbf/in")
    page.keyboard.press("Tab")
    bench.until("285 lbf/in")
    for _ in range(400):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.dataset.question || ''") == "coil_bind":
            break
    page.keyboard.press("Enter")
    page.locator("#sight .question").wait_for()
    ring = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert float(ring.removesuffix("px")) >= 2


WIDE = """() => {
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  const out = [...document.querySelectorAll('main *, aside *')].filter(one => {
    const box = one.getBoundingClientRect();
    return box.width && box.right > innerWidth + 1 && !one.closest('.wide, pre, svg, .top nav, .sr');
  }).map(one => one.outerHTML.slice(0, 80));
  return wide > 0 ? [String(wide), ...out] : out;
}"""
SMALL_KEYS = """() => [...document.querySelectorAll('button, .button, .keys button')]
  .filter(one => one.offsetParent && one.getBoundingClientRect().height < 40)
  .map(one => one.textContent)"""


@pytest.mark.parametrize("width", [320, 390, 600, 991, 992, 1280, 1600])
def test_no_page_is_wider_than_its_window(page, bench, width):
    page.set_viewport_size({"width": width, "height": 800})
    found = {}
    for path in SCREENS:
        page.goto(f"{bench.home}{path}")
        found[path] = page.evaluate(WIDE) + page.evaluate(SMALL_KEYS)
    assert {path: told for path, told in found.items() if told} == {}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_bars_anyone(page, bench, scheme):
    from axe_playwright_python.sync_playwright import Axe

    axe = Axe()
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{bench.home}/try?slot=spring&name=A")
    page.locator('#suppose [name="f:spring.coil_bind_height"]').fill("1.000 in")
    page.get_by_role("button", name="Suppose it").click()
    found = {}
    for path in SCREENS if scheme == "light" else SCREENS[:4]:
        page.goto(f"{bench.home}{path}")
        if page.locator("#short").count():
            page.wait_for_selector("#short .lines")
        told = axe.run(page).response["violations"]
        found[path] = [(one["id"], node["html"][:160]) for one in told for node in one["nodes"][:2]]
    assert {path: told for path, told in found.items() if told} == {}


def test_the_pages_read_without_a_script(chromium, bench):
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(bench.way_in)
    page.wait_for_url(f"{bench.home}/")
    page.goto(f"{bench.home}/part/spring")
    page.locator('[name="f:spring.rate"]').fill("285 lbf/in")
    page.get_by_role("button", name="Keep what is typed").click()
    assert "285 lbf/in" in bench.text
    page.goto(f"{bench.home}/answer/whole")
    page.goto(f"{bench.home}/part/spring")
    assert "Question by question" in page.locator("#short").inner_text()
    context.close()


# Connections that ask nothing.


def test_a_connection_that_asks_nothing_whole_is_ended(bench):
    """Half a request, nothing at all, a head without an end: each is shut within its time."""
    at = urlsplit(bench.home)
    lines = []
    for sent in (b"", b"GET / HT", b"GET / HTTP/1.1\r\nHost: x\r\nX: "):
        lines.append(socket.create_connection((at.hostname, at.port), 5))
        lines[-1].settimeout(25)
        lines[-1].sendall(sent)
    for line in lines:
        while line.recv(4096):
            pass
        line.close()
    with socket.create_connection((at.hostname, at.port), 5) as line:
        line.settimeout(25)
        line.sendall(b"GET / HTTP/1.1\r\n" + b"X-A: " + b"a" * 200_000)
        assert re.match(rb"HTTP/1.1 4\d\d|$", line.recv(64))


def test_the_owner_shuts_it(tmp_path):
    (tmp_path / "build.yaml").write_text(SMALL)
    with served(tmp_path / "build.yaml") as own:
        assert own.shut() == 0
