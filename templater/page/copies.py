"""The built page with a boat inside, or as a folder to host."""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

#: Where the build leaves the page; a wheel made for release carries it.
BUILT = Path(__file__).parent / "templater.html"
_JOB = b'<script type="application/json" id="job"></script>'
_PART = re.compile(rb'<script type="text/plain" data-part="([^"]+)">([^<]*)</script>')
_ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64"><path d="M0 0h64v64H0z" fill="#fff"/>'
    '<path d="M32 6v52M10 32h44" stroke="#111" stroke-width="2"/><circle cx="32" cy="32" r="16" fill="none" '
    'stroke="#111" stroke-width="3"/></svg>'
)


def with_job(page: bytes, job: Mapping[str, Any]) -> bytes:
    """Return the page with a job inside: the texts of ``engine.Job``. What stands in them cannot end the script."""
    packed = base64.b64encode(json.dumps(dict(job), ensure_ascii=False).encode())
    return page.replace(_JOB, _JOB.replace(b"></", b">" + packed + b"</"), 1)


def as_folder(page: bytes, version: str) -> dict[str, bytes]:
    """Return the page as files to host by name: its parts apart, and what makes it work on a phone and offline."""
    files: dict[str, bytes] = {}

    def apart(match: re.Match[bytes]) -> bytes:
        name = f"{match[1].decode()}.bin"
        files[name] = base64.b64decode(match[2])
        return b'<script type="text/plain" data-part="%s" data-at="%s"></script>' % (match[1], name.encode())

    index = _PART.sub(apart, page)
    index = index.replace(b"connect-src 'none'", b"connect-src 'self'", 1)
    index = index.replace(b"worker-src blob:", b"worker-src 'self' blob:", 1)
    index = index.replace(b"manifest-src 'none'", b"manifest-src 'self'", 1).replace(b"img-src ", b"img-src 'self' ", 1)
    files["index.html"] = index.replace(b"<!--FOLDER-->", b'<link rel="manifest" href="templater.webmanifest">', 1)
    manifest = {
        "name": "templater", "short_name": "templater", "start_url": "./", "display": "standalone",
        "background_color": "#ffffff", "theme_color": "#ffffff",
        "icons": [{"src": "icon.svg", "sizes": "any", "type": "image/svg+xml"}],
    }  # fmt: skip
    files["templater.webmanifest"] = json.dumps(manifest, indent=1).encode()
    files["icon.svg"] = _ICON.encode()
    keeper = (Path(__file__).parent / "web/keeper.js").read_text("utf-8").replace("VERSION", version)
    files["sw.js"] = keeper.replace("FILES", json.dumps(["./", *sorted(files)])).encode()
    return files
