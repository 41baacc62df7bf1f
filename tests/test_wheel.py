"""What is shipped works by itself: a wheel, in a fresh environment outside the checkout, makes the demo boat."""

import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

from templater.pipeline.make import PRODUCTS

ROOT = Path(__file__).parent.parent


def test_a_wheel_installed_elsewhere_makes_the_demo_boat(tmp_path: Path) -> None:
    source, site, away = tmp_path / "source", tmp_path / "site", tmp_path / "away"
    source.mkdir()
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source)
    shutil.copytree(ROOT / "templater", source / "templater", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "configs", away / "configs")
    build = "import sys; from setuptools import build_meta; print(build_meta.build_wheel(sys.argv[1]))"
    environment = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}

    def run(*command: str | Path, cwd: Path = away) -> str:
        done = subprocess.run(command, cwd=cwd, env=environment, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        return done.stdout

    wheel = source / run(sys.executable, "-c", build, source, cwd=source).splitlines()[-1]
    run(sys.executable, "-m", "venv", "--without-pip", site)
    python = site / "bin" / "python"
    run(sys.executable, "-m", "pip", "--python", python, "install", "-q", "--no-deps", "--no-index", wheel)
    # The libraries are those of the tests' environment; a path that is added so runs no path files of its own.
    libraries = Path(run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))").strip())
    (libraries / "tests.pth").write_text(sysconfig.get_path("purelib"), "utf-8")
    assert run(python, "-c", "import templater; print(templater.__file__)").startswith(str(libraries))
    run(site / "bin" / "templater", "make", "configs/whinchat-3.yaml", "--out", "out")
    assert {path.name for path in (away / "out" / "whinchat-3").iterdir()} == PRODUCTS
    rest = "; ".join(
        f"assert main({command!r}.split()) == 0"
        for command in (
            "proof out/whinchat-3", "new mine.yaml", "check mine.yaml", "cut configs/whinchat-3.yaml", "schema",
        )
    )  # fmt: skip
    assert "true: worst deviation" in run(python, "-c", f"from templater.cli.main import main; {rest}")
