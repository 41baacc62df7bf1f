"""Run the program as ``python -m templater``."""

import _signal  # type: ignore[import-not-found]  # ``signal`` takes longer to load, and a stop may come meanwhile
import gc
import os
import sys
from types import ModuleType


class _Later(ModuleType):
    """A module of functions that is loaded when one of them is called: these take a twentieth of a run."""

    def __getattr__(self, name: str) -> object:
        if name.startswith("__"):
            raise AttributeError(name)

        def call(*values: object, **named: object) -> object:
            from importlib import import_module

            if sys.modules[self.__name__] is self:
                del sys.modules[self.__name__]
            return getattr(import_module(self.__name__), name)(*values, **named)

        return call


def run() -> int:
    """Run one command and return its exit status; a stop from the keyboard is told in a line even while it loads."""
    if _signal.getsignal(_signal.SIGINT) is _signal.default_int_handler:  # else somebody wants it passed over
        _signal.signal(_signal.SIGINT, _stop)
    for name in ("urllib.request", "svgwrite.data.svgparser"):  # svgwrite loads them, and never calls them
        sys.modules.setdefault(name, _Later(name))
    from templater.cli.main import main

    status = main()
    gc.freeze()  # all that stands goes with the process: to look through it for rubbish takes a tenth of the time
    _signal.signal(_signal.SIGINT, _signal.SIG_IGN)  # all is done and said: a stop comes too late
    return status


# Python keeps the frames of calls in blocks of 16 kB, and a loop of calls that begin at a block's very end takes and
# gives back one each time, which cost up to a tenth of a run: a first frame that asks for more room gets it for all.
run.__code__ = run.__code__.replace(co_stacksize=1 << 15)


def _stop(_number: int, _frame: object) -> None:
    """End at once: no library that is being loaded can hide it, and nothing was begun yet."""
    os.write(2, b"stopped; nothing was written\n")
    os._exit(130)  # as ``templater.cli.console.INTERRUPTED``, which may not be loaded yet


if __name__ == "__main__":
    sys.exit(run())
