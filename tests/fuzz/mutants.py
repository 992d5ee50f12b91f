"""Files and arguments spoilt at random: as a slip, a broken disk or somebody hostile spoils them."""

from __future__ import annotations

import io
import random
import zipfile

NASTY = (
    "\0", "\x1b[31m", "\u202e", "\ufeff", "\r", "\t", '"', "'", "`", "{", "}", "[", "]", ": ", "- ", "#",
    "&a", "*a", "<<: ", "!!python/object ", "%YAML", "---\n", "\n", ",", ";", "=", "@", "|", ">", "~", "\\",
    "1e999999999", "-1", "0", "-0", "9" * 400, "0.000", "1/0", "1/3", "1e-400", "٣", "²", "½", "1,200", "45,4",
    "nan", "inf", ".", "..", "1..2", "2..1", "+-", "+-5 %", " in", " mm", " lbf", " furlong", "none", "\"yes\"",
    "no", "true", "null", "all", "exhaust", "9 intake", "cylinder 99", "\U0001f527", "e\u0301", "x" * 5000,
    " " * 5000, "[" * 200, "{a: " * 200,
)  # fmt: skip


def spoilt_text(text: str, chance: random.Random) -> str:
    """A text with a few changes."""
    for _ in range(chance.choice((1, 1, 1, 2, 5))):
        text = chance.choice(_OF_TEXT)(text, chance)
    return text


def spoilt_bytes(data: bytes, chance: random.Random) -> bytes:
    """What a broken disk or line makes of a file."""
    if not data:
        return b"\xff"
    at, until = sorted(chance.randrange(len(data) + 1) for _ in range(2))
    match chance.randrange(5):
        case 0:
            return data[:at]
        case 1:
            return data[:at] + bytes(until - at) + data[until:]
        case 2:
            return data[:at] + data[until:]
        case 3:
            return data[:at] + chance.randbytes(20) + data[at:]
    changed = bytearray(data)
    for _ in range(chance.choice((1, 3, 30))):
        changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def spoilt_archive(data: bytes, chance: random.Random) -> bytes:
    """A spreadsheet with one of its files spoilt, and the archive whole."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as archive, zipfile.ZipFile(out, "w") as made:
        names = archive.namelist()
        hit = chance.choice(
            [*names, *[name for name in names if "sheet1" in name or "shared" in name] * 4]
        )
        for name in names:
            content = archive.read(name)
            if name == hit:
                text = spoilt_text(content.decode(errors="replace"), chance)
                content = text.encode(errors="replace") if chance.random() < 0.8 else b""
            made.writestr(name, content)
    return out.getvalue()


def spoilt_file(name: str, data: bytes, chance: random.Random) -> bytes:
    """A file spoilt as its kind may be."""
    if name.endswith(".xlsx") and chance.random() < 0.7:
        return spoilt_archive(data, chance)
    if name.endswith((".xlsx", ".parquet", ".duckdb")) or chance.random() < 0.1:
        return spoilt_bytes(data, chance)
    return spoilt_text(data.decode(), chance).encode(errors="replace")


def _insert(text: str, chance: random.Random) -> str:
    at = chance.randrange(len(text) + 1)
    return text[:at] + chance.choice(NASTY) + text[at:]


def _another_value(text: str, chance: random.Random) -> str:
    """What stands behind a colon, a comma or a blank becomes something else."""
    places = [at + 1 for at, letter in enumerate(text) if letter in ":, =("]
    if not places:
        return _insert(text, chance)
    at = chance.choice(places)
    end = next((n for n in range(at + 1, len(text)) if text[n] in ",}\n ])"), len(text))
    other = chance.choice([chance.choice(NASTY), *chance.sample(text.split() or [""], 1)])
    return text[:at] + other + text[end:]


def _cut(text: str, chance: random.Random) -> str:
    at = chance.randrange(len(text) + 1)
    return text[:at] + text[at + chance.choice((1, 1, 3, 20, 500)) :]


def _lines(text: str, chance: random.Random) -> str:
    """A line lost, doubled, moved, or pushed in or out."""
    lines = text.splitlines(keepends=True)
    if len(lines) < 2:
        return _insert(text, chance)
    one, other = chance.randrange(len(lines)), chance.randrange(len(lines))
    match chance.randrange(5):
        case 0:
            del lines[one]
        case 1:
            lines.insert(other, lines[one])
        case 2:
            lines[one], lines[other] = lines[other], lines[one]
        case 3:
            lines[one] = "  " + lines[one]
        case 4:
            lines[one] = lines[one].lstrip()
    return "".join(lines)


def _swapped(text: str, chance: random.Random) -> str:
    """A word in the place of another."""
    words = text.split()
    return text.replace(chance.choice(words), chance.choice(words), 1) if words else text


_OF_TEXT = (_insert, _insert, _another_value, _another_value, _cut, _lines, _swapped)
