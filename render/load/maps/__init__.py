"""A real place from a map file, and the roof one stands on."""
