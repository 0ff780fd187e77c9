"""The error tree is caught as people expect."""

import pytest

from render.errors import HingelineError, InputError, OutputError, SettingError


@pytest.mark.parametrize(
    ("error", "usual"),
    [(InputError, ValueError), (SettingError, ValueError), (OutputError, OSError)],
)
def test_each_error_is_ours_and_a_usual_one(error: type[Exception], usual: type[Exception]) -> None:
    """Users of the library may catch either, and the sentence is kept."""
    with pytest.raises(usual) as caught:
        raise error("what, where, what to do")

    assert isinstance(caught.value, HingelineError)
    assert str(caught.value) == "what, where, what to do"
