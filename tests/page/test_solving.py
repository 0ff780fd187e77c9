"""The lens worked out from what was drawn or written."""

from pathlib import Path

import pytest

from render.errors import HingelineError
from render.page.solving import solved
from render.shot.shot import Shot, merged

VALUES = {"focal-35": "28", "height": "12", "horizon": "20%", "lens": "45"}


def test_points_and_level_ground_are_both_answered(street: Path) -> None:
    """Values that a shot understands, what was asked among them, and lines without a command."""
    asked_before = {"check": ("door=10%,60%", "place 1=20%,60%")}
    shot = merged(Shot(picture=str(street)), VALUES | asked_before, "{name}")
    wish = {"sharp": [["point", "place 1=50%,70%"], ["ground", "15 m to 60 m"]], "move": "tilt"}
    found = solved(shot, wish)()
    checks = tuple(found["values"]["check"])
    turned = merged(shot, found["values"] | {"check": checks}, "{name}")

    assert {"tilt", "focus", "f"} <= set(found["values"])
    assert turned.lens.swing_deg == 0
    assert checks[:2] == ("door=10%,60%", "place 1=50.08%,70.12%")  # asked anew, there now
    assert len(checks) == 4  # and level ground by its middle and far end; the near one is not seen
    assert found["lines"]
    assert not any("--" in line for line in found["lines"])


@pytest.mark.parametrize(
    "sharp", ["50%,70%", [["point"]], [["point", 7]], [["point", "x" * 999]], [["x", "1"]]]
)
def test_what_is_no_wish_is_refused(sharp: object) -> None:
    """In one sentence, before anything is read."""
    with pytest.raises(HingelineError):
        solved(Shot(picture="none.jpg"), {"sharp": sharp})()
