"""Plain mathematics without boat words: arcs, tape triangles, line fits, distributions."""
