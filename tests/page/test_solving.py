"""The lens worked out from what was drawn or written."""

from pathlib import Path

import pytest

from render.errors import HingelineError
from render.page.solving import solved
from render.shot.shot import Shot, merged

VALUES = {"focal-35": "28", "height": "12", "horizon": "20%", "lens": "45"}


def test_points_and_level_ground_are_both_answered(street: Path) -> None:
    """Values that a shot understands, and lines without a command to run."""
    shot = merged(Shot(picture=str(street)), dict(VALUES), "{name}")
    wish = {"sharp": [["point", "1=50%,70%"], ["ground", "15 m to 60 m"]], "move": "tilt"}
    found = solved(shot, wish)()
    turned = merged(shot, found["values"], "{name}")

    assert {"tilt", "focus", "f"} <= set(found["values"])
    assert turned.lens.swing_deg == 0
    assert found["lines"]
    assert not any("--" in line for line in found["lines"])


@pytest.mark.parametrize(
    "sharp", ["50%,70%", [["point"]], [["point", 7]], [["point", "x" * 999]], [["x", "1"]]]
)
def test_what_is_no_wish_is_refused(sharp: object) -> None:
    """In one sentence, before anything is read."""
    with pytest.raises(HingelineError):
        solved(Shot(picture="none.jpg"), {"sharp": sharp})()
