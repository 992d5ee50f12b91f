"""A finished work order typed into a build file, as a person would: from its data and the prices.

What a step came to is written as measured, at the figure it names and with the digits it has. What
is not known any more is taken out of the file, and parts that were bought stand in it as the price
file has them. Nothing of the plan itself is read.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from typing import Any

from fitcheck.knowledge import Knowledge
from fitcheck.model import SIDES, Layout, Position, Selector

EVIDENCE = ("measured", "predicted", "claimed", "assumed")
ABOUT = ("by", "when", "with")
AFTER = {"by": "whoever did the work", "when": "2027-01-15"}
Tree = dict[str, Any]


def typed_in(build: Tree, order: Tree, prices: Tree, layout: Layout, knowledge: Knowledge) -> Tree:
    """The build file with the work order done: its tree, and the data that `plan --json` gives."""

    def gone(name: str, places: list[str]) -> None:
        positions = layout.positions(knowledge.attributes[name].each)
        _gone(build["parts"], name, places, positions)

    build = deepcopy(build)
    offers = {offer["part"]["name"]: offer for offer in prices["parts"]}
    bought = set()
    for step in order["steps"]:
        if step["operation"] is None:
            offer = offers[step["work"].removeprefix("get ")]
            _bought(build["parts"], offer)
            bought.add(offer["fits"])
    for one in order["measure"]:
        # What is only to be proved of a part that was bought stands in the price file.
        if one["undone"] or one["attribute"].partition(".")[0] not in bought:
            gone(one["attribute"], one["places"])
    for name, places in _finished(order).items():
        for place, said in places.items():
            gone(name, [place])
            _said(build["parts"], name, place, said)
    return build


def _finished(order: Tree) -> dict[str, dict[str, str]]:
    """What each figure came to in the end, by place; not where a later step takes it back."""
    undone = {(one["attribute"], place) for one in order["measure"] if one["undone"]
              for place in one["places"]}  # fmt: skip
    found: dict[str, dict[str, str]] = {}
    for step in order["steps"]:
        for target in step["targets"]:
            for place in target["places"]:
                after = target["after"]
                if (target["attribute"], place) not in undone:
                    typed = f"{_digits(after)} {after['unit']}".strip()
                    found.setdefault(target["attribute"], {})[place] = typed
    return found


def _digits(figure: Tree) -> str:
    """A figure as a gauge ten times as fine as the tolerance reads it."""
    tolerance = f"{figure['tolerance']:.9f}".rstrip("0").partition(".")[2]
    return f"{figure['figure']:.{len(tolerance) + 1}f}"


def _bought(parts: Tree, offer: Tree) -> None:
    """Another part in a slot; what the price file says is kept stays as it was written."""
    slot, side = offer["fits"], offer.get("side")
    kept = {name for name in offer.get("keeps", []) if "." not in name}
    new = deepcopy(offer["part"])
    for old in _holders(parts, slot):
        part = old[slot]
        if side:
            by_side = {one: deepcopy(part.get(one, part if not set(part) & set(SIDES) else {}))
                       for one in SIDES}  # fmt: skip
            old[slot] = {**by_side, side: _with_kept(new, by_side[side], kept)}
        else:
            old[slot] = _with_kept(new, part, kept)
        return
    parts[slot] = new


def _with_kept(new: Tree, old: Tree, kept: set[str]) -> Tree:
    new = deepcopy(new)
    for evidence in EVIDENCE:
        for block in _blocks(old, evidence):
            about = {name: block[name] for name in ABOUT if name in block}
            if stays := {name: block[name] for name in kept if name in block}:
                new[evidence] = [*_blocks(new, evidence), about | stays]
    return new


def _holders(parts: Tree, slot: str) -> Iterator[Tree]:
    """The trees in which a slot stands, the head's own among them."""
    for tree in (parts, parts.get("head", {}).get("contains", {})):
        if isinstance(tree, dict) and slot in tree:
            yield tree


def _pieces(parts: Tree, slot: str) -> Iterator[tuple[Tree, str]]:
    """The parts listed in a slot, each with the side that it is listed for."""
    for tree in _holders(parts, slot):
        part = tree[slot]
        if isinstance(part, dict):
            sides = [side for side in SIDES if side in part]
            yield from ((part[side], side) for side in sides) if sides else [(part, "")]


def _blocks(part: Tree, evidence: str) -> list[Tree]:
    found = part.get(evidence, [])
    return found if isinstance(found, list) else [found]


def _gone(parts: Tree, name: str, places: list[str], positions: list[Position]) -> None:
    """Take out what is written of a figure at some places; what is written of others stays."""
    slot, short = name.split(".")
    out = [_read(place) for place in places]
    stay = [at for at in positions if not any(one.covers(at) for one in out)]
    for part, side in _pieces(parts, slot):
        here = [at for at in stay if not side or at.side in (None, side)]
        for evidence in EVIDENCE:
            for block in _blocks(part, evidence):
                if short in block:
                    left = _left(block.pop(short), here)
                    if left:
                        block[short] = left


def _left(written: object, stay: list[Position]) -> Tree:
    """What is left of a value, place by place; the one that points most exactly holds."""
    by_place = written if isinstance(written, dict) else {"all": written}
    ordered = sorted(by_place.items(), key=lambda item: _read(item[0]).weight)
    left: Tree = {}
    for at in stay:
        said = [value for where, value in ordered if _read(where).covers(at)]
        if said:
            left[_words(at)] = said[-1]
    return left


def _read(where: str) -> Selector:
    return Selector.read(where) or Selector()


def _words(at: Position) -> str:
    if at.cylinder:
        return f"{at.cylinder} {at.side}" if at.side else f"cylinder {at.cylinder}"
    return f"bank {at.bank}" if at.bank else "all"


def _said(parts: Tree, name: str, place: str, value: str) -> None:
    """Write a figure of one place as measured after the work."""
    slot, short = name.split(".")
    pieces = list(_pieces(parts, slot))
    if not pieces:
        parts[slot] = {}
        pieces = [(parts[slot], "")]
    for part, side in pieces:
        if not side or side in place or place == "all":
            block = {**AFTER, short: value if place == "all" else {place: value}}
            part["measured"] = [*_blocks(part, "measured"), block]
