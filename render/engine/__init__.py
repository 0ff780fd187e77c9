"""Scene and lens setting in, photograph out."""
