"""Whole runs in memory: text and options in, findings or files out. Pure: no file, no clock, no printing."""

from templater.pipeline.run import (
    PRODUCTS,
    Checked,
    Made,
    Options,
    boat_name,
    check,
    drawings_of,
    make,
    manifest_bytes,
    no_progress,
    sheet_files,
    tile_sheets,
    title_data,
)

__all__ = [
    "PRODUCTS",
    "Checked",
    "Made",
    "Options",
    "boat_name",
    "check",
    "drawings_of",
    "make",
    "manifest_bytes",
    "no_progress",
    "sheet_files",
    "tile_sheets",
    "title_data",
]
