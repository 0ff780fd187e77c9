"""A real place as a scene: open map data projected, given heights and surfaces, and planted."""
