"""How a film is planned, made in segments by whoever is there, and joined."""
