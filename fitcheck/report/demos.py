"""The invented builds that travel with fitcheck."""

from __future__ import annotations

from pathlib import Path


def demo_folder() -> Path:
    """Where the invented builds are, installed or in a checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_data" / "catalog_demo"
    return installed if installed.is_dir() else package.parent / "catalog_demo"


def demo_names() -> list[str]:
    """What the invented builds are called."""
    return sorted(path.parent.name for path in demo_folder().glob("*/build.yaml"))


def demo_text(name: str) -> str:
    """One of them, as its file says it."""
    return (demo_folder() / name / "build.yaml").read_text(encoding="utf-8")
