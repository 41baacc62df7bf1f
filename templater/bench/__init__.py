"""From a solved boat to plain rows for the bench: checks, hardware, drilling, tape figures."""
