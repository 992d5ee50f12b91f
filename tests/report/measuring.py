"""Lays pages out in headless Chromium and measures what overlaps or is cut off.

Every page stands in frames of the widths asked for, all in one document, so that one start of the
browser does for many pages. The measuring script stands outside the frames: the pages run none.
"""

from __future__ import annotations

import html
import json
import os
import re
import shutil
import subprocess
from importlib import resources
from pathlib import Path

import pytest

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
DESKTOP, PHONE, PRINT = "desktop", "phone", "print"
# Units of the page: A4 less two margins of 14 mm is 182 mm or 688; Letter is wider.
WIDTHS = {DESKTOP: 1280, PHONE: 320, PRINT: 688}

_MEASURE = r"""
function text(node) { return (node.textContent || '').trim().slice(0, 60); }
function crossing(found, frame, boxes, what, slack) {
  boxes.sort((a, b) => a.box.top - b.box.top);
  for (let i = 0; i < boxes.length; i++)
    for (let j = i + 1; j < boxes.length && boxes[j].box.top < boxes[i].box.bottom - slack; j++) {
      const a = boxes[i], b = boxes[j];
      if (a.node.contains(b.node) || b.node.contains(a.node)) continue;
      if (a.box.left < b.box.right - slack && b.box.left < a.box.right - slack)
        found.push([frame.name, what, text(a.node), text(b.node)]);
    }
}
function boxed(nodes) {
  return [...nodes].map(node => ({node, box: node.getBoundingClientRect()}))
                   .filter(one => one.box.width > 0 && one.box.height > 0);
}
// A text stands in lines: it may flow about a drawing, or from one column into the next.
function lined(nodes) {
  return [...nodes].flatMap(node => {
    const range = node.ownerDocument.createRange();
    range.selectNodeContents(node);
    return [...range.getClientRects()].map(box => ({node, box}))
                                      .filter(one => one.box.width > 0 && one.box.height > 0);
  });
}
function measure(frame) {
  const found = [], page = frame.contentDocument, root = page.documentElement;
  if (!page.body.children.length) found.push([frame.name, 'page is empty', '', '']);
  if (root.scrollWidth > root.clientWidth)
    found.push([frame.name, 'page wider than its window', String(root.scrollWidth), '']);
  const told = boxed(page.querySelectorAll('p,li,th,td,caption,h1,h2,h3,h4,dt,dd,figcaption'));
  for (const one of told) {
    if (one.box.left < -0.5 || one.box.right > root.clientWidth + 0.5)
      found.push([frame.name, 'cut off at the side', text(one.node), '']);
    if (one.node.scrollWidth > one.node.clientWidth + 1 && one.node.clientWidth)
      found.push([frame.name, 'spills over', text(one.node), '']);
  }
  const lines = lined(page.querySelectorAll('p,li,th,td,caption,h1,h2,h3,h4,dt,dd,figcaption'));
  crossing(found, frame, lines.concat(boxed(page.querySelectorAll('svg.drawing'))), 'overlap', 3);
  // On a screen no letter is smaller than 12 units; on paper it is held nearer to the eye.
  const least = frame.name.endsWith('print') ? 8 : 11.99;
  for (const svg of page.querySelectorAll('svg.drawing')) {
    const edge = svg.getBoundingClientRect(), scale = edge.width / svg.viewBox.baseVal.width;
    for (const one of boxed(svg.querySelectorAll('*:not(defs *)')))
      if (one.box.left < edge.left - 1 || one.box.right > edge.right + 1 ||
          one.box.top < edge.top - 1 || one.box.bottom > edge.bottom + 1)
        found.push([frame.name, 'outside the drawing', one.node.tagName, text(one.node)]);
    // A letter's box is higher than the letter.
    const words = boxed(svg.querySelectorAll('text')).map(one => ({node: one.node, box: new DOMRect(
      one.box.left, one.box.top + one.box.height * 0.2, one.box.width, one.box.height * 0.6)}));
    crossing(found, frame, words, 'words overlap in a drawing', 1);
    const tags = boxed(svg.querySelectorAll('.tag,.tag-tight,.box,.box-clash'));
    crossing(found, frame, tags, 'tags overlap in a drawing', 1);
    for (const one of words) {
      const size = parseFloat(getComputedStyle(one.node).fontSize) * scale;
      if (size < least) found.push([frame.name, 'letters too small', String(size), text(one.node)]);
    }
  }
  return found;
}
addEventListener('load', () => {
  const found = [...document.querySelectorAll('iframe')].flatMap(measure);
  document.getElementById('found').textContent = JSON.stringify(found);
});
"""

# Run in each frame, for a frame's elements are judged by their own window's styles.
_ASK = r"""
addEventListener('load', async () => {
  const found = [], source = document.getElementById('checker').textContent;
  for (const frame of document.querySelectorAll('iframe')) {
    frame.contentWindow.eval(source);
    const only = frame.name.endsWith('dark') ? {runOnly: ['color-contrast']} : {};
    const told = await frame.contentWindow.axe.run(frame.contentDocument, only);
    for (const one of told.violations)
      for (const node of one.nodes) found.push([frame.name, one.id, node.html.slice(0, 160)]);
    found.push([frame.name, 'asked', String(told.passes.length)]);
  }
  document.getElementById('found').textContent = JSON.stringify(found);
});
"""
_POLICY = '<meta http-equiv="Content-Security-Policy"'
DARK = "dark"


def _found() -> str | None:
    return next(filter(None, map(shutil.which, BROWSERS)), None)


# Asked for, a missing browser is a failure, for then nobody looked.
NEEDS_BROWSER = pytest.mark.skipif(
    "FITCHECK_BROWSER" not in os.environ,
    reason="FITCHECK_BROWSER=1 lays pages out in Chromium; .ci/run does",
)


def browser() -> str:
    """The browser."""
    found = _found()
    assert found, "no Chromium is installed; install it: apt-get install chromium"
    return found


def dumped(page: str, folder: Path, address: str = "") -> str:
    """The document, or what lies at an address, as it is once the browser has loaded it."""
    path = folder / "page.html"
    path.write_text(page, encoding="utf-8")
    profile = folder / "profile"
    wait = "--virtual-time-budget=20000"
    command = [browser(), *FLAGS, wait, f"--user-data-dir={profile}", "--dump-dom"]
    command.append(address or path.as_uri())
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    shutil.rmtree(profile, ignore_errors=True)
    return done.stdout


def sheets_of_paper(page: str, folder: Path, size: str) -> int:
    """How many sheets a page takes in print, of a size as style sheets name it."""
    path, made = folder / "printed.html", folder / "printed.pdf"
    path.write_text(page.replace("@page {", f"@page {{ size: {size};"), encoding="utf-8")
    command = [browser(), *FLAGS, f"--user-data-dir={folder / 'printer'}"]
    command += [f"--print-to-pdf={made}", path.as_uri()]
    subprocess.run(command, capture_output=True, timeout=120, check=True)
    return len(re.findall(rb"/Type\s*/Page\b", made.read_bytes()))


def faults(
    pages: dict[str, str], folder: Path, kinds: tuple[str, ...] = tuple(WIDTHS)
) -> list[list[str]]:
    """What overlaps or is cut off: page and width, what, where."""
    frames = [_frame(name, page, kind) for name, page in pages.items() for kind in kinds]
    document = (
        f"<!DOCTYPE html><meta charset='utf-8'><body><pre id='found'></pre>"
        f"{''.join(frames)}<script>{_MEASURE}</script>"
    )
    return _told(document, folder)


def _told(document: str, folder: Path) -> list[list[str]]:
    match = re.search(r'<pre id="found">(.*?)</pre>', dumped(document, folder), re.DOTALL)
    assert match and match[1], "the measuring script did not run"
    found: list[list[str]] = json.loads(html.unescape(match[1]))
    return found


def barriers(pages: dict[str, str], folder: Path) -> list[list[str]]:
    """What an accessibility checker (axe-core, from the registry) objects to, light and dark."""
    checker = resources.files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8")
    checker = checker.replace("</script", "<\\/script")
    frames = [
        _frame(name, page.replace(_POLICY, "<meta name='policy'"), kind)
        for name, page in pages.items()
        # All pages take their colours from one place, so one of them is asked in the dark.
        for kind in (DESKTOP, DARK)[: 1 + (name == next(iter(pages)))]
    ]
    document = (
        "<!DOCTYPE html><meta charset='utf-8'><body><pre id='found'></pre>"
        f"<script type='text/plain' id='checker'>{checker}</script>"
        f"{''.join(frames)}<script>{_ASK}</script>"
    )
    told = _told(document, folder)
    asked = {frame for frame, what, count in told if what == "asked" and int(count) > 0}
    assert len(asked) == len(frames), "the checker did not look at every page"
    return [one for one in told if one[1] != "asked"]


def _frame(name: str, page: str, kind: str) -> str:
    if kind == PRINT:  # a frame is never printed: what holds in print is made to hold always
        page = page.replace("@media print", "@media all")
    if kind == DARK:
        page = page.replace("@media (prefers-color-scheme: dark)", "@media all")
    return (
        f'<iframe name="{name} {kind}" width="{WIDTHS.get(kind, 1280)}" height="900" '
        f'style="border:0;display:block" srcdoc="{html.escape(page)}"></iframe>'
    )
