"""What is sewn: sheets of cloth, collars."""
