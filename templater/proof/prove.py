"""Every file of a run, read back and compared with the manifest."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from templater.findings import ProofError
from templater.proof.compare import Tally, compare_page, compare_whole, finish, place_of
from templater.proof.expect import Expected, ExpectedPage, ExpectedSheet, Identity, read_manifest
from templater.proof.read_pdf import read_pdf
from templater.proof.read_svg import read_svg
from templater.proof.report import ProofReport

#: The line that every page carries, read without spaces: program and version, sheet and tile, page, stamp.
_IDENTITY = re.compile(r"templater([^·]{1,40})·([a-z0-9-]+?)([A-Z]+\d+)·page(\d{1,6})of(\d{1,6})·([0-9a-f]{8})")


def identity_of(text: str) -> Identity | None:
    """Return what a page says it is; ``text`` is the page's text without spaces. None if it says nothing."""
    found = _IDENTITY.search(text)
    return Identity(found[1], found[2], found[3], int(found[4]), int(found[5]), found[6]) if found else None


def prove(files: Mapping[str, bytes], manifest: Mapping[str, Any]) -> ProofReport:
    """Read every file of a run back and compare it with the manifest.

    Nothing is forgiven: pages in order and of the right size, every mark within 0.02 mm of its place on the page, no
    complaint from the reader.

    Args:
        files: the run's files by name; others than the sheets' PDF and SVG are not looked at.
        manifest: as read from ``manifest.json``.

    Raises:
        ProofError: Q101, the manifest is malformed.
    """
    expected = read_manifest(manifest)
    sheets = []
    findings = []
    for sheet in expected.sheets:
        tally = Tally(sheet)
        _prove_pages(tally, files, expected)
        _prove_svg(tally, files)
        finish(tally)
        sheets.append(tally.result())
        findings += tally.findings
    return ProofReport(tuple(sheets), tuple(findings))


def _prove_pages(tally: Tally, files: Mapping[str, bytes], expected: Expected) -> None:
    """Prove the PDF files of a sheet."""
    by_file: dict[str, dict[int, ExpectedPage]] = {}
    for page in tally.sheet.pages:
        by_file.setdefault(page.file, {})[page.page] = page
    for name, pages in by_file.items():
        if name not in files:
            tally.fault("Q102", name, "is missing")
            continue
        try:
            _prove_file(tally, name, files[name], pages, expected)
        except ProofError as fault:
            tally.findings += fault.findings


def _prove_file(
    tally: Tally, name: str, data: bytes, pages: dict[int, ExpectedPage], expected: Expected
) -> None:
    """Prove one PDF file page by page."""
    number = 0
    for number, marks in enumerate(read_pdf(data, name), 1):
        for warning in marks.warnings:
            tally.fault("Q105", f"{name} page {number}", f"the reader complains: {warning}")
        page = pages.get(number)
        if page is None:
            tally.fault("Q110", name, f"page {number} is one too many")
            continue
        wrong = _wrong_page(identity_of(marks.text), expected.identity(tally.sheet, page), expected)
        if wrong:
            tally.fault("Q111", place_of(page), wrong)
        elif marks.turned:
            tally.fault("Q131", place_of(page), f"the page is rotated by {90 * marks.turned} degrees")
        else:
            compare_page(tally, page, marks)
    for missing in sorted(set(pages) - set(range(1, number + 1))):
        tally.fault("Q110", name, f"page {missing} ({tally.sheet.name} {pages[missing].tile}) is missing")


def _wrong_page(found: Identity | None, wanted: Identity, expected: Expected) -> str:
    """Return what is wrong with the page's own words; empty if nothing is."""
    if found is None:
        return "the page does not say which tile it is"
    if found.stamp != expected.stamp:
        return f"the page belongs to another description ({found.stamp}, expected {expected.stamp})"
    if found != wanted:
        said, due = (f"{one.sheet} {one.tile}, page {one.page} of {one.of}, version {one.version}"
                     for one in (found, wanted))  # fmt: skip
        return f"the page says it is {said}; expected {due}"
    return ""


def _prove_svg(tally: Tally, files: Mapping[str, bytes]) -> None:
    """Prove the sheet's whole picture."""
    sheet: ExpectedSheet = tally.sheet
    if not sheet.svg:
        return
    if sheet.svg not in files:
        tally.fault("Q102", sheet.svg, "is missing")
        return
    try:
        compare_whole(tally, read_svg(files[sheet.svg], sheet.svg), sheet.svg)
    except ProofError as fault:
        tally.findings += fault.findings
