"""Attacks on the program that are kept: what it is given is spoilt in many ways, and it must answer in words."""
