"""Things near the lens: cut out along a stroke."""
