"""What is asked to be sharp or soft, in words, and where that lies before which lens."""
