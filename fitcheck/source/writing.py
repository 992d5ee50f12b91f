"""The one way a file is written: it is there whole or not at all, and never over what is not ours.

The text goes to a file beside it first, is settled on the disk, and takes the name only then. What
stands there already is replaced where it says itself that fitcheck made it, or where somebody
insists. A file that is read-only, or has a second name (a hard link, which would keep the old
state), is never replaced.
"""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Mapping
from contextlib import suppress
from hashlib import sha256
from itertools import count
from pathlib import Path
from typing import NoReturn

from fitcheck.source.place import BadInput, Place, Problem, Source

UNFINISHED = ".unfinished"
# By these, near its start, a file says that it was made here and can be made again.
MADE_HERE = (b'content="fitcheck"', b'data-made-by="fitcheck"', b'"title": "fitcheck ')
_START = 1000  # bytes in which one of them stands
_LONGEST = 60  # letters of a name that an unfinished file repeats
_SPELT_OUT = "backslashreplace"  # of what no file can hold
_numbers = count()


def write_whole(path: Path, written: str | bytes, *, force: bool = False) -> None:
    """Write a file; raises BadInput, with nothing changed, where that can't or may not be done.

    What is no file (a pipe, a device) gets it poured in.
    """
    write_all({path: written}, force=force)


def write_all(files: Mapping[Path, str | bytes], *, force: bool = False) -> None:
    """Write files that belong together: all, or none where one of them can't or may not be."""
    ready: list[tuple[Path, Path, Path, bool]] = []
    path = Path()
    try:
        for path, written in files.items():
            data = written if isinstance(written, bytes) else written.encode(errors=_SPELT_OUT)
            real = path.resolve() if path.is_symlink() else path
            new = not real.exists()
            if not (new or real.is_file()):
                _pour(real, data)
                continue
            if not new:
                if not (force or _made_here(real)):
                    _is_there(path)
                check_replaceable(real)
            ready.append((path, real, _unfinished(real, data, like=None if new else real), new))
        while ready:
            path, real, unfinished, new = ready[0]
            _name(unfinished, real, new=new)
            del ready[0]
    except FileExistsError:
        _is_there(path)
    except (OSError, ValueError, RuntimeError) as error:  # the last: links in a circle
        raise cannot(path, "written", error) from error
    finally:
        for _, _, unfinished, _ in ready:
            _forget(unfinished)


def check_new(path: Path | None, *, force: bool = False) -> None:
    """Refuse early, before long work, a name that `write_whole` would refuse."""
    if path is not None and path.is_file():
        if not (force or _made_here(path)):
            _is_there(path)
        check_replaceable(path)


def free_name(path: Path, data: bytes) -> Path:
    """The path itself, or `name.2.csv`, `name.3.csv`…: the first with nothing else in it."""
    for number in count(2):
        if not path.exists() or (path.is_file() and path.read_bytes() == data):
            return path
        stem = path.stem if number == 2 else path.stem.rpartition(".")[0]
        path = path.with_name(f"{stem}.{number}{path.suffix}")
    raise AssertionError


def check_replaceable(path: Path) -> None:
    """Refuse a file that is read-only or has a second name; raises BadInput."""
    status = path.stat()
    if not status.st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH):
        raise refused(path, "the file is read-only; nothing was done", "give another name")
    if status.st_nlink > 1:
        what = "the file has another name too (a hard link), which would keep the old state"
        raise refused(path, f"{what}; nothing was done", "give another name, or part the two first")


def put(path: Path, data: bytes, *, like: Path | None = None, mode: int = 0o666) -> None:
    """Put data in the place of a file, with the rights of `like`.

    Raises OSError, with the file as it was and nothing left beside it.
    """
    unfinished = _unfinished(path, data, like=like, mode=mode)
    try:
        _name(unfinished, path)
    except BaseException:
        _forget(unfinished)
        raise


def _unfinished(path: Path, data: bytes, *, like: Path | None = None, mode: int = 0o666) -> Path:
    """A file beside another that is to take its name, whole and settled on the disk."""
    unfinished = path.with_name(
        f"{unfinished_start(path)}{os.getpid()}-{next(_numbers)}{UNFINISHED}"
    )
    handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if like is not None:
            shutil.copymode(like, unfinished)
    except BaseException:
        _forget(unfinished)
        raise
    return unfinished


def _forget(unfinished: Path) -> None:
    with suppress(OSError):
        unfinished.unlink()


def unfinished_start(path: Path) -> str:
    """How the names of a file's unfinished states start."""
    name = path.name
    if len(name) > _LONGEST:  # a folder's names are bounded
        name = sha256(os.fsencode(name)).hexdigest()[:16]
    return f".{name}."


def sweep(folder: Path, start: str) -> None:
    """Take away what a writer that died left unfinished."""
    for path in folder.iterdir():
        if path.name.startswith(start) and path.name.endswith(UNFINISHED):
            path.unlink()


def _name(unfinished: Path, path: Path, *, new: bool = False) -> None:
    """Give a file its name, by which nothing may be known yet where it is `new`."""
    if not (new and _linked(unfinished, path)):
        unfinished.replace(path)
    _settle(path.parent)


def _linked(unfinished: Path, path: Path) -> bool:
    """Whether the file has its name by a link, which one that came meanwhile makes impossible."""
    try:
        path.hardlink_to(unfinished)
    except FileExistsError:
        raise
    except OSError:  # no such links on this disk
        if path.exists():
            raise FileExistsError from None
        return False
    unfinished.unlink()
    return True


def _pour(path: Path, data: bytes) -> None:
    with path.open("wb") as file:
        file.write(data)


def _made_here(path: Path) -> bool:
    with path.open("rb") as file:
        start = file.read(_START)
    return any(mark in start for mark in MADE_HERE)


def _settle(folder: Path) -> None:
    """Have the folder's entries written out, where the system can do that."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _is_there(path: Path) -> NoReturn:
    mend = "give another name, move it away, or write over it with --force"
    raise refused(path, "the file is there already, and may hold what was not made here", mend)


def cannot(path: Path, done: str, error: Exception) -> BadInput:
    """What a failure of the system means for a file."""
    reason = (getattr(error, "strerror", None) or str(error)).lower()
    return refused(path, f"the file can't be {done}: {reason}", "check the name and the folder")


def refused(path: Path, what: str, mend: str) -> BadInput:
    """A problem with a file as a whole."""
    return BadInput([Problem(what, Place(Source(str(path), "")), mend)])
