"""What a place is made of: descriptions, things, ground, light."""
