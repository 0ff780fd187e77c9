"""A scene: linear picture, metric depth and camera; colour numbers; declarative scenes."""
