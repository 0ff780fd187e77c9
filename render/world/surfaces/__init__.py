"""What surfaces look like: materials, their rules, skin and noise."""
