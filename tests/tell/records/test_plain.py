"""Records for JSON."""

import json
import math

import numpy as np

from render.judge.score import Word
from render.tell.records.plain import plain


def test_what_json_lacks_becomes_null_or_a_list() -> None:
    """At any depth: infinity, NaN, tuples, numpy's numbers, words of an enumeration."""
    record = {"a": math.inf, "b": (1, {"c": math.nan}), "d": np.float32(0.5), "e": Word.READS}
    done = plain(record)

    assert done == {"a": None, "b": [1, {"c": None}], "d": 0.5, "e": str(Word.READS)}
    assert type(done["e"]) is str
    assert json.dumps(done, allow_nan=False)
