"""The page's texts: opened, changed, saved; the built page with a boat inside or as a folder.

A value put into a text is text as a builder types it, a number, True, False, or a list or mapping of those, which is
written in brackets. It goes in at its place; every other letter, comments and layout with it, stays as it was. A new
key goes where its section ends.
"""

import base64
import io
import json
import re
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from templater.findings import Finding, TemplaterError
from templater.reader.compose import Span, spans
from templater.share.names import is_pdf

#: Where the build leaves the page; a wheel made for release carries it.
BUILT = Path(__file__).parent / "templater.html"
_JOB = '<script type="application/json" id="job">{}</script>'
_PART = re.compile(rb'<script type="text/plain" data-part="([^"]+)">([^<]*)</script>')


#: Texts that YAML reads as they stand, in brackets too. Source: YAML 1.2.2, 7.3.3, without the signs that may not lead.
_PLAIN = re.compile(r"[\w./+(%-][\w ./+()%'\"°-]*", re.ASCII)
#: A comma where a point belongs; three figures behind it may be thousands, which Python asks about.
_COMMA = re.compile(r"\A([+-]?[0-9]+),([0-9]{1,2}(?![0-9]).*)\Z")
_NOT_TEXT = frozenset(["null", "true", "false", "yes", "no", "on", "off", ""])


def with_job(page: bytes, job: Mapping[str, Any]) -> bytes:
    """Return the page with a job inside: the texts of ``engine.Job``. What stands in them cannot end the script."""
    packed = base64.b64encode(json.dumps(dict(job), ensure_ascii=False).encode()).decode()
    return page.replace(_JOB.format("").encode(), _JOB.format(packed).encode(), 1)


def as_folder(page: bytes, version: str) -> dict[str, bytes]:
    """Return the page as files to host by name: its parts apart, and what makes it work on a phone and offline."""
    files: dict[str, bytes] = {}

    def apart(match: re.Match[bytes]) -> bytes:
        name = f"{match[1].decode()}.bin"
        files[name] = base64.b64decode(match[2])
        return b'<script type="text/plain" data-part="%s" data-at="%s"></script>' % (match[1], name.encode())

    index = _PART.sub(apart, page)
    for closed, opened in (
        (b"connect-src 'none'", b"connect-src 'self'"), (b"worker-src blob:", b"worker-src 'self' blob:"),
        (b"manifest-src 'none'", b"manifest-src 'self'"), (b"img-src ", b"img-src 'self' "),
        (b"<!--FOLDER-->", b'<link rel="manifest" href="templater.webmanifest">'),
    ):  # fmt: skip
        index = index.replace(closed, opened, 1)
    files["index.html"], web = index, BUILT.with_name("web")
    files |= {name: (web / name).read_bytes() for name in ("icon.svg", "templater.webmanifest")}
    keeper = (web / "keeper.js").read_text("utf-8").replace("VERSION", version)
    files["sw.js"] = keeper.replace("FILES", json.dumps(["./", *sorted(files)])).encode()
    return files


def values(text: str) -> dict[str, Any]:
    """Return what stands in a text: a value's letters, a list's entries as a list, by key."""

    def data(span: Span) -> Any:
        if span.kind == "value":
            return span.text
        below = {name: data(part) for name, part in span.parts.items()}
        return list(below.values()) if span.kind == "list" else below

    root = spans(text)
    return data(root) if root is not None and root.kind == "keys" else {}


def job_of(name: str, data: bytes) -> dict[str, Any]:
    """Return the texts in a file as parts of a ``Job``; raises TemplaterError if it is nothing that the page knows."""
    if is_pdf(data):
        from templater.share.handover import BASE, READINGS, unpack

        unpacked = unpack(data, name)
        texts = {role: {item.name: item.data.decode("utf-8-sig") for item in unpacked.others if item.role == role}
                 for role in (BASE, READINGS)}  # fmt: skip
        return {
            "text": unpacked.description.data.decode("utf-8-sig"), "file": unpacked.description.name,
            "bases": texts[BASE], "readings": next(iter(texts[READINGS].values()), ""),
        }  # fmt: skip
    if len(data) > 64_000_000:
        raise _not_opened(name, "too large - a page, a PDF or a text is opened")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _not_opened(name, "neither text nor PDF - open a YAML, a PDF or a page") from None
    inside = re.search(_JOB.format("(.*?)"), text, re.DOTALL)
    if inside or re.match(r"\s*<(!doctype|html)", text, re.IGNORECASE):
        job = _from_page(inside[1]) if inside else {}
        if not job.get("text"):
            raise _not_opened(name, "a page without a boat in it - open one saved with its boat")
        return job
    keys = values(text)
    if keys.keys() & {"square", "centreline", "shim"} and "plank" not in keys:
        return {"readings": text}
    return {"text": text, "file": name}


def _not_opened(name: str, why: str) -> TemplaterError:
    return TemplaterError(Finding("D190", "", f"{name}: {why}"))


def _from_page(inside: str) -> dict[str, Any]:
    """Return the job that another page carries: texts only, whatever else stands there; nothing if it is none."""
    try:
        found = json.loads(base64.b64decode(inside))
        job: dict[str, Any] = {key: str(found[key]) for key in ("text", "file", "readings") if key in found}
        return {**job, "bases": {str(key): str(value) for key, value in dict(found.get("bases", {})).items()}}
    except (ValueError, TypeError, AttributeError):
        return {}


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Return files as one zip; the same files give the same bytes."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in sorted(files):
            archive.writestr(zipfile.ZipInfo(name), files[name], zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def put(text: str, key: str, value: Any) -> str:
    r"""Return the text with one value in it, in place of what stood under the dotted key, or new; None leaves it out.

    The number behind the last entry of a list adds one, and so does ``+``, be there a list or not.

    >>> put("boat: A  # mine\n", "boat", "B"), put("a: {b: 1}\n", "a.c", "9 1/2 in"), put("a:\n  b: 1  # x\n", "a.c", 2)
    ('boat: B  # mine\n', 'a: {b: 1, c: 9 1/2 in}\n', 'a:\n  b: 1  # x\n  c: 2\n')
    >>> put("a: [1]\n", "a.+", 2), put("a: []\n", "a.+", 2), put("b: 1\n", "a.+", 2)
    ('a: [1, 2]\n', 'a: [2]\n', 'b: 1\na: [2]\n')

    Raises TemplaterError if the text is no YAML.
    """
    root, names = _root(text), key.split(".")
    if names[-1] == "+":
        there = root.at(key.removesuffix(".+")) if root is not None else None
        names[-1] = str(len(there.parts) if there is not None else 0)
    elif value is None:
        return leave_out(text, key)
    if root is None:
        return f"{text}{'' if not text or text.endswith(chr(10)) else chr(10)}{_block(names, value, 0)}"
    span = root.at(".".join(names))
    if span is None:
        depth = len(names) - 1
        while (parent := root.at(".".join(names[:depth]))) is None:
            depth -= 1
        return _added(text, parent, names[depth:], value)
    start = span.start
    if span.kind != "value" and not span.flow:
        start = len(text[:start].rstrip(" \n\r"))
        while "#" in text[_line(text, start) : start] and start > span.head:  # a comment above the section
            start = len(text[: text.rfind("#", 0, start)].rstrip(" \n\r"))
    return _replaced(text, start, span.end, value)


def leave_out(text: str, key: str) -> str:
    r"""Return the text without a key or a list's entry; a section that would be left empty goes with its last key.

    >>> leave_out("a: {b: 1, c: 2}\n", "a.b"), leave_out("a:\n  b: 1\nd: 2\n", "a.b"), leave_out("a: [1, 2]\n", "a.1")
    ('a: {c: 2}\n', 'd: 2\n', 'a: [1]\n')

    Raises TemplaterError if the text is no YAML.
    """
    root = _root(text)
    above, _, name = key.rpartition(".")
    parent = root.at(above) if root is not None else None
    if parent is None or name not in parent.parts:
        return text
    if len(parent.parts) == 1 and above:
        return leave_out(text, above)
    span, parts = parent.parts[name], list(parent.parts.values())
    number = parts.index(span)
    if parent.flow:
        if number:
            return text[: parts[number - 1].end] + text[span.end :]
        return text[: span.head] + text[parts[1].head :]
    start = _line(text, span.head)
    if parent.kind == "list":
        start = _line(text, text.rfind("-", 0, span.head + 1))
    end = text.find("\n", span.end) + 1 or len(text)
    before = text[start : span.head].strip()
    if before.strip(" -"):  # stands behind something on its line
        return text[: span.head].rstrip() + text[end - 1 :]
    if before == "-" and parent.kind == "keys":
        return text[: span.head] + text[parts[1].head :]
    return text[:start] + text[end:]


def written(value: Any) -> str:
    """Return a value as YAML that may stand in brackets.

    >>> written("9 1/2 in"), written("21,5"), written("true: so"), written([[1.5, -2], {"a": True}])
    ('9 1/2 in', '21.5', '"true: so"', '[[1.5, -2], {a: true}]')
    """
    if isinstance(value, bool) or value is None:
        return json.dumps(value)
    if isinstance(value, int | float):
        return f"{value:.10g}"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{name}: {written(item)}" for name, item in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(written, value)) + "]"
    text = _COMMA.sub(r"\1.\2", str(value).strip())
    odd = text.lower() in _NOT_TEXT or text.endswith((":", "-")) or " #" in text or text.startswith(("- ", "%"))
    return text if _PLAIN.fullmatch(text) and not odd else json.dumps(text, ensure_ascii=False)


def _root(text: str) -> Span | None:
    root = spans(text)
    if root is None and any(line.split("#")[0].strip() for line in text.splitlines()):
        why = "the text cannot be read as it stands, so no field can be changed - put it right in the text first"
        raise TemplaterError(Finding("D101", "", why))
    return None if root is None or (root.kind == "value" and not root.text) else root


def _line(text: str, at: int) -> int:
    """Return where the line of a letter begins."""
    return text.rfind("\n", 0, at) + 1


def _replaced(text: str, start: int, end: int, value: Any) -> str:
    """Return a text with a piece replaced, with a blank in front of it where a key or dash would touch it."""
    blank = " " if start and text[start - 1] in ":-" else ""
    gap = " " if text[end : end + 1] == "#" else ""
    return text[:start] + blank + written(value) + gap + text[end:]


def _nested(names: list[str], value: Any) -> Any:
    """Return a value below new keys and lists."""
    for name in reversed(names):
        value = [value] if name.isdigit() else {name: value}
    return value


def _added(text: str, parent: Span, names: list[str], value: Any) -> str:
    """Return the text with a key that was not there; ``names`` lead from the parent to it."""
    if parent.kind == "value":  # nothing stands there, or a single text where keys are wanted
        return _replaced(text, parent.start, parent.end, _nested(names, value))
    below, parts = written(_nested(names[1:], value)), list(parent.parts.values())
    if parent.flow:
        last = parts[-1].end if parts else parent.start + 1
        entry = below if parent.kind == "list" else f"{names[0]}: {below}"
        return f"{text[:last]}{', ' if parts else ''}{entry}{text[last:]}"
    head = parts[0].head
    column = (text.rfind("-", 0, head) if parent.kind == "list" else head) - _line(text, head)
    line = f"{' ' * column}- {below}\n" if parent.kind == "list" else _block(names, value, column)
    end = text.find("\n", parent.end)
    return f"{text}\n{line}" if end < 0 else text[: end + 1] + line + text[end + 1 :]


def _block(names: list[str], value: Any, column: int) -> str:
    """Return nested keys, a line each, lists in brackets."""
    start = f"{' ' * column}{names[0]}:"
    if len(names) == 1 or names[1].isdigit():
        return f"{start} {written(_nested(names[1:], value))}\n"
    return f"{start}\n{_block(names[1:], value, column + 2)}"
