"""From bytes back to marks with readers of its own, compared with the drawing. Never imports writers."""
