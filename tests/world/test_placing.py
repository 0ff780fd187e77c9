"""Where copies stand."""

from typing import Any

import numpy as np
import pytest

from render.errors import InputError
from tests.world.worlds import described

_WAY = {"path_m": [[0, 0], [20, 0]]}


def _places(**thing: Any) -> np.ndarray:
    return np.array(described([{"kind": "box", **thing}]).things[0].places)


def test_an_array_turns_with_its_thing() -> None:
    """Two columns by three rows, 4 and 6 m apart, turned by a quarter."""
    spots = _places(at_m=[1, 1], turn_deg=90, array={"count": [2, 3], "step_m": [4, 6]})

    assert len(spots) == 6
    np.testing.assert_allclose(spots[0, :2], (1, 1))
    np.testing.assert_allclose(spots[-1, :2], (1 - 12, 1 + 4), atol=1e-9)


def test_a_row_follows_its_path_and_faces_along_it() -> None:
    """Every 5 m along a bend, 2 m to the left."""
    spots = _places(along={"path_m": [[0, 0], [10, 0], [10, 10]], "step_m": 5, "aside_m": 2})

    np.testing.assert_allclose(spots[:2, :2], [(0, 2), (5, 2)], atol=1e-9)
    np.testing.assert_allclose(spots[3, :2], (8, 5), atol=1e-9)
    assert spots[3, 3] == 90


def test_a_row_leaves_out_what_it_should_keep_out_of() -> None:
    """A gangway of 3 m in a row every metre; a row that is all gangway is refused."""
    gangway = [[4.5, -1], [7.5, -1], [7.5, 1], [4.5, 1]]
    spots = _places(along={**_WAY, "step_m": 1, "keep_out_m": [gangway]})

    assert spots[:, 0].tolist() == [n for n in range(21) if n not in (5, 6, 7)]
    with pytest.raises(InputError, match="keep_out_m"):
        _places(along={**_WAY, "keep_out_m": [[[-1, -1], [30, -1], [30, 1], [-1, 1]]]})


def test_a_scatter_keeps_inside_apart_and_out_of_what_it_should() -> None:
    """The same seed strews the same; another another."""
    square = [[0, 0], [20, 0], [20, 20], [0, 20]]
    hole = [[5, 5], [15, 5], [15, 15], [5, 15]]
    ask = {"outline_m": square, "count": 30, "apart_m": 1.5, "keep_out_m": [hole]}
    spots = _places(scatter=ask)

    x, y = spots[:, 0], spots[:, 1]
    assert len(spots) == 30
    assert np.all((x >= 0) & (x <= 20) & (y >= 0) & (y <= 20))
    assert not np.any((x > 5) & (x < 15) & (y > 5) & (y < 15))
    gaps = np.hypot(x[:, None] - x, y[:, None] - y)[~np.eye(30, dtype=bool)]
    assert gaps.min() >= 1.5
    np.testing.assert_array_equal(spots, _places(scatter=ask))
    assert not np.array_equal(spots, _places(scatter=ask, seed=2))


def test_copies_vary_in_size_within_the_share_given() -> None:
    """A fifth either way."""
    sizes = _places(array={"count": [20, 1], "step_m": [1, 1]}, vary=0.2)[:, 4]

    assert 0.8 <= sizes.min() < 0.9
    assert 1.1 < sizes.max() <= 1.2


@pytest.mark.parametrize(
    ("thing", "match"),
    [
        ({"at_m": [1]}, "at_m"),
        ({"along": {"path_m": [[0, 0]]}}, "at least 2 points"),
        ({"scatter": {"outline_m": [[0, 0], [1, 1]]}}, "at least 3 points"),
        ({"scatter": {"outline_m": [[0, 0], [1, 0], [0, 1]], "turn": "some"}}, "degrees of spread"),
        ({"scale": -1}, "from 0.001"),
        ({"moves": {"path_m": [[0, 0]]}}, "at least 2 points"),
        ({"moves": {"path_m": [[3, 4], [3, 4]]}}, "2 points that differ"),
        ({"moves": {**_WAY, "waits": [[30, 5]]}}, "waits.*distance along the path"),
        ({"moves": {**_WAY, "waits": [[5, 3]], "returns": True}}, "without returns"),
        ({"moves": {**_WAY, "speed_m_s": 1, "every_s": 9}}, "takes 20.0 s, so no less"),
        (
            {
                "scatter": {"outline_m": [[0, 0], [9, 0], [0, 9]], "stroll_m": 3},
                "moves": _WAY,
            },
            "either this or stroll_m",
        ),
    ],
)
def test_places_that_cannot_be_are_refused(thing: dict[str, Any], match: str) -> None:
    """With what to write."""
    with pytest.raises(InputError, match=match):
        _places(**thing)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"array": {"count": [3000, 3000], "step_m": [1, 1]}}, "holds 9,000,000 things, more than"),
        ({"array": {"count": [-1, 2]}}, "two whole numbers from 1"),
        ({"along": {"path_m": [[0, 0], [1e9, 0]], "step_m": 0.01}}, "100,000,000,000 things"),
        (
            {"scatter": {"outline_m": [[0, 0], [9, 0], [0, 9]], "count": 1e9}},
            "1,000,000,000 things",
        ),
        ({"scatter": {"outline_m": [[0, 0]] * 1001}}, "1,001 corners, more than"),
        (
            {"scatter": {"outline_m": [[0, 0], [9, 0], [0, 9]], "keep_out_m": [[1, 2]]}},
            "keep_out_m",
        ),
        ({"seed": -1}, "from 0"),
        ({"at_m": [10**400, 0]}, "list of some numbers"),
    ],
)
def test_bombs_are_refused_with_their_number(keys: dict[str, Any], words: str) -> None:
    """Copies and corners are counted before anything is made of them."""
    with pytest.raises(InputError, match=words):
        described([{"kind": "box", **keys}])


def test_a_full_ground_ends_the_search() -> None:
    """Where nothing more fits the search ends, and what stands there keeps its distance."""
    strewn = {"outline_m": [[0, 0], [20, 0], [20, 20], [0, 20]], "count": 50_000, "apart_m": 4}
    spots = _places(scatter=strewn)[:, :2]
    apart = np.linalg.norm(spots[:, None] - spots[None], axis=-1)

    assert 12 <= len(spots) <= 36
    assert apart[~np.eye(len(spots), dtype=bool)].min() >= 4
