"""The other settings on a board."""

from dataclasses import replace
from pathlib import Path

import pytest

from render.jobs.alternatives import alternatives_of, planned_words, usual_others
from render.load.prepare import prepare
from render.load.progress import silent
from render.optics.plane import focus_lens
from render.optics.solving.solve import straight_plane
from render.shot.shot import merged
from tests.places import plain


def test_an_ordinary_lens_is_focused_on_the_same(tmp_path: Path) -> None:
    """A ring that was found for a leaning lens is set anew for others, at its band."""
    shot = plain(tmp_path)
    by_spot = prepare(shot, silent)
    ring = f"extension {focus_lens(by_spot.setting).extension_mm:.6f} mm"

    others = usual_others(prepare(merged(shot, {"focus": ring}, "{name}"), silent))

    straight = next(given for _, given in others if given.get("tilt") == "0")
    across, down = (float(part.rstrip("%")) for part in straight["focus"].split(","))
    assert (across, down) == (pytest.approx(50, abs=3), pytest.approx(58, abs=6))
    assert all("focus" not in given for _, given in usual_others(by_spot))

    odd = replace(by_spot, setting=replace(by_spot.setting, f_number=5.6))
    assert [given["f"] for _, given in usual_others(odd) if "f" in given] == ["f/11", "f/2.8"]

    pair = ("gate=45%,75%", "mill=55%,45%")
    among = prepare(merged(shot, {"focus": ring, "check": pair}, "{name}"), silent)
    straight = next(given for _, given in usual_others(among) if given.get("tilt") == "0")
    wanted = straight_plane(among.named, among.setting.focal_mm).extension_mm
    assert straight["focus"] == f"extension {wanted:.6f} mm of {among.setting.focal_mm:g} mm"


def test_a_pinned_setting_is_shown_and_told_by_its_focus(tmp_path: Path) -> None:
    """Also where only the focus differs, or is said by one of the two alone."""
    shot = plain(tmp_path)
    base = prepare(shot, silent)
    elsewhere = merged(shot, {"focus": "30%,80%"}, "{name}")
    unsaid = replace(
        shot,
        lens=replace(shot.lens, focus=None),
        written=tuple(pair for pair in shot.written if pair[0] != "focus"),
    )

    found, told = alternatives_of(base, [], [elsewhere, unsaid, elsewhere])
    [beside], _ = alternatives_of(base, [(None, {"focus": "20%,58%"})])
    assert beside.words.endswith(" (20%, 58%)")  # as far away on a plain, and elsewhere

    words = [other.words for other in found]
    assert words == [planned_words(other.setting, focus=True) for other in found]
    assert len(set(words)) == 2
    assert all(other.refocused for other in found)
    assert told == ["of alternatives that are the same picture one is shown"]


def test_another_sensor_is_told_whoever_names_it(tmp_path: Path) -> None:
    """Also by the shot alone, whose pin is of the usual sensor."""
    usual = plain(tmp_path)
    square = merged(usual, {"format": "24x24"}, "{name}")
    square = merged(square, {"lens": "60"}, "{name}")

    [pinned], _ = alternatives_of(
        prepare(square, silent), [], [merged(usual, {"lens": "60"}, "{name}")]
    )
    [given], _ = alternatives_of(
        prepare(usual, silent), [(None, {"format": "24x24", "lens": "60"})]
    )

    assert pinned.words.endswith(", 36 x 24 mm")
    assert given.words.endswith(", 24 x 24 mm")
