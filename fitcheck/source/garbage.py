"""Reading without looking for garbage: of what is being read all is kept."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def none_collected() -> Iterator[None]:
    """No garbage is looked for meanwhile.

    >>> with none_collected():
    ...     gc.isenabled()
    False
    """
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()
