"""The job sheet as plain values for other programs: the same sections, tables and steps as on the page."""

from __future__ import annotations

from typing import Any

from templater.report.blocks import Block, Bullets, JobSheet, Paragraph, Steps, Table


def job_sheet_data(sheet: JobSheet) -> dict[str, Any]:
    """Return the job sheet as dicts, lists and strings, fit for JSON; the same sheet gives the same data.

    Every block has a ``kind``: ``text``, ``list``, ``steps``, ``table`` or ``picture``; a picture is given by what it
    shows, not by its lines.
    """
    return {
        "title": sheet.title,
        "subtitle": sheet.subtitle,
        "facts": dict(sheet.facts),
        "sections": [
            {
                "id": section.id,
                "heading": section.heading,
                "blocks": [_block(block) for block in section.blocks],
            }
            for section in sheet.sections
        ],
        "program": sheet.program,
    }


def _block(block: Block) -> dict[str, Any]:
    """Return one block; texts that are empty are left out of lists and steps."""
    if isinstance(block, Paragraph):
        return {"kind": "text", "text": block.text}
    if isinstance(block, Bullets):
        items = [{"text": text, **({"remark": remark} if remark else {})} for text, remark in block.items]
        return {"kind": "list", "items": items}
    if isinstance(block, Steps):
        steps = [
            {"number": number, "text": text, **({"caution": caution} if caution else {})}
            for number, (text, caution) in enumerate(block.items, block.start)
        ]
        return {"kind": "steps", "steps": steps}
    if isinstance(block, Table):
        return {
            "kind": "table",
            "caption": block.caption,
            "headers": list(block.headers),
            "rows": [list(row) for row in block.rows],
            "note": block.note,
        }
    return {"kind": "picture", "title": block.title, "shows": block.description, "true_size": block.true_size}
