"""Columns lie side by side, and the scratch space holds them."""

from render.trace import columns


def test_a_landed_ray_and_what_it_sends_fit_their_space() -> None:
    """No two things share a number, and the next space begins after the last."""
    threes = ("PLACE", "NORMAL", "FACE", "ALBEDO", "GLOW")
    ones = ("GLOSS", "THROUGH", "ROUGH", "MATERIAL", "TWO_SIDED", "PLACEMENT", "THING")
    taken = [getattr(columns, name) + c for name in threes for c in range(3)]
    taken += [getattr(columns, name) for name in ones]

    assert sorted(taken) == list(range(22))
    assert columns.HIT + 22 <= columns.OTHER
    assert columns.OTHER + 22 <= columns.SCRATCH
    assert columns.OUT + columns.SUN_SEEN + 1 <= columns.GATHERED
    assert columns.GATHERED + 3 <= columns.WAS
    assert columns.WAS + columns.QUARTER_LIGHT <= columns.LEVEL


def test_sums_are_read_in_fives() -> None:
    """Three colours, how many, their squares: what `smoothing.shared` takes."""
    for first, count, squares in (
        (columns.SOFT, columns.SOFT_RAYS, columns.SOFT_SQUARES),
        (columns.MIRRORED, columns.MIRRORED_SHARE, columns.MIRRORED_SQUARES),
        (columns.LAMPLIGHT, columns.LAMP_SAMPLES, columns.LAMP_SQUARES),
    ):
        assert (count, squares) == (first + 3, first + 4)
    assert (columns.DIRECT + 3, columns.TIMES + 3) == (columns.TIMES, columns.SUNLIGHT)
    assert (columns.SUNLIGHT + 3, columns.SUN_RAYS + 1) == (columns.SUNLIT, columns.QUARTER_LIGHT)
    assert (columns.SUMS, columns.SUMS_WITH_LAMPS) == (columns.LAMPLIGHT, columns.LAMP_SQUARES + 1)
