"""Insertions into YAML: what PyYAML reads afterwards, and that nothing else has changed."""

import random
import re

import pytest
import yaml

from fitcheck.source.insertion import with_entries

ONE = {
    "by": "a shop",
    "when": "2026-01-02",
    "bore": {"3 exhaust": '2.0 "', "all": "1 in"},
    "ok": "yes",
    "fuels": ["petrol", "no"],
}
TWO = {"by": "me: 2", "depth": "-0.010 in"}
FORMS = {
    "block": "head:\n  measured:\n    by: me\n    # cold\n    x: 1  # thrice\n\n# end\nb: 1\n",
    "indented by one": "head:\n measured:\n  by: me\n  x: 1\n z: 1\n",
    "indented by four": "head:\n    measured:\n        by: me\n        x: 1\n    z: 1\n",
    "single blank beneath": "head:\n  measured:\n   by: me\n   x: |\n    a\n\n    b\n  z: 1\n",
    "list": "head:\n  measured:\n    - {by: me}\n    - by: you\n      x: 1  # last\n  z: 1\n",
    "list under its key": "head:\n  measured:\n  - by: me\n  z: 1\n",
    "flow": "head:\n  measured: {by: me, when: 2026-09-12, x: 1}  # remark\n  z: 1\n",
    "flow over lines": "head:\n  measured: {by: me,\n    x: 1}\n  z: 1\n",
    "flow on its own line": "head:\n  measured:\n    # remark\n    {by: me}\n  z: 1\n",
    "empty list": "head:\n  measured: []\n  z: 1\n",
    "list in flow": "head:\n  measured: [{by: me},\n    {x: 1}]  # remark\n",
    "all in flow": "head: {claimed: {a: 1}, measured: {b: 1}, }  # remark\n",
    "all in flow, list": "head: {measured: [{b: 1}]}\n",
    "nothing measured": "head:\n  name: x  # a name\n  # what came with it\n  contains: {a: 1}\n",
    "only contents": "head:\n  contains: {a: 1}\n",
    "empty": "head: {}\nb: 1\n",
    "in flow, nothing measured": "head: {claimed: {a: 1}}\n",
    "folded text at the end": "head:\n  measured:\n    by: >-\n      a\n      b\n\n# end\nz: 1\n",
    "no line end": "head:\n  measured:\n    by: me",
    "line ends of another system": "head:\r\n  measured:\r\n    by: me # x\r\n  z: 1\r\n",
    "quoted": "\"head\":\n  'measured':\n    \"by\": 'it''s me'\n",
}


def _read(text):
    return yaml.load(text, Loader=yaml.BaseLoader)


def _wanted(text, entries):
    wanted = _read(text)
    before = wanted["head"].get("measured")
    listed = before if isinstance(before, list) else [] if before is None else [before]
    every = [*listed, *entries]
    wanted["head"]["measured"] = every[0] if before is None and len(every) == 1 else every
    return wanted


def _holds(new, old):
    """Whether the old text stands in the new one: its every sign, and each remark as a whole."""
    return _within("".join(old.split()), "".join(new.split())) and _within(
        re.findall(r"#[^\r\n]*", old), re.findall(r"#[^\r\n]*", new)
    )


def _within(few, many):
    left = iter(many)
    return all(any(one == other for other in left) for one in few)


@pytest.mark.parametrize("entries", [[ONE], [ONE, TWO]], ids=["one", "two"])
@pytest.mark.parametrize("form", FORMS)
def test_what_is_added_is_read_and_the_rest_is_as_it_was(form, entries):
    text = FORMS[form]
    new = with_entries(text, ["head"], "measured", entries)
    assert _read(new) == _wanted(text, entries)
    assert _holds(new, text)
    ends = set(re.findall(r"\r\n|\n", new))
    assert ends == set(re.findall(r"\r\n|\n", text)) or "no line end" in form
    again = with_entries(new, ["head"], "measured", [TWO])
    assert _read(again) == _wanted(new, [TWO])
    assert _holds(again, new)


def _random_mapping(random_, depth, indent, flow):
    """A mapping in a random style: remarks, blank lines, indents, flow or block."""
    keys = random_.sample(["by", "when", "bore", "stem", "x1", "note"], random_.randint(1, 4))
    if flow:
        pieces = [f"{key}: {_random_flow(random_, depth)}" for key in keys]
        return "{" + random_.choice([", ", ",\n" + " " * (indent + 2)]).join(pieces) + "}"
    step = random_.randint(1, 4)
    lines = []
    for key in keys:
        if random_.random() < 0.2:
            lines.append(" " * random_.randint(0, indent + 3) + f"# remark {random_.random()}")
        if random_.random() < 0.1:
            lines.append("")
        if depth and random_.random() < 0.3:
            inner = _random_mapping(random_, depth - 1, indent + step, False)
            lines.append(" " * indent + f"{key}:{random_.choice(['', '  # why'])}\n{inner}")
        elif random_.random() < 0.15:
            pad = " " * (indent + step)
            style = random_.choice([">-", "|", "|-", ">"])
            lines.append(" " * indent + f"{key}: {style}\n{pad}some text\n\n{pad}more of it")
        else:
            value = _random_flow(random_, depth)
            lines.append(
                " " * indent + f"{key}: {value}{random_.choice(['', ' # measured twice'])}"
            )
    return "\n".join(lines)


def _random_flow(random_, depth):
    if depth and random_.random() < 0.2:
        return _random_mapping(random_, 0, 8, True)
    return random_.choice(["1.720 in", '"1.52"', "'it''s'", "3", "a b"])


def test_400_files_in_every_style_keep_all_they_say():
    random_ = random.Random(11)
    for _ in range(400):
        indent = random_.randint(1, 4)
        pad = " " * indent
        head = [f"{pad}name: a head  # invented"]
        kind = random_.choice(["none", "flow", "block", "list", "flow list"])
        if kind == "flow":
            head.append(f"{pad}measured: {_random_mapping(random_, 1, indent, True)}")
        elif kind == "block":
            step = random_.randint(1, 4)
            head.append(f"{pad}measured:\n{_random_mapping(random_, 1, indent + step, False)}")
        elif kind == "list":
            inside = indent + random_.randint(0, 3)
            items = [_random_mapping(random_, 0, inside + 2, True) for _ in range(2)]
            head.append(
                f"{pad}measured:\n" + "\n".join(f"{' ' * inside}- {item}" for item in items)
            )
        elif kind == "flow list":
            head.append(f"{pad}measured: [{_random_mapping(random_, 1, indent, True)}]")
        if random_.random() < 0.5:
            head.append(f"{pad}# what came with it\n{pad}contains:\n{pad}  valve: {{a: 1}}")
        random_.shuffle(head)
        text = (
            "# a file\nhead:\n" + "\n".join(head) + "\n" + random_.choice(["", "\n# end\nz: 1\n"])
        )
        new = with_entries(text, ["head"], "measured", [ONE])
        assert _read(new) == _wanted(text, [ONE]), text
        assert _holds(new, text), text


@pytest.mark.parametrize(
    "value",
    [
        "yes",
        "1.52",
        "0x1F",
        "a: b",
        "#1",
        "-1 in",
        "it's",
        '2.0 "',
        "null",
        "~",
        "",
        " x",
        "a, b",
        "[a]",
        "1e3",
        "ä",
        "%x",
        "@x",
        "2026-01-02",
        "0.5 +-0.1 in",
        "1:30",
    ],
)
def test_any_value_comes_back_as_the_text_it_was(value):
    entry = {"by": value, "where": {value or "all": value}, "some": [value, value]}
    for text in ("head:\n  a: 1\n", "head: {a: 1}\n"):
        assert _read(with_entries(text, ["head"], "measured", [entry])) == {
            "head": {"a": "1", "measured": entry}
        }
