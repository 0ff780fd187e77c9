"""Hingeline: the photograph a tilted lens would make, before travelling to make it."""

__version__ = "0.1.0"
