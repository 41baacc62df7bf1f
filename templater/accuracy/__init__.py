"""How good the drilled boat will be: named sources with one standard deviation each, propagated with correlation.

Errors are to first order, as in JCGM 100:2008 (GUM) clause 5; a source shared by several holes (the printer's scale,
a seam, the laying of the sheet) stays one variable, so that what is common cancels in a difference. The tile on which
the middle of the sheet's holes lies is the one laid on the pencilled lines; every other tile hangs on it through the
seams between them.
"""

from templater.accuracy.budget import Budget, budget
from templater.accuracy.report import AccuracyReport, accuracy
from templater.accuracy.sources import Source, Sources, default_sources

__all__ = ["AccuracyReport", "Budget", "Source", "Sources", "accuracy", "budget", "default_sources"]
