"""The jobs behind what can be saved; what they make is looked at in test_orders."""

from pathlib import Path

import pytest

from render.errors import SettingError
from render.load.progress import silent
from render.page.making import Order, photograph
from render.shot.shot import Shot


def test_a_number_is_read_or_refused() -> None:
    """The usual one where nothing was said."""
    order = Order("loupe", "png", {"sensor-px": "2000", "cell": "many"})

    assert order.number("sensor-px", 6000) == 2000
    assert order.number("exact", 7) == 7
    with pytest.raises(SettingError, match="no number"):
        order.number("cell", 480)


def test_a_finish_that_cannot_be_is_refused_before_anything_is_read(tmp_path: Path) -> None:
    """The words of the command's own option."""
    order = Order("photograph", "jpg", {"grain": "coarse"})
    with pytest.raises(SettingError, match="grain"):
        photograph(order, [Shot(picture="none.jpg")], tmp_path, silent)
