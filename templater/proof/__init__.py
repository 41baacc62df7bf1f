"""From bytes back to marks with readers of its own, compared with what was drawn. Never imports writers."""
