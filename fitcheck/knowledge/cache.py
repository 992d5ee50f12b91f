"""Opens the knowledge, keeping it between runs so that unchanged rules are not parsed again.

One file for each folder of rules, in the user's own cache folder and readable by nobody else.
It holds for just one state of the rules and of fitcheck's code, and carries a digest of all that is
kept; anything that stands in the way of reading or writing it only costs the time to load anew.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from fitcheck.knowledge.base import Knowledge
from fitcheck.source.garbage import none_collected

OFF = "FITCHECK_NO_CACHE"
_DIGEST = hashlib.sha1().digest_size


def load_knowledge(root: Path | None = None, beside: Path | None = None) -> Knowledge:
    """The knowledge under `root`, by default the one that travels with fitcheck.

    What stands in the folder `beside` is added to it. Raises BadInput with every problem of every
    file.
    """
    roots = (root or default_rules(), *([beside] if beside else []))
    path = _path(roots)
    state = _state(roots)  # before the rules are read: who changes one meanwhile is asked again
    kept = _find(path, state) if path is not None else None
    if kept is not None:
        return kept
    from fitcheck.knowledge.load import load_anew  # noqa: PLC0415  not needed for what is kept

    knowledge = load_anew(*roots)
    if path is not None:
        # Who writes rules of their own changes them between two runs: kept when asked for twice.
        once = beside is not None and not _was_seen(path, state)
        _keep(path, state, None if once else knowledge)
    return knowledge


def default_rules() -> Path:
    """The folder of the rules that travel with fitcheck."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_data" / "rules"
    return installed if installed.is_dir() else package.parent / "rules"


def _find(path: Path, state: bytes) -> Knowledge | None:
    """The knowledge kept of just this state; None when there is none."""
    try:
        with path.open("rb") as file:
            if os.fstat(file.fileno()).st_uid != os.getuid() or file.read(len(state)) != state:
                return None
            digest, data = file.read(_DIGEST), file.read()
        if _digest(data) != digest:
            return None
        with none_collected():
            kept = pickle.loads(data)
    except Exception:  # whatever is wrong with a kept file, loading anew mends it
        return None
    return kept if isinstance(kept, Knowledge) else None


def _was_seen(path: Path, state: bytes) -> bool:
    """Whether just this state was loaded before."""
    try:
        with path.open("rb") as file:
            return file.read(len(state)) == state
    except OSError:
        return False


def _keep(path: Path, state: bytes, knowledge: Knowledge | None) -> None:
    """Keep the knowledge for the next run, or that it was seen, where a folder can be written."""
    from fitcheck.source.writing import put  # noqa: PLC0415  not needed for what is kept already

    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        data = whole(knowledge) if knowledge is not None else b""
        put(path, state + (_digest(data) + data if data else b""), mode=0o600)
    except (OSError, pickle.PicklingError, RecursionError):
        return


def whole(knowledge: Knowledge) -> bytes:
    """The knowledge with all of it compiled; what is usual lies apart, read when asked for."""
    from fitcheck.knowledge.figures import compile_figures, compile_usual  # noqa: PLC0415
    from fitcheck.knowledge.practice import by_practice  # noqa: PLC0415
    from fitcheck.knowledge.tied import compile_tied  # noqa: PLC0415

    compile_figures(knowledge)
    of_usual = compile_usual(knowledge) | compile_tied(knowledge)
    for rule in knowledge.rules.values():
        knowledge.fast(rule)
        knowledge.exact(rule)
        by_practice(rule, knowledge)
    figures = {key: made for key, made in knowledge.figures.items() if key not in of_usual}
    apart = pickle.dumps((knowledge.usual, of_usual), protocol=pickle.HIGHEST_PROTOCOL)
    kept = replace(knowledge, figures=figures, ordinary=apart)
    kept.by_level = knowledge.by_level
    return pickle.dumps(kept, protocol=pickle.HIGHEST_PROTOCOL)


def _digest(data: bytes) -> bytes:
    """Against damage, not against people: the folder is nobody else's; half the time of SHA-256."""
    return hashlib.sha1(data, usedforsecurity=False).digest()


def _path(roots: tuple[Path, ...]) -> Path | None:
    if os.environ.get(OFF) or not hasattr(os, "getuid"):
        return None
    home = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")  # noqa: PTH111
    if not Path(home).is_absolute():  # nobody's home is known
        return None
    folders = "\0".join(str(root.resolve()) for root in roots)
    name = hashlib.sha256(folders.encode()).hexdigest()[:16]
    return Path(home) / "fitcheck" / f"{name}.knowledge"


def _state(roots: tuple[Path, ...]) -> bytes:
    """A digest of the rules' texts and of the code that reads them."""
    digest = hashlib.sha256(sys.version.encode())
    for name in sorted(name for root in roots for name in _files(str(root), (".yaml", ".yml"))):
        digest.update(f"{name}\0".encode())
        digest.update(_bytes(name))
    code = Path(__file__).resolve().parent.parent
    for name in sorted(_files(str(code), (".py",))):
        status = os.stat(name)  # noqa: PTH116  a path of each would take longer than all the rest
        digest.update(f"{name}{status.st_mtime_ns}{status.st_size}".encode())
    return digest.digest()


def _files(folder: str, endings: tuple[str, ...]) -> Iterator[str]:
    try:
        entries = os.scandir(folder)
    except OSError:  # told when the rules are loaded
        return
    for entry in entries:
        if entry.is_dir(follow_symlinks=False):
            yield from _files(entry.path, endings)
        elif entry.name.endswith(endings):
            yield entry.path


def _bytes(name: str) -> bytes:
    try:
        with open(name, "rb", buffering=0) as file:  # noqa: PTH123
            return file.readall()
    except OSError:  # that it can't be read is told when the rules are loaded
        return b""
