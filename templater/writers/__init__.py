"""From tiles to bytes. A writer places nothing, scales nothing and knows no boat words."""
