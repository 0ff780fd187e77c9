"""The depth of a picture from whatever its shot says of it."""
