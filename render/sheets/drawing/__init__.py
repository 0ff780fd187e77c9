"""Pen, type and paper: drawings in memory, painted as pixels, SVG or PDF."""
