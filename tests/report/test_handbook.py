"""The handbook holds the whole knowledge, each link in it leads somewhere, and its search finds.

In the suite it is made of a knowledge with few rules; CI makes all of it and opens it in a browser.
"""

from __future__ import annotations

import re
from datetime import date

import pytest

from fitcheck.check import check_build, read_build
from fitcheck.cli.main import main
from fitcheck.report.handbook import handbook
from fitcheck.report.html import PAGES
from fitcheck.report.parts import written
from fitcheck.report.story import Story
from tests.report.measuring import NEEDS_BROWSER, barriers, dumped, faults
from tests.report.test_drawings import STACK
from tests.report.test_pages import TRUCK, Tree, soundly_built

FEW = ("coil_bind", "retainer_meets_seal", "stem_tight_in_bronze")
DAY = date(2026, 3, 9)
SCRIPTS = "default-src 'none'; style-src 'unsafe-inline'; script-src 'self'"


@pytest.fixture(scope="module")
def few(knowledge):
    return knowledge.with_rules({name: knowledge.rules[name] for name in FEW})


@pytest.fixture(scope="module")
def files(few):
    return dict(handbook(few, "inch", DAY))


@pytest.fixture(scope="module")
def trees(files):
    return {name: Tree(text) for name, text in files.items() if name.endswith(".html")}


def leads_somewhere(trees):
    """Each link leads to a file of the folder, and to a place in it that is there."""
    ids = {name: {own.get("id") for _, own, _ in tree.elements} for name, tree in trees.items()}
    followed = 0
    for name, tree in trees.items():
        for _, own, _ in tree.named("a"):
            file, _, id_ = own["href"].partition("#")
            assert (file or name) in ids, own["href"]
            assert not id_ or id_ in ids[file or name], (name, own["href"])
            followed += 1
    assert followed > 1000


def test_every_link_leads_somewhere(trees):
    leads_somewhere(trees)


def test_everything_known_has_its_place(few, trees):
    ids = {
        name.removesuffix(".html"): {own.get("id") for _, own, _ in tree.elements}
        for name, tree in trees.items()
    }
    for rule in few.rules.values():
        assert rule.id in ids[f"rules-{rule.family}"]
    for part_class in few.classes.values():
        assert {one.name for one in written(part_class)} <= ids[f"part-{part_class.id}"]
    for page, known in (
        ("figures", few.derived),
        ("operations", few.operations),
        ("procedures", few.procedures),
        ("cautions", few.cautions),
        ("sources", few.sources),
    ):
        assert set(known) <= ids[page]


def test_a_rule_is_told_with_figures_sources_and_examples(trees, files):
    """Coil bind: the figure, whose word it is, a fit and a clash, what mends it, what to mind."""
    text = trees["rules-spring_stack.html"].text
    for words in (
        "0.050 to 0.060 in",
        "TM 10-4320-344-24",
        "Fits, for example",
        "Clashes, for example",
        "Fit locks that raise the retainer",
    ):
        assert words.lower() in text.lower()
    page = files["rules-spring_stack.html"]
    for link in (
        "operations.html#",
        "cautions.html#compressed_spring",
        "sources.html#tm_10_4320_344_24",
    ):
        assert f'href="{link}' in page


def test_words_of_the_trade_lead_to_what_they_mean(files):
    line = re.search(r"<dt>LSA</dt><dd>(.*?)</dd>", files["words.html"])
    assert (
        line
        and line[1] == '<a href="part-cam.html#cam.lobe_separation">camshaft: lobe separation</a>'
    )


def test_pages_are_sound_and_only_the_search_runs_a_script(files):
    for name in ("index.html", "words.html", "search.html", "part-seal.html"):
        soundly_built(files[name])
    for name, text in files.items():
        tree = Tree(text) if name.endswith(".html") else None
        if tree is None:
            continue
        scripts = [own["src"] for _, own, _ in tree.named("script")]
        assert scripts == (["entries.js", "search.js"] if name == "search.html" else [])
        assert not tree.named("link", "img", "iframe", "object", "form", "base")
        (policy,) = (own["content"] for _, own, _ in tree.named("meta") if "http-equiv" in own)
        assert (policy == SCRIPTS) == (name == "search.html")
    assert "innerHTML" not in files["search.js"]


def test_a_page_links_what_it_found_into_the_handbook(few, trees):
    """The rule of each clash and each caution, seen from where the page lies."""
    build = read_build("bind.yaml", few, STACK.replace("1.1900", "1.2500"))
    story = Story(check_build(build, few), "inch")
    assert story.clashes and story.cautions
    page = PAGES["check"].make(story.check, "inch", DAY, "../book")
    links = set(re.findall(r'href="\.\./book/([^"]+)"', page))
    rules = [few.rules[clash.rule] for clash in story.clashes]
    assert links == {
        *(f"rules-{rule.family}.html#{rule.id}" for rule in rules),
        *(f"cautions.html#{one.id}" for one in story.cautions),
    }
    cautions = {own.get("id") for _, own, _ in trees["cautions.html"].elements}
    assert {one.id for one in story.cautions} <= cautions


def test_a_folder_that_holds_no_handbook_is_no_place_to_link_to(tmp_path, capsys):
    page = tmp_path / "page.html"
    assert main(["page", str(TRUCK), "-o", str(page), "--handbook", str(tmp_path)]) == 2
    assert "'fitcheck handbook" in capsys.readouterr().err
    assert not page.exists()


def test_nothing_that_is_not_ours_is_written_over(few, tmp_path, monkeypatch):
    monkeypatch.setattr("fitcheck.cli.handbook.loaded", lambda _: few)
    monkeypatch.setattr(
        "fitcheck.report.handbook.handbook", lambda *_: [("a.html", "a"), ("index.html", "new")]
    )
    own = tmp_path / "index.html"
    own.write_text("somebody's own page", encoding="utf-8")
    assert main(["handbook", str(tmp_path)]) == 2
    assert own.read_text(encoding="utf-8") == "somebody's own page"
    assert [path.name for path in tmp_path.iterdir()] == ["index.html"]
    assert main(["handbook", str(tmp_path), "--force"]) == 0


@NEEDS_BROWSER
def test_the_whole_handbook_in_a_browser(knowledge, tmp_path):
    """All links lead somewhere, search finds without a server, nothing is cut off or bars anyone."""
    files = dict(handbook(knowledge, "inch", DAY))
    leads_somewhere({name: Tree(text) for name, text in files.items() if name.endswith("html")})
    book = tmp_path / "book"
    book.mkdir()
    for name, text in files.items():
        (book / name).write_text(text, encoding="utf-8")
    address = (book / "search.html").as_uri() + "#coil%20bind%20before%20full%20lift"
    asked = dumped("", tmp_path, address)
    assert 'href="rules-spring_stack.html#coil_bind"' in asked
    some = ("index.html", "part-retainer.html", "rules-guides.html", "words.html", "cautions.html")
    pages = {name: files[name] for name in some}
    assert faults(pages, tmp_path) == []
    assert barriers({name: pages[name] for name in some[:3]}, tmp_path) == []
