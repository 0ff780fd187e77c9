"""How a film is planned, made in segments by whoever is there, and joined.

What goes on after a break: `segment.py` knows which segments are done, `output.py` whether it is
the same film as before, `render.jobs.crew` what a worker that died leaves to others, and
`render.jobs.film` what is left to do.
"""
