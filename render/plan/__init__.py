"""What to dial in on the day: exposure, motion, interval, focus checks, tolerances, cautions."""
