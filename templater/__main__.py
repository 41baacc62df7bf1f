"""Run the program as ``python -m templater``."""

import sys


def run() -> int:
    """Run one command and return its exit status; a stop from the keyboard while it loads is told in a line."""
    try:
        from templater.cli.main import main
    except KeyboardInterrupt:
        sys.stderr.write("stopped; nothing was written\n")
        return 130  # as ``templater.cli.console.INTERRUPTED``, which may not be loaded yet
    return main()


if __name__ == "__main__":
    sys.exit(run())
