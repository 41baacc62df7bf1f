"""What is in a file that the builder opens, as the page's texts; and files for saving."""

from __future__ import annotations

import base64
import io
import json
import re
import zipfile
from collections.abc import Mapping
from typing import Any

from templater.findings import Finding, TemplaterError
from templater.reader.compose import Span, spans


def values(text: str) -> dict[str, Any]:
    """Return what stands in a text: a value's letters, a list's entries as a list, by key."""

    def data(span: Span) -> Any:
        if span.kind == "value":
            return span.text
        below = {name: data(part) for name, part in span.parts.items()}
        return list(below.values()) if span.kind == "list" else below

    root = spans(text)
    found = data(root) if root is not None else {}
    return found if isinstance(found, dict) else {}


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
    if inside := re.search(r'<script type="application/json" id="job">(.*?)</script>', text, re.DOTALL):
        return _from_page(name, inside[1])
    if re.match(r"\s*<(!doctype|html)", text, re.IGNORECASE):
        raise _not_opened(name, "a page without a boat in it - open one saved with its boat")
    keys = values(text)
    if keys.keys() & {"square", "centreline", "shim"} and "plank" not in keys:
        return {"readings": text}
    return {"text": text, "file": name}


def _not_opened(name: str, why: str) -> TemplaterError:
    return TemplaterError(Finding("D190", "", f"{name}: {why}"))


def _from_page(name: str, inside: str) -> dict[str, Any]:
    """Return the job that another page carries: texts only, whatever else stands there."""
    try:
        found = json.loads(base64.b64decode(inside)) if inside.strip() else {}
        job: dict[str, Any] = {key: str(found[key]) for key in ("text", "file", "readings") if key in found}
        job["bases"] = {str(key): str(value) for key, value in dict(found.get("bases", {})).items()}
    except (ValueError, TypeError, AttributeError):
        job = {}
    if not job.get("text"):
        raise _not_opened(name, "a page without a boat in it - open one saved with its boat")
    return job


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Return files as one zip; the same files give the same bytes."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in sorted(files):
            archive.writestr(zipfile.ZipInfo(name), files[name], zipfile.ZIP_DEFLATED)
    return stream.getvalue()
