"""Builds the page: one HTML file with Python, the libraries, the program and its screens inside.

``python -m templater.page.build FETCHED`` takes what ``.ci/setup page`` has fetched: the npm packages ``pyodide`` and
``htm`` and the wheels of ``pins.txt``, each held against its checksum before it is here. Node runs the page's own
Python, which compiles the modules for itself.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

from templater.page.copies import BUILT
from templater.page.form import form

HERE = Path(__file__).parent
#: Modules of the page's screens, each after those that it uses.
SCREENS = ("python", "work", "fields", "boat", "sheets", "fitup", "main")


def build(fetched: Path) -> bytes:
    """Return the page."""
    folder = fetched / "work"
    shutil.rmtree(folder, ignore_errors=True)
    npm = _unpacked(fetched, _made(folder))
    unread = ("web", "host.js", "worker.js", "pack.mjs", "pins.txt", "modules.txt", BUILT.name)  # by Python
    leave = shutil.ignore_patterns("__pycache__", "py.typed", *unread)
    shutil.copytree(HERE.parent, folder / "program/templater", ignore=leave)
    shutil.copy(HERE / "modules.txt", folder)
    subprocess.run(["node", HERE / "pack.mjs", npm / "pyodide", folder, HERE / "pack.py"], check=True)
    return page(folder)


def page(folder: Path) -> bytes:
    """Return the page of what lies in a folder: npm packages and the packed Python and program."""
    pyodide = folder / "npm/pyodide"
    #: What the page carries, by the names that Python's loader asks for.
    parts = {
        **{name: pyodide / name for name in ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm")},
        "python_stdlib.zip": folder / "python.zip", "program.zip": folder / "program.zip",
    }  # fmt: skip
    # The list of packages without any: nothing is fetched.
    lock = {"info": json.loads((pyodide / "pyodide-lock.json").read_text("utf-8"))["info"], "packages": {}}
    host = f"const LOCK = {json.dumps(json.dumps(lock))};\n{_inlined(HERE / 'host.js')}"
    script = "\n".join([
        _library((folder / "npm/htm/preact/standalone.module.js").read_text("utf-8")), host,
        f"const WORKER = {json.dumps(host + _inlined(HERE / 'worker.js'))};", f"const FORM = {json.dumps(form())};",
        *(_inlined(HERE / f"web/{name}.js") for name in SCREENS),
    ]).replace("</script", "<\\/script")  # fmt: skip
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    packed = "\n".join(
        f'<script type="text/plain" data-part="{name}">{base64.b64encode(small).decode()}</script>'
        for name, path in parts.items()
        for small in [gzip.compress(path.read_bytes(), 9, mtime=0)]
    )
    html = (HERE / "web/page.html").read_text("utf-8")
    style = (HERE / "web/page.css").read_text("utf-8")
    for mark, text in (("SUM", digest), ("STYLE", style), ("PARTS", packed), ("SCRIPT", script)):
        html = html.replace(f"<!--{mark}-->", text, 1)
    return html.encode()


def _library(text: str) -> str:
    """Return a module as one constant for each of its exports; its own names stay inside."""
    found = re.search(r"export\s*\{([^}]*)\};?\s*$", text)
    assert found is not None
    pairs = [(pair.split(" as ")[0].strip(), pair.split(" as ")[-1].strip()) for pair in found[1].split(",")]
    names, inner = ", ".join(pair[1] for pair in pairs), ", ".join(f"{new}: {old}" for old, new in pairs)
    return f"const {{{names}}} = (() => {{{text[: found.start()]}; return {{{inner}}};}})();"


def _inlined(path: Path) -> str:
    """Return a module without its lines of comment and its exports."""
    return re.sub(r"^\s*//.*\n|^export (?=\w)", "", path.read_text("utf-8"), flags=re.MULTILINE)


def _unpacked(fetched: Path, folder: Path) -> Path:
    """Unpack the npm packages and the wheels; return the folder of the former."""
    npm = folder / "npm"
    for archive in fetched.glob("*.tgz"):
        shutil.unpack_archive(archive, folder / "tgz")
        (folder / "tgz/package").rename(_made(npm) / archive.name.partition("-")[0])
    shutil.unpack_archive(npm / "pyodide/python_stdlib.zip", folder / "stdlib")
    for wheel in fetched.glob("*.whl"):
        with zipfile.ZipFile(wheel) as inside:
            useful = [name for name in inside.namelist() if ".dist-info/" not in name and "/tests/" not in name]
            inside.extractall(folder / "libs", useful)
    # reportlab asks for an imaging library that is not to be had here, and needs it for pictures only.
    _made(folder / "libs/PIL").joinpath("__init__.py").write_text('__version__ = "0"\n')
    (folder / "libs/PIL/Image.py").write_text("class Image: pass\n")
    return npm


def _made(folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return folder


if __name__ == "__main__":
    BUILT.write_bytes(build(Path(sys.argv[1])))
