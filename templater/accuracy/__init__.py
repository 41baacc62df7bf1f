"""How good the drilled boat will be: named sources with one standard deviation each, propagated with correlation."""
