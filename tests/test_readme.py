"""The README says what is so: its commands run, its files are written, its pictures are there."""

import re
from pathlib import Path

import pytest

from templater.cli.main import main
from templater.pipeline.make import PRODUCTS

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text("utf-8")


def test_the_two_commands_are_the_ones_that_are_run_before_a_change_lands() -> None:
    commands = [block.strip() for block in re.findall(r"```sh\n(.*?)```", README, re.DOTALL)][:2]
    ran = (ROOT / ".ci" / "run").read_text("utf-8").splitlines()
    assert len(commands) == 2
    for command in commands:
        assert command in ran


def test_it_opens_with_the_job() -> None:
    title, job = README.split("\n\n")[:2]
    assert title == "# templater"
    assert job.startswith("A builder of a small wooden ice boat")


def test_every_command_it_names_exists(capsys: pytest.CaptureFixture[str]) -> None:
    table = README.split("| command | what it answers |")[1].split("\n\n")[0]
    commands = set(re.findall(r"`((?:printer )?[a-z]+)(?: (?:--)?[A-Za-z.]+)*(?: \.\.)?`", table))
    assert {"check", "make", "proof", "printer set", "centreline", "square", "shim", "handover", "compare"} <= commands
    for command in sorted(commands | {"new", "schema"}):
        with pytest.raises(SystemExit) as end:
            main([*command.split(), "--help"])
        assert end.value.code == 0
        assert "usage: templater " + command in capsys.readouterr().out


def test_every_file_it_promises_is_one_that_make_writes() -> None:
    table = README.split("What `make` writes:")[1].split("\n\n")[1]
    promised = set(re.findall(r"`([a-z-]+\.[a-z]+)`", table))
    assert promised
    assert promised <= PRODUCTS


def test_its_pictures_are_there_and_small() -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)
    assert pictures
    for picture in pictures:
        assert 5_000 < (ROOT / picture).stat().st_size < 200_000
