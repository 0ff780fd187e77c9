"""A field card in words."""

import itertools

from render.judge.case import look
from render.judge.verdict import judge_case
from render.plan.card import plan_card
from render.plan.exposure import brightness_from_weather
from render.shot.wishes import DayWishes
from render.tell.card_lines import card_lines


def test_cautions_come_first_and_every_heading_is_filled(roof) -> None:
    """What can hurt is read before what to set up; no heading stands alone."""
    here = roof()
    scene = here.scene()
    case = look(scene)
    verdict = judge_case(case, here.setting(4.0, -8.0))
    card = plan_card(
        case, verdict, scene.picture, brightness_from_weather("sun"), DayWishes(place="window")
    )
    lines = card_lines(card)
    headings = [at for at, line in enumerate(lines) if not line.startswith("  ")]

    assert lines[0] == "Before anything else:"
    assert "behind the sill" in "\n".join(lines[: headings[1]])
    assert all(line.endswith(":") for line in (lines[at] for at in headings))
    assert all(later - sooner > 1 for sooner, later in itertools.pairwise(headings))
    assert any(line.startswith(("  EV 14", "  EV 15")) for line in lines)
