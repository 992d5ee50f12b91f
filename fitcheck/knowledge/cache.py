"""Opens the knowledge, keeping it between runs so that unchanged rules are not parsed again.

One file for each folder of rules, in the user's own cache folder and readable by nobody else.
It holds for just one state of the rules and of fitcheck's code; anything that stands in the way
of reading or writing it only costs the time to load the rules anew.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import sys
import tempfile
from pathlib import Path

from fitcheck.knowledge.base import Knowledge

OFF = "FITCHECK_NO_CACHE"


def load_knowledge(root: Path | None = None) -> Knowledge:
    """The knowledge under `root`, by default the one that travels with fitcheck.

    Raises BadInput with every problem of every file.
    """
    root = root or default_rules()
    kept = _find(root)
    if kept is not None:
        return kept
    from fitcheck.knowledge.load import load_anew  # noqa: PLC0415  not needed for what is kept

    knowledge = load_anew(root)
    _keep(root, knowledge)
    return knowledge


def default_rules() -> Path:
    """The folder of the rules that travel with fitcheck."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_data" / "rules"
    return installed if installed.is_dir() else package.parent / "rules"


def _find(root: Path) -> Knowledge | None:
    """The kept knowledge of a folder in its present state; None when there is none."""
    path = _path(root)
    try:
        if path is None or path.stat().st_uid != os.getuid():
            return None
        with path.open("rb") as file:
            if file.read(32) != _state(root):
                return None
            kept = pickle.load(file)
    except Exception:  # whatever is wrong with a kept file, loading anew mends it
        return None
    return kept if isinstance(kept, Knowledge) else None


def _keep(root: Path, knowledge: Knowledge) -> None:
    """Keep the knowledge for the next run, where a cache folder can be written."""
    path = _path(root)
    if path is None:
        return
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        data = _state(root) + pickle.dumps(knowledge, protocol=pickle.HIGHEST_PROTOCOL)
        with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as file:
            file.write(data)
        Path(file.name).replace(path)
    except OSError:
        return


def _path(root: Path) -> Path | None:
    if os.environ.get(OFF) or not hasattr(os, "getuid"):
        return None
    home = os.environ.get("XDG_CACHE_HOME") or str(Path("~/.cache").expanduser())
    name = hashlib.sha256(str(root.resolve()).encode()).hexdigest()[:16]
    return Path(home) / "fitcheck" / f"{name}.knowledge"


def _state(root: Path) -> bytes:
    """A digest of the rules' texts and of the code that reads them."""
    digest = hashlib.sha256(sys.version.encode())
    for path in sorted(root.rglob("*.yaml")):
        digest.update(str(path.relative_to(root)).encode())
        digest.update(path.read_bytes())
    code = Path(__file__).resolve().parent.parent
    for path in sorted(code.rglob("*.py")):
        status = path.stat()
        digest.update(f"{path}{status.st_mtime_ns}{status.st_size}".encode())
    return digest.digest()
