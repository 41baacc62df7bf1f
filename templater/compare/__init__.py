"""Two boats side by side: what differs, which holes move, whether one's templates serve the other."""

from templater.compare.differences import Comparison, Difference, HoleMove, MarginRow, compare, leaves
from templater.compare.overlay import overlay

__all__ = ["Comparison", "Difference", "HoleMove", "MarginRow", "compare", "leaves", "overlay"]
