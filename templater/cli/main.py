"""The shell: arguments, messages and exit status. The only rooms that print are the ``cli`` modules."""

import contextlib
import gc
import importlib
import io
import os
import signal
import sys
from collections.abc import Iterator, Sequence

from templater.cli.console import DONE, FAULT, INTERRUPTED, OUT_OF_TOLERANCE, print_faults
from templater.findings import Finding, ProofError, TemplaterError


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    traceback = False
    try:
        gc.set_threshold(200_000)  # looking for rubbish every 700 objects costs a seventh of a short command's time
        os.environ.pop("SOURCE_DATE_EPOCH", None)  # the PDF library would take dates from there: same input, same bytes
        _lenient()
        from templater.cli.arguments import parser  # within reach of an early stop from the keyboard

        line = sys.argv[1:] if argv is None else list(argv)
        arguments = parser(*line[:1]).parse_args(line)
        traceback = arguments.traceback
        module, function = arguments.run.split(":")
        with _stoppable():
            status: int = getattr(importlib.import_module(f"templater.cli.{module}"), function)(arguments)
        if sys.stdout is not None:
            sys.stdout.flush()
        return status
    except TemplaterError as fault:
        if traceback:
            raise
        print_faults(fault.findings)
        return OUT_OF_TOLERANCE if isinstance(fault, ProofError) else FAULT
    except KeyboardInterrupt:
        from templater.cli.files import WRITTEN

        done = f"{', '.join(WRITTEN)} may have been written, each whole" if WRITTEN else "nothing was written"
        print(f"stopped; {done}", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output went away (as with `| head`): not our fault, and nothing more to say.
        _drop_output()
        return DONE
    except OSError as fault:  # the one door for all that the system refuses and no command has put in words itself
        if traceback:
            raise
        _drop_output()
        text = f"{fault.strerror or fault} - the system says no"
        print_faults((Finding("D190", str(fault.filename or "output"), text),))
        return FAULT


@contextlib.contextmanager
def _stoppable() -> Iterator[None]:
    """Take what goes wrong after a stop from the keyboard for that stop: a library may have hidden it on its way."""
    asked = False

    def stop(_signal: int, _frame: object) -> None:
        nonlocal asked
        asked = True
        sys.unraisablehook = lambda _: None  # a stop that no caller can be told of is not worth a page of words
        raise KeyboardInterrupt

    usual = signal.getsignal(signal.SIGINT) is not signal.SIG_IGN  # else somebody wants it passed over
    try:
        if usual:
            signal.signal(signal.SIGINT, stop)
        yield
    except BaseException:
        if asked:
            raise KeyboardInterrupt from None
        raise
    finally:
        if usual:
            signal.signal(signal.SIGINT, signal.default_int_handler)


def _lenient() -> None:
    """Let the terminal show a letter that it does not have by its number: a word must not stop a command."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _drop_output() -> None:
    """Let nothing more go to an output that is gone."""
    with contextlib.suppress(OSError, AttributeError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
