"""What each way of giving depth costs the verdict and the photograph, where depth is exact.

    python tests/bench/depth_verdict.py [--truth FOLDER] [--cache FOLDER] [--mistakes N] [--width PX]

Scenes: shipped ones from several vantages, and the traced scenes of FOLDER (as in `truth.py`).
A person is imitated: height 10 % off, horizon 1.5 % of the picture's height, focal length 5 %, marks
3 % (one standard deviation each), strokes 0.4 % of the width beside the middle of what they follow,
their distances 20 % off, outlines a pixel or two off. The exact verdict knows the exact depth and
the same plan; focus is the spot's own depth in both.

Table, by way of depth: mean error of the score, share with the same word, share of exact scores
inside the stated range, over N mistakes spread over all settings; and the photograph against exact
depth's own, dB.
"""

#: Scene, and what its vantage changes.
VANTAGES: tuple[tuple[str, dict[str, str]], ...] = (
    ("market", {}),
    ("market", {"height": "9", "pitch": "7", "lens": "50"}),
    ("market", {"height": "45", "pitch": "30"}),
    ("corner", {}),
    ("corner", {"height": "6", "pitch": "5", "lens": "50"}),
    ("town", {}),
    ("town", {"lens": "50"}),
    ("village", {}),
    ("yard", {}),
    ("yard", {"lens": "35"}),
    ("quay", {}),
    ("quay", {"lens": "35"}),
    ("park", {}),
    ("park", {"height": "6", "pitch": "12", "lens": "35"}),
    ("fair", {}),
    ("fair", {"height": "8", "pitch": "8", "lens": "35"}),
)
STOPS = ("2.8", "5.6")
