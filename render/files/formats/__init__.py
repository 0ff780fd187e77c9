"""What stands in a file: pixels, profiles, EXIF, tags, embedded depth."""
