"""How writers write numbers: rounded once, here, and nowhere else."""

from __future__ import annotations


def svg_number(value: float) -> str:
    """Return a length in mm with at most four decimals (0.1 micrometre), without trailing zeros or negative zero.

    >>> svg_number(12.50004)
    '12.5'
    >>> svg_number(-0.00001)
    '0'
    """
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def dxf_number(value: float) -> str:
    """Return a length in mm with six decimals at most, always with a point.

    >>> dxf_number(12.5), dxf_number(-0.0000001)
    ('12.5', '0.0')
    """
    text = f"{value:.6f}".rstrip("0")
    text = text + "0" if text.endswith(".") else text
    return "0.0" if text == "-0.0" else text
