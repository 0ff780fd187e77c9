"""The version of the program, in one place: answers, records and the build read it here."""

__all__ = ["__version__"]

__version__ = "0.1.0"
