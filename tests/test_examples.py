"""Every example in a docstring gives what it says."""

import doctest
import importlib
import pkgutil

import templater


def test_examples_in_docstrings() -> None:
    names = [one.name for one in pkgutil.walk_packages(templater.__path__, "templater.") if "__main__" not in one.name]
    results = {name: doctest.testmod(importlib.import_module(name)) for name in names}
    assert [name for name, result in results.items() if result.failed] == []
    assert sum(result.attempted for result in results.values()) > 20
