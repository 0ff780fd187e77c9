"""Overlays, sheets, board and card: drawing in memory."""
