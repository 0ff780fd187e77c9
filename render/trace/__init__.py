"""Light through a world: its pinhole picture, and the photograph of an exact lens."""
