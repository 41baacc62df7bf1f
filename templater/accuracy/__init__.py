"""How good the drilled boat will be: named sources with one standard deviation each, propagated with correlation.

Errors are to first order, as in JCGM 100:2008 (GUM) clause 5; a source shared by several holes (the printer's scale,
a seam, the laying of the sheet) stays one variable, so that what is common cancels in a difference. The tiles hang
together by their seams; the assembled sheet, with what is wrong with it, is then laid on the pencilled lines so that
all its sight windows fit as well as they can.
"""
