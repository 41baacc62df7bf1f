"""The examples in the docstrings of the tables and the bench give what they show."""

import doctest
import importlib

import pytest

MODULES = [
    "standards.bolts", "standards.fasteners", "standards.screws", "standards.wood",
    "job.drilling", "job.plate_screws", "checks.wood",
]  # fmt: skip


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    result = doctest.testmod(importlib.import_module(f"templater.{name}"))
    assert result.failed == 0
    assert result.attempted > 0
