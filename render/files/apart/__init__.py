"""Libraries that a stranger's file may crash, stall or bloat: each runs in a process of its own."""
