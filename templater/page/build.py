"""Builds the page: one HTML file with Python, the libraries, the program and its screens inside.

``python -m templater.page.build FETCHED`` takes what ``.ci/setup page`` has fetched: the npm packages ``pyodide`` and
``htm`` and the wheels of ``pins.txt``, each held against its checksum before it is here. Node runs the page's own
Python, which compiles the modules for itself.

The fields of the page are made from the description's own keys: label, help, kind and choices are theirs. A field is
plain data: ``key`` (dotted; of a list's entries the part behind their number), ``label``, ``help``, ``needed`` (True if
a description must have it), ``choices`` (allowed words; of a text examples), ``fields`` (what stands below ``keys``, or
in each entry of a ``list``) and ``kind``: ``length``, ``number``, ``count``, ``choice``, ``yes``, ``date``, ``text``,
``pair``, ``points``, ``lengths``, ``list`` or ``keys``.
"""

import base64
import gzip
import hashlib
import json
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from templater.description.schema import schemas
from templater.page.texts import BUILT

HERE = Path(__file__).parent
#: Modules of the page's screens, each after those that it uses.
SCREENS = ("python", "work", "fields", "boat", "sheets", "fitup", "main")
Field = dict[str, Any]
Schema = Mapping[str, Any]
#: Headings in the order in which a builder measures, with the keys under each; keys named nowhere come last.
SECTIONS = (
    ("The boat", ("boat", "units", "issue")),
    ("Steering post", ("steering_post",)),
    ("Class rule", ("rule",)),
    ("Cockpit floor", ("floor",)),
    ("Runner plank", ("plank",)),
    ("Bolts and sleeves", ("fixing.half_spread", "fixing.settings", "fixing.bolt", "fixing.sleeve")),
    ("Plates", ("fixing.plate",)),
    ("Between floor and plank", ("fixing",)),
    ("Other fittings", ("fittings",)),
    ("Paper and figures", ("print",)),
    ("How well you work", ("accuracy",)),
    ("Spares and all else", ()),
)


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


def form() -> list[dict[str, Any]]:
    """Return every field of the description under its heading, each key once: sections of ``title`` and ``fields``."""
    schema, known = schemas()
    root = _keys("", schema, known)
    taken = {"based_on"}  # the page sees to it in another way
    sections = []
    for title, keys in SECTIONS:
        chosen = keys or tuple(field["key"] for field in root)
        fields = [_without(found, taken) for key in chosen if key not in taken and (found := _find(root, key))]
        taken.update(chosen)
        if fields := [field for field in fields if field["kind"] != "keys" or field["fields"]]:
            sections.append({"title": title, "fields": fields})
    return sections


def _find(fields: list[Field], key: str) -> Field | None:
    for field in fields:
        if field["key"] == key:
            return field
        if key.startswith(f"{field['key']}."):
            return _find(field["fields"], key)
    return None


def _without(field: Field, taken: set[str]) -> Field:
    """Return a group of fields without those that stand under another heading."""
    if field["kind"] != "keys":
        return field
    return {**field, "fields": [_without(one, taken) for one in field["fields"] if one["key"] not in taken]}


def _keys(above: str, schema: Schema, known: Schema) -> list[Field]:
    return [
        {**_field(above + name, part, known), "needed": name in schema.get("required", ())}
        for name, part in schema["properties"].items()
    ]


def _field(key: str, schema: Schema, known: Schema) -> Field:
    part = _resolved(schema, known)
    options = [_resolved(one, known) for one in part.get("anyOf", ())]
    kind, choices, fields = "text", list[Any](), list[Field]()
    if "properties" in part:
        kind, fields = "keys", _keys(f"{key}.", part, known)
    elif "enum" in part:
        kind, choices = "choice", part["enum"]
    elif any(one.get("type") == "number" for one in options):
        kind = "length"
    elif options:
        choices = [word for one in options for word in one.get("examples", one.get("enum", ()))]
    elif part.get("type") == "array":
        entry = _resolved(part.get("items", {}), known)
        kind = "pair" if "prefixItems" in part else "points" if "prefixItems" in entry else "lengths"
        if "properties" in entry:
            kind, fields = "list", _keys("", entry, known)
    else:
        kinds = {"number": "number", "integer": "count", "boolean": "yes"}
        kind = "date" if part.get("format") == "date" else kinds.get(str(part.get("type")), "text")
        choices = part.get("examples", ())
    words = schema.get("description") or part.get("description", "")
    label = key.rpartition(".")[2].replace("_", " ")
    return {
        "key": key, "label": label[:1].upper() + label[1:], "help": words[:1].upper() + words[1:], "kind": kind,
        "choices": [str(word) for word in choices], "fields": fields,
    }  # fmt: skip


def _resolved(schema: Schema, known: Schema) -> Schema:
    name = str(schema.get("$ref", "")).rpartition("/")[2]
    return known[name] if name else schema


if __name__ == "__main__":
    BUILT.write_bytes(build(Path(sys.argv[1])))
