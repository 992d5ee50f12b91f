"""How a command ends when it can't go on: with one exit code, and never with a traceback.

What is wrong with the input is told with its place. What is wrong with fitcheck itself is told with
all that a report of it needs. An answer that could not be written out whole is no answer.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from traceback import extract_tb
from typing import TYPE_CHECKING

from fitcheck.cli.common import BAD_INPUT
from fitcheck.source import BadInput
from fitcheck.source.place import shown_safely

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

# As shells count an end by the keyboard's interrupt: 128 and the signal's number.
STOPPED = 130
_MOST_CALLS = 8


def ended(run: Callable[[], int], given: Sequence[str]) -> int:
    """Run a command to its end, whatever comes; its exit code."""
    if not _outputs_are_there():
        return BAD_INPUT
    try:
        code = _run(run, given)
        sys.stdout.flush()
    except OSError as error:  # the reader has gone, or the disk is full
        if not isinstance(error, BrokenPipeError):
            _say(f"The answer can't be written: {(error.strerror or str(error)).lower()}.")
        _let_go()
        return BAD_INPUT
    return code


def _run(run: Callable[[], int], given: Sequence[str]) -> int:
    try:
        return run()
    except BadInput as error:
        for problem in error.problems:
            _say(str(problem))
        count = len(error.problems)
        _say(f"{count} problem{'s' if count != 1 else ''}; nothing was done.")
    except SystemExit as error:  # 0: help was asked for; wrong arguments, or a reader that has gone
        return 0 if error.code in (0, None) else BAD_INPUT
    except KeyboardInterrupt:
        _say("Stopped. No file is left half changed.")
        return STOPPED
    except MemoryError:
        _say("There is not enough memory for this; nothing was decided.")
    except OSError as error:
        if error.filename is None:  # of what is written out: nothing else is open here
            raise
        _say(_fault(error, given))
    except Exception as error:
        _say(_fault(error, given))
    return BAD_INPUT


def _fault(error: BaseException, given: Sequence[str]) -> str:
    """What to report of a fault of our own."""
    import platform  # noqa: PLC0415  seldom needed

    from fitcheck import __version__  # noqa: PLC0415

    calls = extract_tb(error.__traceback__)[-_MOST_CALLS:]
    lines = [
        "This is a fault of fitcheck itself; nothing was decided, whatever stands above.",
        "Report these lines, and the files it was given where you may:",
        f"  fitcheck {__version__}, Python {platform.python_version()}, {platform.system()}",
        f"  fitcheck {' '.join(given)}"[:500],
        f"  {type(error).__name__}: {error}"[:500],
        *(f"  {call.name}, {os.path.basename(call.filename)}:{call.lineno}" for call in calls),  # noqa: PTH119
    ]
    return "\n".join(map(shown_safely, lines))


def _outputs_are_there() -> bool:
    """Whether the answer has anywhere to go; what can't be encoded there is spelt out."""
    if sys.stderr is None:  # print would take the answer's own way instead
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123
    if sys.stdout is None:
        _say("The answer has nowhere to go: the output is closed.")
        return False
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")
    return True


def _say(text: str) -> None:
    with suppress(OSError):  # nobody is left to be told
        print(text, file=sys.stderr, flush=True)


def _let_go() -> None:
    """Leave Python nothing to flush at exit, which would fail once more."""
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123
