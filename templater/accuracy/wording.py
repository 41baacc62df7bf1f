"""How the error budget is written for people."""

from __future__ import annotations

from templater.units import MM_PER_INCH, Figures, mm_text

#: A smaller chance has no figure worth giving.
LEAST = 1e-5


def chance_text(chance: float) -> str:
    """Return a chance in words: in a hundred, or one in a round number of boats where it is small.

    >>> chance_text(6e-5), chance_text(0.0), chance_text(0.12)
    ('1 in 20 000', 'under 1 in 100 000', '12%')
    """
    if chance < LEAST:
        return "under 1 in 100 000"
    if chance < 0.01:
        return f"1 in {float(f'{1 / chance:.1g}'):,.0f}".replace(",", " ")
    return f"{chance:.0%}"


def uncertainty_text(value: float, figures: Figures) -> str:
    """Return an uncertainty, mm, to a hundredth of a mm; in thousandths of an inch, for a fraction would say nothing.

    >>> uncertainty_text(0.3, Figures("in")), uncertainty_text(0.3, Figures("both"))
    ('0.012 in', '0.30 mm (0.012 in)')
    """
    inches = f"{mm_text(value / MM_PER_INCH, 3)} in"
    if figures.system == "in":
        return inches
    return f"{mm_text(value, 2)} mm" + (f" ({inches})" if figures.system == "both" else "")
