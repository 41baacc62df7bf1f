"""Options and boats that several tests share."""

from pathlib import Path

import pytest
from hypothesis import settings

ROOT = Path(__file__).parent.parent

# The same examples every time: a change that fails did so by itself. To hunt for more, set derandomize to False here.
settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--refresh-golden", action="store_true", help="rewrite tests/golden instead of comparing with it")


@pytest.fixture(scope="session")
def configs() -> Path:
    return ROOT / "configs"
