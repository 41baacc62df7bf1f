"""Options and boats that several tests share."""

from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--refresh-golden", action="store_true", help="rewrite tests/golden instead of comparing with it")


@pytest.fixture(scope="session")
def configs() -> Path:
    return ROOT / "configs"
