"""Clips in and out: containers, codecs, colour tags, code values and sound."""
