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


def test_a_sentence_is_one_line_that_no_terminal_obeys() -> None:
    """Control characters, halves of letters and marks of direction go; endless words shorten."""
    error = InputError("a\x1b[31mb\u202e.jpg\nis \ud800 not\t" + "x" * 5000)

    assert str(error) == "a?[31mb?.jpg is ? not " + "x" * 40 + "..." + "x" * 30
    said = str(InputError('"' + "sun " * 500 + '" is no weather: write "sun"'))
    assert said == '"' + "sun " * 10 + "...n " + "sun " * 7 + '" is no weather: write "sun"'
    assert str(OutputError("Größe 8° − 3 µm → f/2.8")) == "Größe 8° − 3 µm → f/2.8"
