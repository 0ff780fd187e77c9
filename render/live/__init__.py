"""What follows a hand: pictures while a setting is being turned."""
