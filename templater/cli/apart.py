"""Work in a process of its own: within limits of time and memory what a stranger may have made, else to save time."""

import _thread
import os
import signal
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any, NoReturn, TypeVar

from templater.findings import Finding, TemplaterError

T = TypeVar("T")
#: What reading may take: seconds of processor time, more of them for large files, and bytes beyond what is in use.
SECONDS, BYTES_A_SECOND, MEMORY = 8, 100_000, 500_000_000


def limited(work: Callable[[], T], fault: type[TemplaterError], code: str, file: str, size: int = 0) -> T:
    """Return the result of work that takes longer by the size that a sound file has, bytes; raises what it raises.

    Raises a fault of this code, on the file, if the work takes too long or too much memory. Where a system cannot
    start a second process, as Windows, memory has no limit.
    """
    seconds = SECONDS + size // BYTES_A_SECOND
    try:
        return _begin(work, seconds)() if hasattr(os, "fork") else _timed(work, seconds)
    except (EOFError, MemoryError, TimeoutError):
        text = f"takes more than {seconds} s or {MEMORY // 1_000_000} MB to read - it is refused"
        raise fault(Finding(code, "", f"{file}: {text}")) from None


def beside(work: Callable[[], T]) -> Callable[[], T]:
    """Begin work beside what is done here; return what waits for its result.

    It is done here, when it is waited for, where nothing is to be gained, or the other process fails or cannot be had.
    """
    try:
        begun = _begin(work) if len(os.sched_getaffinity(0)) > 1 else work
    except (AttributeError, OSError):  # only Linux says how many processors there are
        return work

    def result() -> T:
        try:
            return begun()
        except Exception:
            return work()

    return result


def end_with_parent() -> None:
    """Leave stops from the keyboard to the process above, and end with it."""
    import ctypes

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(1, signal.SIGTERM)  # PR_SET_PDEATHSIG. Source: prctl(2) of Linux.


def _begin(work: Callable[[], T], seconds: int = 0) -> Callable[[], T]:
    """Begin work in a process of its own, limited if ``seconds`` are given.

    Return what waits for the result; that raises what the work raised, EOFError if the process ends without a word.
    """
    import pickle  # slow to load, as ``resource`` is, and few commands need it

    here, there = os.pipe()
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})  # for the child a stop is nothing
    try:
        child = os.fork()
        if not child:
            _child(work, seconds, there)
    finally:
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
        os.close(there)

    def result() -> T:
        try:
            with os.fdopen(here, "rb") as stream:
                said: T | Exception = pickle.load(stream)
        except pickle.UnpicklingError:
            raise EOFError from None  # it ended amid its last word
        finally:
            with suppress(ProcessLookupError, ChildProcessError):  # the system may have buried it already
                os.kill(child, 9)
                os.waitpid(child, 0)
        if isinstance(said, Exception):
            raise said
        return said

    return result


def _child(work: Callable[[], Any], seconds: int, pipe: int) -> NoReturn:
    """Write the work's result to the pipe, or what it raised."""
    import pickle

    try:
        end_with_parent()
        if seconds:
            import resource

            resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
            with suppress(OSError, ValueError):  # only Linux says how much is in use
                used = int(Path("/proc/self/statm").read_bytes().split()[0]) * resource.getpagesize()
                resource.setrlimit(resource.RLIMIT_AS, (used + MEMORY, used + MEMORY))
        try:
            said = work()
        except Exception as fault:
            said = fault
        with os.fdopen(pipe, "wb") as stream:
            stream.write(pickle.dumps(said))
    finally:
        os._exit(0)


def _timed(work: Callable[[], T], seconds: int) -> T:
    """Do work here; raises TimeoutError once it takes too long."""
    late = threading.Event()

    def stop() -> None:
        late.set()
        _thread.interrupt_main()

    timer = threading.Timer(seconds, stop)
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # behind a shell's & it would be passed over
    try:
        timer.start()
        result = work()
        timer.cancel()
        timer.join()  # a stop that comes late comes here
        return result
    except KeyboardInterrupt:
        if late.is_set():
            raise TimeoutError from None
        raise
    finally:
        timer.cancel()
        signal.signal(signal.SIGINT, before)
