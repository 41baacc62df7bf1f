"""How good the drilled boat will be: named sources with one standard deviation each, propagated with correlation.

Errors are to first order, as in JCGM 100:2008 (GUM) clause 5; a source shared by several holes (the printer's scale,
a seam, the laying of the sheet) stays one variable, so that what is common cancels in a difference. The tiles hang
together by their seams; the assembled sheet, with what is wrong with it, is then laid on the pencilled lines so that
all its sight windows fit as well as they can.
"""

from templater.accuracy.budget import Budget, budget
from templater.accuracy.report import AccuracyReport, accuracy
from templater.accuracy.sources import Source, Sources, default_sources

__all__ = ["AccuracyReport", "Budget", "Source", "Sources", "accuracy", "budget", "default_sources"]
