"""Indoors: rooms, what stands and hangs in them, and the small things on shelves and benches."""
