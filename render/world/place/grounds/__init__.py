"""What covers the ground of a map: land, water, and the ways over it."""
