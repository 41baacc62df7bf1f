"""Whole runs in memory: text and options in, findings or files out. Pure: no file, no clock, no printing."""
