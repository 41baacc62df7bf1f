"""One page of the demo boat spoilt in every way that somebody thought of, to see what the proof sees."""
