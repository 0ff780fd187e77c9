"""Pictures that do not fit are refused before anything of their size is asked for."""

import pytest

from render.errors import InputError
from render.files import memory
from render.files.memory import check_size


def test_a_claim_beyond_reason_is_refused() -> None:
    """60,000 x 60,000 px is refused on any machine, with the number of megapixels."""
    with pytest.raises(InputError, match="3600 Mpx"):
        check_size("a.png", 60000, 60000)


def test_what_is_needed_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where memory is short, the sentence holds what is needed and what is free."""
    monkeypatch.setattr(memory, "free_bytes", lambda: 2_000_000_000)

    with pytest.raises(InputError, match=r"needs 13\.5 GB .* where 2\.0 GB are free"):
        check_size("a.png", 20000, 15000)
    check_size("a.png", 4000, 3000)


def test_a_picture_without_pixels_is_damaged() -> None:
    """Zero columns is no picture."""
    with pytest.raises(InputError, match="damaged"):
        check_size("a.png", 0, 10)


def test_the_machine_is_asked() -> None:
    """On this machine free memory is known and sensible, or not known at all."""
    free = memory.free_bytes()

    assert free is None or 1e6 < free < 1e14
