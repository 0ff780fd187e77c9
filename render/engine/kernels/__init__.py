"""The engine's compiled loops, one file a step. Plain arrays and numbers in and out; no checks."""
