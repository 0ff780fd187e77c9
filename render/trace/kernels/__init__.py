"""The tracer's loops over pixels, one file a step."""
