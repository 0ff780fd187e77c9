"""What is said of a photograph, for people and for programs."""
