"""The shell: arguments, messages and exit status. The only rooms that print are the ``cli`` modules."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence

from templater import __version__
from templater.cli.arguments import add_commands
from templater.cli.console import DONE, FAULT, INTERRUPTED, OUT_OF_TOLERANCE, print_faults
from templater.findings import ProofError, TemplaterError


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    gc.set_threshold(200_000)  # a command is short: looking for rubbish every 700 objects costs a seventh of its time
    parser = _parser()
    arguments = parser.parse_args(argv)
    try:
        status: int = arguments.run(arguments)
        sys.stdout.flush()
        return status
    except TemplaterError as fault:
        if arguments.traceback:
            raise
        print_faults(fault.findings)
        return OUT_OF_TOLERANCE if isinstance(fault, ProofError) else FAULT
    except KeyboardInterrupt:
        print("stopped; nothing was written", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output went away (as with `| head`): not our fault, and nothing more to say.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE


def _parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    parser = argparse.ArgumentParser(
        prog="templater",
        description="Full-scale paper templates for fixing the runner plank of a small wooden ice boat, proved true.",
        epilog="Exit status: 0 done, 1 description or readings at fault, 2 usage, 3 done but out of tolerance, or the "
        "readings decide nothing.",
    )
    parser.add_argument("--version", action="version", version=f"templater {__version__}")
    parser.add_argument("--traceback", action="store_true", help=argparse.SUPPRESS)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    add_commands(commands)
    return parser
