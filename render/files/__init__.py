"""Pictures, depth maps and shots on disk."""
