"""Wrong changes to the code that a test must notice: ``python -m tests.mutants``."""
