"""Replaces a text file as a whole: whoever reads it finds the old state or the new one.

Each state that is replaced is kept beside the file, in `<file>.kept/`, so that it can be had back.
A lock in that folder holds off a second writer; the system lets go of it when a writer dies. An
editor knows nothing of the lock: against it the file is compared with what was read, just before
it is replaced.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import field
from pathlib import Path

from fitcheck.source.frozen import frozen
from fitcheck.source.writing import cannot, check_replaceable, put, refused, sweep, unfinished_start

PATIENCE = 3.0  # seconds to wait for another writer
_BOM = b"\xef\xbb\xbf"

if sys.platform == "win32":
    import msvcrt

    def _seize(lock: int) -> None:
        msvcrt.locking(lock, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _seize(lock: int) -> None:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)


@frozen
class Original:
    """A file as it was read: what a change of it starts from."""

    path: Path
    data: bytes = field(repr=False)

    @property
    def text(self) -> str:
        """Its text, line ends as they are; raises BadInput for what is no UTF-8."""
        try:
            return self.data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            what = f"the file is not UTF-8 text (byte {error.start})"
            raise refused(self.path, what, "save it as UTF-8") from error

    def encoded(self, text: str) -> bytes:
        """A text in the file's own encoding."""
        return (_BOM if self.data.startswith(_BOM) else b"") + text.encode()


def read_original(path: Path) -> Original:
    """The file as it is now; a link is followed, so that the file behind it gets replaced."""
    try:
        real = path.resolve(strict=True)
        return Original(real, real.read_bytes())
    except OSError as error:
        raise cannot(path, "read", error) from error


def rewrite(original: Original, text: str) -> None:
    """Put `text` in the place of what was read; raises BadInput when that can't be done."""
    data = original.encoded(text)
    try:
        check_replaceable(original.path)
        with _alone(original.path) as folder:
            _check_unchanged(original)
            number = _last_number(folder) + 1
            put(_kept(folder, number, original.path), original.data, like=original.path)
            put(original.path, data, like=original.path)
    except OSError as error:
        raise cannot(original.path, "written", error) from error


def undo(path: Path) -> tuple[Path, Path]:
    """Put the last kept state back; the state undone is kept as well.

    Returns the file of the state put back, which is gone now, and that of the state undone.
    """
    current = read_original(path)
    nothing = refused(
        path,
        "no older state of this file is kept",
        "states are kept from the first change that fitcheck made",
    )
    if not _folder(current.path).is_dir():
        raise nothing
    try:
        check_replaceable(current.path)
        with _alone(current.path) as folder:
            _check_unchanged(current)
            for number in range(_last_number(folder), 0, -1):
                kept = _kept(folder, number, current.path)
                if not kept.is_file():
                    continue
                data = kept.read_bytes()
                if data == current.data:  # an undo that was cut off before it tidied up
                    kept.unlink()
                    continue
                undone = _kept(folder, number, current.path, "-undone")
                put(undone, current.data, like=current.path)
                put(current.path, data, like=current.path)
                kept.unlink()
                return kept, undone
    except OSError as error:
        raise cannot(path, "written", error) from error
    raise nothing


@contextmanager
def _alone(path: Path) -> Iterator[Path]:
    """Hold the lock of a file; gives the folder of its kept states."""
    folder = _folder(path)
    folder.mkdir(exist_ok=True)
    lock = os.open(folder / "lock", os.O_RDWR | os.O_CREAT, 0o666)
    try:
        until = time.monotonic() + PATIENCE
        while True:
            try:
                _seize(lock)
                break
            except OSError as error:
                if time.monotonic() > until:
                    raise refused(
                        path,
                        "somebody else is writing this file; nothing was done",
                        "try again when they are done",
                    ) from error
                time.sleep(0.02)
        sweep(folder, ".")
        sweep(path.parent, unfinished_start(path))
        yield folder
    finally:
        os.close(lock)


def _check_unchanged(original: Original) -> None:
    if original.path.read_bytes() != original.data:
        raise refused(
            original.path,
            "the file has changed since it was read; nothing was done",
            "run the command again",
        )


def _folder(path: Path) -> Path:
    return path.with_name(f"{path.name}.kept")


def _kept(folder: Path, number: int, path: Path, mark: str = "") -> Path:
    return folder / f"{number:04}{mark}{path.suffix}"


def _last_number(folder: Path) -> int:
    names = (path.name[:4] for path in folder.iterdir())
    return max((int(name) for name in names if name.isascii() and name.isdigit()), default=0)
