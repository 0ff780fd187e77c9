"""Frames in, frames out: which frames, how the lens moves, what stands still and what does not."""
