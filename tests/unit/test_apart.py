"""Work in a process of its own: a stranger's files within limits, whatever the reader does; work beside other work."""

import os
import pickle
import signal

import pytest

from templater.cli import apart
from templater.findings import Finding, TemplaterError


class RefusedError(TemplaterError):
    """The fault that reading is refused with."""


def limited(work: object, size: int = 100) -> object:
    return apart.limited(work, RefusedError, "Q103", "strange.pdf", size)  # type: ignore[arg-type]


def endless() -> None:
    while True:
        pass


def greedy() -> int:
    return len(bytearray(2 * apart.MEMORY))


def test_the_result_and_the_faults_of_the_reader_come_through() -> None:
    assert limited(lambda: {"marks": (1, 2.5, "text")}) == {"marks": (1, 2.5, "text")}

    def broken() -> None:
        raise TemplaterError(Finding("Q104", "strange.pdf", "encrypted"))

    with pytest.raises(TemplaterError, match="encrypted"):
        limited(broken)


def test_endless_reading_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apart, "SECONDS", 1)
    with pytest.raises(RefusedError, match=r"strange.pdf: takes more than 1 s or 500 MB to read"):
        limited(endless)


def test_reading_that_fills_the_memory_is_stopped() -> None:
    with pytest.raises(RefusedError, match="takes more than 8 s or 500 MB to read"):
        limited(greedy)


def test_a_reader_that_crashes_takes_nothing_with_it() -> None:
    with pytest.raises(RefusedError):
        limited(lambda: os.kill(os.getpid(), 9))


def test_a_large_file_has_more_time() -> None:
    with pytest.raises(RefusedError, match="more than 18 s"):
        limited(lambda: os.kill(os.getpid(), 9), size=1_000_000)


def test_without_a_second_process_the_time_is_limited_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(os, "fork")
    monkeypatch.setattr(apart, "SECONDS", 1)
    assert limited(lambda: 7) == 7
    with pytest.raises(RefusedError):
        limited(endless)


def test_work_beside_is_done_in_another_process_and_its_faults_come_through() -> None:
    first, second = apart.beside(os.getpid), apart.beside(lambda: [1, 2.5, b"text"])
    assert second() == [1, 2.5, b"text"]
    assert first() != os.getpid()

    def broken() -> None:
        raise TemplaterError(Finding("Q104", "strange.pdf", "encrypted"))

    with pytest.raises(TemplaterError, match="encrypted"):
        apart.beside(broken)()


def test_work_whose_process_ends_without_a_word_is_done_here() -> None:
    here = os.getpid()
    assert apart.beside(lambda: os.getpid() == here or os.kill(os.getpid(), 9))() is True


def test_a_process_that_ends_amid_its_word_is_taken_for_one_that_never_spoke(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pickle.dumps", lambda said, whole=pickle.dumps: whole(said)[:-9])
    assert apart.beside(lambda: "a long word that is cut off")() == "a long word that is cut off"
    with pytest.raises(RefusedError):
        limited(lambda: "a long word that is cut off")


def test_a_defect_beside_is_met_again_here_where_it_can_be_told() -> None:
    here, met = os.getpid(), list[bool]()

    def broken() -> None:
        met.append(os.getpid() == here)
        raise LookupError("a defect")

    with pytest.raises(LookupError, match="a defect"):
        apart.beside(broken)()
    assert met == [True]


def test_a_process_that_the_system_has_buried_already_gives_its_result() -> None:
    before = signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # as some that start programs leave it
    try:
        assert apart.beside(os.getpid)() != os.getpid()
    finally:
        signal.signal(signal.SIGCHLD, before)


@pytest.mark.parametrize("lacking", ["a second process", "a second processor", "room for one"])
def test_where_nothing_is_to_be_gained_work_beside_is_done_here(monkeypatch: pytest.MonkeyPatch, lacking: str) -> None:
    if lacking == "a second process":
        monkeypatch.delattr(os, "fork")
    elif lacking == "room for one":
        monkeypatch.setattr(os, "fork", lambda: os.close(-1))  # an OSError, as the system's
    else:
        monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0})
    assert apart.beside(os.getpid)() == os.getpid()
