"""Pages hold what was found, escape what was typed, load nothing, and are built soundly.

What holds for structure is taken from the HTML standard and WCAG 2.1: one h1 and no level skipped
(technique H42, G141), a caption and header cells with a scope in every table (H39, H63), a text
alternative for every drawing (1.1.1), a language and a title (3.1.1, 2.4.2).
"""

from __future__ import annotations

import hashlib
import os
import re
from datetime import date
from decimal import Decimal
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

import fitcheck
from fitcheck.check import check_build, read_build
from fitcheck.check.records.sheet import first_sheet, make_sheet
from fitcheck.cli.main import main
from fitcheck.knowledge.house import with_house
from fitcheck.report.html import PAGES
from fitcheck.report.phrases import ranges_in_words
from fitcheck.report.story import Story
from tests.plan.long import LONG
from tests.report.measuring import NEEDS_BROWSER, dumped

DEMOS = Path(__file__).parents[2] / "catalog_demo"
TRUCK = DEMOS / "work_truck" / "build.yaml"
DAY = date(2026, 3, 9)
VOID = {"meta", "br", "img", "link", "input", "hr"}
HIT = "document.documentElement.setAttribute('data-hit','1')"
# CI tries each payload; a share is enough for every run.
WHOLE = "FITCHECK_BROWSER" in os.environ
PAYLOADS = (
    f"<script>{HIT}</script>",
    f"</title><script>{HIT}</script>",
    f"</style><script>{HIT}</script>",
    f"</svg><script>{HIT}</script>",
    f"<img src=x onerror={HIT}>",
    f'"><img src=x onerror="{HIT}">',
    f"'><svg onload={HIT}>",
    f"<svg/onload={HIT}>",
    f"<svg><animate onbegin={HIT} attributeName=x dur=1s>",
    f'<iframe srcdoc="<script>parent.{HIT}</script>"></iframe>',
    f'<iframe src="javascript:parent.{HIT}"></iframe>',
    f"<details open ontoggle={HIT}>",
    f"<body onload={HIT}>",
    f"<input autofocus onfocus={HIT}>",
    f'<a href="javascript:{HIT}">x</a>',
    "<link rel=stylesheet href=https://example.invalid/a.css>",
    "<meta http-equiv=refresh content='0;url=https://example.invalid/'>",
    "{{ 7 * 191 }}{% for a in () %}",
    f"]]><script>{HIT}</script><![CDATA[",
    f"--><script>{HIT}</script><!-- &lt;script&gt; &#60;",
)


class Tree(HTMLParser):
    """The elements of a page with what stands around them; fails where one is closed wrongly."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str], tuple[str, ...]]] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs), tuple(self.open)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs), tuple(self.open)))

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, (tag, self.open)
        self.open.pop()

    def handle_data(self, data):
        self.words.append(data)

    def named(self, *tags):
        return [(tag, own, around) for tag, own, around in self.elements if tag in tags]

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


_MADE: dict[tuple, str] = {}


def made(kind, knowledge, text=None, system="inch"):
    """A page of the truck or of a build in text; each is made once."""
    key = kind, text, system
    if key not in _MADE:
        _MADE[key] = make(kind, knowledge, text, system)
    return _MADE[key]


def make(kind, knowledge, text, system):
    build = read_build(TRUCK if text is None else "b.yaml", knowledge, text)
    return PAGES[kind].make(check_build(build, knowledge), system, DAY)


@pytest.fixture(scope="module")
def truck(knowledge):
    return made("check", knowledge)


def soundly_built(page):
    """Assert the structure that every page has."""
    tree = Tree(page)
    assert page.startswith("<!DOCTYPE html>")
    ((_, own, _),) = tree.named("html")
    assert own["lang"] == "en"
    assert (
        len(tree.named("title"))
        == len(tree.named("svg"))
        - len([svg for svg in tree.named("svg") if svg[1].get("aria-hidden")])
        + 1
    )
    levels = [int(tag[1]) for tag, _, _ in tree.named("h1", "h2", "h3", "h4", "h5", "h6")]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    tables = len(tree.named("table"))
    assert len(tree.named("caption")) == len(tree.named("thead")) == tables
    assert {own.get("scope") for _, own, _ in tree.named("th")} <= {"col", "row"}
    for _, own, _ in tree.named("svg"):
        assert own.get("aria-hidden") == "true" or (own["role"] == "img" and own["aria-labelledby"])
    ids = [own["id"] for _, own, _ in tree.elements if "id" in own]
    assert len(ids) == len(set(ids))
    for _, own, _ in tree.elements:
        assert set(own.get("aria-labelledby", "").split()) <= set(ids)


def keeps_to_itself(page):
    """Assert that a page runs nothing and loads nothing."""
    tree = Tree(page)
    assert not tree.named("script", "link", "img", "iframe", "object", "embed", "form", "base")
    policy = next(
        own["content"]
        for _, own, _ in tree.named("meta")
        if own.get("http-equiv") == "Content-Security-Policy"
    )
    assert policy == "default-src 'none'; style-src 'unsafe-inline'"
    ids = {own.get("id") for _, own, _ in tree.elements}
    for tag, own, _ in tree.elements:
        assert not [name for name in own if name.startswith("on") or name == "src"], tag
        # Links lead to places of the page itself, which are there.
        assert "href" not in own or (
            tag == "a" and own["href"][1:] in ids and own["href"][0] == "#"
        )
        for name, value in own.items():
            assert name == "xmlns" or "//" not in (value or ""), (tag, name)
    style = page.partition("<style>")[2].partition("</style>")[0]
    assert "url(" not in style and "@import" not in style


def shape(tree):
    """The elements with the names of their attributes, without any words."""
    return [(tag, sorted(own)) for tag, own, _ in tree.elements]


@pytest.mark.parametrize("kind", PAGES)
def test_structure(kind, knowledge):
    soundly_built(made(kind, knowledge))


@pytest.mark.parametrize("kind", PAGES)
def test_nothing_is_run_and_nothing_loaded(kind, knowledge):
    keeps_to_itself(made(kind, knowledge))


def hostile(payload):
    """The payload in every field that a user fills with words."""
    quoted = "'" + payload.replace("'", "''") + "'"
    return f"""
build: {quoted}
about: {quoted}
cylinders: "2"
banks: {{left: ["1"], right: ["2"]}}
parts:
  cam: {{name: {quoted}, seller: {quoted},
    measured: {{by: {quoted}, with: {quoted}, lobe_lift: 0.350 in}}}}
  rocker: {{claimed: {{by: {quoted}, ratio: "1.6"}}}}
  lifter: {{claimed: {{by: {quoted}, type: hydraulic_roller}}}}
  spring:
    name: {quoted}
    measured: {{by: {quoted}, installed_height: 1.700 in, coil_bind_height: 1.150 in}}
    claimed: {{by: {quoted}, seat_load: 95 lbf, rate: 270 lbf/in}}
"""


@pytest.mark.in_ci
@pytest.mark.parametrize("payload", PAYLOADS if WHOLE else PAYLOADS[::8])
def test_hostile_words_stay_words(payload, knowledge):
    plain = Tree(made("check", knowledge, hostile("plain")))
    tree = Tree(made("check", knowledge, hostile(payload)))

    assert shape(tree) == shape(plain)
    # Each field stands there word for word: title twice, about, names, sellers, and who says so.
    wanted = " ".join(payload.split())
    assert tree.text.count(wanted) >= 10
    sheet = Tree(made("sheet", knowledge, hostile(payload)))
    assert shape(sheet) == shape(Tree(made("sheet", knowledge, hostile("plain"))))


@NEEDS_BROWSER
def test_no_payload_runs_in_a_browser(knowledge, tmp_path):
    """All at once, and with the page's own policy taken out: escaping alone must do."""
    policy = '<meta http-equiv="Content-Security-Policy"'
    bodies = []
    for payload in PAYLOADS:
        page = made("check", knowledge, hostile(payload))
        assert policy in page
        bodies.append(
            page.replace(policy, '<meta name="was-policy"')
            .partition("<body>")[2]
            .partition("</body>")[0]
        )
    together = f"<!DOCTYPE html><html><body>{''.join(bodies)}</body></html>"
    assert 'data-hit="1"' not in dumped(together, tmp_path).partition("<body")[0]
    # The watcher would see one that ran.
    ran = f"<!DOCTYPE html><html><body>{PAYLOADS[0]}</body></html>"
    assert 'data-hit="1"' in dumped(ran, tmp_path).partition("<body")[0]


def test_the_answer_comes_first(truck):
    tree = Tree(truck)
    assert tree.text.index("do not work together") < tree.text.index("What clashes")
    headings = (
        "What clashes",
        "Mind",
        "What cannot be told yet",
        "What the seller says",
        "Drawings",
        "What fits",
        "What was given",
    )
    places = [truck.index(f">{words}</h2>") for words in headings]
    assert places == sorted(places)


def told(text):
    """Words as a page has them: ranges are read there, and not typed back."""
    return " ".join(ranges_in_words(text).split())


def test_every_clash_stands_in_one_line_of_the_answer(knowledge, truck):
    """Severity, place, what is missing and the first remedy, linked, before the contents."""
    story = Story(check_build(read_build(TRUCK, knowledge), knowledge), "inch")
    answer = truck.partition('<ol class="clashes">')[2].partition("</ol>")[0]
    lines = [Tree(line.partition("</li>")[0]) for line in answer.split("<li>")[1:]]
    assert len(lines) == len(story.clashes) > 3
    for number, (line, clash) in enumerate(zip(lines, story.clashes, strict=True), 1):
        assert clash.remedy is not None
        for words in (clash.severity, clash.title, clash.worst.short, clash.remedy.text):
            assert told(words).lower() in line.text.lower()
        ((_, own, _),) = line.named("a")
        assert own["href"] == f"#clash-{number}"
    assert truck.index("<nav") > truck.index("</ol>")


def test_the_sum_on_a_card_adds_up(truck):
    """Read as a reader would: what stands there, less what stands beneath, is what is left.

    The truck's exhausts: 0.5625..0.5675 in of gap less 0.5386..0.5437 in of lift leaves
    0.0188..0.0289 in, and of 0.0500..0.0600 in wanted 0.0211..0.0412 in are missing.
    """
    sums = 0
    for table in truck.split('<table class="sum">')[1:]:
        rows = re.findall(r"<td>([-\d.]+)</td><td>([-\d.]+)</td>", table.partition("</table>")[0])
        *terms, left, wanted, missing = [tuple(map(Decimal, row)) for row in rows]
        (low, high), *others = terms
        for least, most in others:
            low, high = low - most, high - least
        assert (low, high) == left
        assert missing == (wanted[0] - high, wanted[1] - low)
        assert len({text.partition(".")[2].__len__() for row in rows for text in row}) == 1
        sums += 1
    assert sums == 2
    assert "<td>0.0188</td><td>0.0289</td>" in truck


def test_every_clash_is_told_with_its_cautions(knowledge, truck):
    check = check_build(read_build(TRUCK, knowledge), knowledge)
    text = Tree(truck).text
    assert check.conflicts
    for finding in check.conflicts:
        assert told(finding.message()) in text
        assert told(str(finding.rule.file.why)) in text
    # A caution is named in the very card of the work, and stands in full once.
    cards = truck.split("<article")[1:]
    for rule in {finding.rule.id: finding.rule for finding in check.conflicts}.values():
        title = str(rule.file.title)[1:]
        card = next(
            Tree(f"<article{card.partition('</article>')[0]}</article>").text
            for card in cards
            if title.replace("'", "&#39;") in card
        )
        for id_ in rule.file.cautions:
            caution = knowledge.cautions[str(id_)].file
            assert str(caution.title)[1:] in card
            assert text.count(told(str(caution.text))) == 1


def test_given_figures_are_kept_as_typed(truck):
    text = Tree(truck).text
    for words in ("0.3430 in", "by machine shop, on 2026-10-24"):
        assert words in text


def test_the_stamp(knowledge, truck):
    text = Tree(truck).text
    digest = hashlib.sha256(TRUCK.read_bytes()).hexdigest()[:12]
    for words in (
        "2026-03-09",
        fitcheck.__version__,
        knowledge.digest,
        digest,
        "Units inch",
        "House limits and waivers none",
    ):
        assert words in text
    assert "Units metric" in Tree(made("check", knowledge, system="metric")).text


def test_house_limits_and_waivers_are_told(knowledge):
    house = """
house: shop of the test
limits:
  coil_bind.least: {value: 0.050 in, reason: light springs, name: A. Tester}
waivers:
  - {rule: spring_on_bare_aluminium, reason: cups are on order, name: B. Tester, until: 2099-01-01}
"""
    own = with_house(knowledge, Path("house.yaml"), DAY, house)
    tree = Tree(PAGES["check"].make(check_build(read_build(TRUCK, own), own), "inch", DAY))
    for words in (
        "shop of the test",
        "light springs",
        "A. Tester",
        "cups are on order",
        "B. Tester",
        "0.050 in instead of 0.050 to 0.060 in",
    ):
        assert words in tree.text
    assert own.digest in tree.text and own.digest != knowledge.digest


@pytest.mark.parametrize("kind", PAGES)
def test_every_kind_of_page_says_whose_limits_hold(kind, knowledge):
    house = """
house: shop of the test
limits:
  coil_bind.least: {value: 0.050 in, reason: light springs, name: A. Tester}
"""
    own = with_house(knowledge, Path("house.yaml"), DAY, house)
    page = PAGES[kind].make(check_build(read_build(TRUCK, own), own), "inch", DAY)
    assert "shop of the test" in page.rpartition("<footer>")[2]
    assert "House limits and waivers none" in Tree(made(kind, knowledge)).text


def test_a_page_stays_small(knowledge, truck):
    assert len(truck.encode()) < 1_000_000


def test_a_sheet_is_a_page_of_what_decides_most_unless_all_is_asked_for(knowledge):
    """As in the terminal; each place has a row and a blank of its own."""
    check = check_build(read_build(TRUCK, knowledge), knowledge)
    for everything, sheet in (
        (False, first_sheet(check)),
        (True, make_sheet(check.build, knowledge)),
    ):
        tree = Tree(PAGES["sheet"].make(check, "inch", DAY, everything=everything))
        blanks = [own for _, own, _ in tree.named("span") if own.get("class") == "blank"]
        assert len(blanks) == 1 + sum(len(item.lines) for item in sheet.items)


@LONG
def test_command_line(tmp_path, capsys):
    page, picture = tmp_path / "page.html", tmp_path / "stack.svg"
    assert main(["page", str(TRUCK), "-o", str(page)]) == 1  # as the check itself: it clashes
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    arguments = ["draw", str(TRUCK), "stack", "--at", "3 exhaust", "--units", "metric"]
    assert main([*arguments, "-o", str(picture)]) == 0
    drawn = picture.read_text(encoding="utf-8")
    assert "cylinder 3 exhaust" in drawn
    capsys.readouterr()
    assert main(arguments) == 0
    assert capsys.readouterr().out == drawn


def test_command_line_never_writes_over_a_build(tmp_path, capsys):
    build = tmp_path / "build.yaml"
    build.write_text(TRUCK.read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["page", str(build), "-o", str(build)]) == 2
    assert ".html" in capsys.readouterr().err
    assert build.read_text(encoding="utf-8") == TRUCK.read_text(encoding="utf-8")
    assert main(["draw", str(build), "bore", "--at", "9 intake"]) == 2
    assert "cylinder 1" in capsys.readouterr().err
