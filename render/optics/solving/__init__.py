"""The inverse problem: which tilt and focus serve the named subjects."""
