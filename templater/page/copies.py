"""What the page is given and gives: the built page with a boat inside or as a folder, files opened and saved."""

from __future__ import annotations

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

#: Where the build leaves the page; a wheel made for release carries it.
BUILT = Path(__file__).parent / "templater.html"
_JOB = '<script type="application/json" id="job">{}</script>'
_PART = re.compile(rb'<script type="text/plain" data-part="([^"]+)">([^<]*)</script>')


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
    """Return the texts in a file, as parts of a ``Job``.

    Raises TemplaterError if it is no description, readings, handover PDF or page with a boat.
    """
    from templater.share.handover import BASE, READINGS, is_pdf, unpack

    if is_pdf(data):
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
