"""How a picture file says which colours its numbers mean."""
