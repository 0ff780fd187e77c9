"""Where the tripod stands."""

from render.plan.stand import Stand


def test_height_pitch_and_heading_in_one_phrase() -> None:
    """What is known is said in the order of doing; what is not is left out."""
    assert Stand(12.0, 18.0, 340.0, "").looks == "12.0 m up, 18° down, heading 340°"
    assert Stand(None, -3.0, None, "").looks == "3° up"
    guess = Stand(10.0, 18.0, None, "", ("height", "horizon"))
    assert guess.looks == "10.0 m up (guessed), 18° down (guessed)"
    assert Stand(None, None, None, "there").looks == ""
