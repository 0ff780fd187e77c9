"""Houses and towers: walls with openings, their fronts, and the kinds that are made of them."""
