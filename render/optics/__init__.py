"""Optics of the tilted thin lens: numbers only, no picture and no file."""
