"""The buildings of a map: outlines, roofs, walls, doors, and how they look."""
