"""From a solved boat to drawings: a few kinds of frozen marks in mm, no paper, one module per sheet."""
