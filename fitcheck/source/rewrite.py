"""Replaces a text file as a whole: whoever reads it finds the old state or the new one.

Each state that is replaced is kept beside the file, in `<file>.kept/`, so that it can be had back.
A lock in that folder holds off a second writer; the system lets go of it when a writer dies. An
editor knows nothing of the lock: against it the file is compared with what was read, just before
it is replaced.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import field
from pathlib import Path

from fitcheck.source.frozen import frozen
from fitcheck.source.place import BadInput, Place, Problem, Source

PATIENCE = 3.0  # seconds to wait for another writer
_BOM = b"\xef\xbb\xbf"
_UNFINISHED = ".unfinished"

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
            raise _refused(
                self.path, f"the file is not UTF-8 text (byte {error.start})", "save it as UTF-8"
            ) from error

    def encoded(self, text: str) -> bytes:
        """A text in the file's own encoding."""
        return (_BOM if self.data.startswith(_BOM) else b"") + text.encode()


def read_original(path: Path) -> Original:
    """The file as it is now; a link is followed, so that the file behind it gets replaced."""
    try:
        real = path.resolve(strict=True)
        return Original(real, real.read_bytes())
    except OSError as error:
        raise _cannot(path, "read", error) from error


def rewrite(original: Original, text: str) -> None:
    """Put `text` in the place of what was read; raises BadInput when that can't be done."""
    data = original.encoded(text)
    try:
        with _alone(original.path) as folder:
            _check_unchanged(original)
            number = _last_number(folder) + 1
            _write(_kept(folder, number, original.path), original.data, original.path)
            _write(original.path, data, original.path)
    except OSError as error:
        raise _cannot(original.path, "written", error) from error


def undo(path: Path) -> tuple[Path, Path]:
    """Put the last kept state back; the state undone is kept as well.

    Returns the file of the state put back, which is gone now, and that of the state undone.
    """
    current = read_original(path)
    nothing = _refused(
        path,
        "no older state of this file is kept",
        "states are kept from the first change that fitcheck made",
    )
    if not _folder(current.path).is_dir():
        raise nothing
    try:
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
                _write(undone, current.data, current.path)
                _write(current.path, data, current.path)
                kept.unlink()
                return kept, undone
    except OSError as error:
        raise _cannot(path, "written", error) from error
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
                    raise _refused(
                        path,
                        "somebody else is writing this file; nothing was done",
                        "try again when they are done",
                    ) from error
                time.sleep(0.02)
        _sweep(folder, ".")
        _sweep(path.parent, f".{path.name}.")
        yield folder
    finally:
        os.close(lock)


def _sweep(folder: Path, start: str) -> None:
    """Take away what a writer that died left unfinished."""
    for path in folder.iterdir():
        if path.name.startswith(start) and path.name.endswith(_UNFINISHED):
            path.unlink()


def _check_unchanged(original: Original) -> None:
    if original.path.read_bytes() != original.data:
        raise _refused(
            original.path,
            "the file has changed since it was read; nothing was done",
            "run the command again",
        )


def _write(path: Path, data: bytes, like: Path) -> None:
    """Write a file so that it is there whole or not at all, with the rights of `like`."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=_UNFINISHED)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        shutil.copymode(like, name)
        Path(name).replace(path)
    except BaseException:
        with suppress(OSError):
            Path(name).unlink()
        raise
    _settle(path.parent)


def _settle(folder: Path) -> None:
    """Have the folder's entries written out, where the system can do that."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _folder(path: Path) -> Path:
    return path.with_name(f"{path.name}.kept")


def _kept(folder: Path, number: int, path: Path, mark: str = "") -> Path:
    return folder / f"{number:04}{mark}{path.suffix}"


def _last_number(folder: Path) -> int:
    names = (path.name[:4] for path in folder.iterdir())
    return max((int(name) for name in names if name.isdigit()), default=0)


def _cannot(path: Path, done: str, error: OSError) -> BadInput:
    reason = (error.strerror or str(error)).lower()
    return _refused(path, f"the file can't be {done}: {reason}", "check the name and the folder")


def _refused(path: Path, what: str, mend: str) -> BadInput:
    return BadInput([Problem(what, Place(Source(str(path), "")), mend)])
