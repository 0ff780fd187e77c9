"""Limits: told with their numbers, raised by one setting."""

import pytest

from render.errors import InputError
from render.limits import SETTING, Limit, counted


def test_a_limit_tells_its_number_and_how_it_is_raised(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sentence names what was found, what is taken, the setting, and what to do."""
    limit = Limit(2e6, "points")
    with pytest.raises(InputError) as refused:
        limit.check(2_000_001, "a.las claims 2,000,001 points", "cut out a part")
    assert str(refused.value) == (
        "a.las claims 2,000,001 points, more than the 2 million points taken here "
        f"({SETTING} raises it): cut out a part"
    )

    monkeypatch.setenv(SETTING, "1.5")
    limit.check(3e6, "", "")
    for wrong in ("much", "-3", "nan"):
        monkeypatch.setenv(SETTING, wrong)
        assert limit.most == 2e6
        with pytest.raises(InputError, match=f'{SETTING}="{wrong}" is no factor from 1 to 1000'):
            limit.check(3e6, "", "")
    with pytest.raises(InputError):
        limit.check(float("nan"), "", "")


@pytest.mark.parametrize(
    ("number", "words"), [(12060, "12,060"), (5e8, "500 million"), (4e9, "4 billion")]
)
def test_large_numbers_are_put_into_words(number: float, words: str) -> None:
    """As people read them."""
    assert counted(number) == words
