"""Metric depth for a picture: ground, standing things, marked distances, mending."""
