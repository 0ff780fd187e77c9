"""One function for each thing a person asks for: load, call, save, report."""
