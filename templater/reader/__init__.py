"""YAML text to plain values that remember their lines, and how a fault in them is told; knows no boat."""
