"""Will it read as a scale model, why, and what would help."""
