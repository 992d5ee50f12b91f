"""`python -m fitcheck`, and the command that is installed."""

import sys


def main() -> int:
    """Run a command; the keyboard's interrupt ends it while it loads as it does later."""
    try:
        from fitcheck.cli import main as run  # noqa: PLC0415
    except KeyboardInterrupt:
        # As `fitcheck.cli.ending` says it: what was loaded half can't be loaded again.
        sys.stderr.write("Stopped. No file is left half changed.\n")
        return 130
    return run()


if __name__ == "__main__":
    sys.exit(main())
