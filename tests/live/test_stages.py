"""Demo scenes stay traced while the lens is turned."""

import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from render.errors import HingelineError
from render.live import stages as live
from render.live.stages import LeftError, Stages
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.load.scenes import prepare_scene
from render.shot.keyframes import KeyFrame
from render.shot.shot import Shot, merged
from render.tell.preview_record import counted_in, preview_record
from tests.places import bare_yard


@pytest.fixture
def yard(tmp_path: Path) -> Shot:
    """A bare yard, quick to trace."""
    return Shot(scene=str(bare_yard(tmp_path)))


@pytest.fixture(scope="module")
def stages() -> Iterator[Stages]:
    """Of small pictures, for yards of all tests; closed at the end, so that no process is left."""
    step = live._Step
    made = Stages()
    judged, clean = step(320, 1, behind=False), step(320, 16, behind=True)
    with pytest.MonkeyPatch.context() as patch:
        for name, value in (
            ("_JUDGED", judged),
            ("_CLEAN", clean),
            ("_STEPS", (live._DRAFT, judged, clean)),
        ):
            patch.setattr(live, name, value)
        yield made
        made.close()


def _clean(stages: Stages, shot: Shot) -> Prepared:
    for _ in range(400):
        prepared = stages.planned(shot)
        if stages.waiting(shot) is None and prepared.scene.behind is not None:
            return prepared
        time.sleep(0.1)
    raise AssertionError("no clean picture came")


def test_a_draft_comes_first_and_the_clean_picture_later(stages: Stages, yard: Shot) -> None:
    """Same view, more pixels, and the surface behind edges with the clean one.

    Who wants something else does not wait for the draft; it goes on, and is there afterwards.
    """
    stages._left = lambda: True
    with pytest.raises(LeftError):
        stages.planned(yard)
    making = stages._drafts.working_on
    assert making is not None
    assert stages.at() is None

    stages._left = lambda: False
    draft = stages.planned(yard)
    assert stages._drafts.working_on is None
    clean = _clean(stages, yard)

    assert draft.scene.frame.width == 256
    assert clean.scene.frame.width == 320
    assert clean.scene.behind is not None
    assert preview_record(draft)["height"] == preview_record(clean)["height"] == 12
    assert stages.stance(yard)["distance"] == pytest.approx(20)
    assert stages.stance(yard)["waiting"] is None


def test_what_is_judged_is_what_the_command_looks_at(stages: Stages, yard: Shot) -> None:
    """The same size and samples as `judge` traces, whatever is shown by then.

    Until that is there it is called a draft, and another vantage asked for by turns (a second
    tab, a pin on the other side of the border) does not keep it from coming.
    """
    other = merged(yard, {"lens": "80"}, "{name}")
    stages.planned(yard)
    assert stages.drafted(yard)
    for _ in range(2000):
        if None in (
            waits := [(stages.planned(one), stages.waiting(one))[1] for one in (other, yard)]
        ):
            break
        time.sleep(0.1)
    assert None in waits
    _clean(stages, yard)
    assert not stages.drafted(yard)
    judged = stages.judged(yard)
    small = replace(yard, demo=replace(yard.demo, width_px=320))
    wanted = prepare(small, silent, for_render=False)

    assert np.array_equal(judged.scene.depth_m, wanted.scene.depth_m)
    assert np.array_equal(judged.scene.picture, wanted.scene.picture)
    assert stages.planned(yard).setting == judged.setting


def test_the_lens_turns_as_the_command_would(stages: Stages, yard: Shot) -> None:
    """Setting and focus are those of the scene prepared anew at that size."""
    shot = merged(yard, {"tilt": "up 3", "f": "4", "focus": "40%,70%"}, "{name}")
    found = stages.planned(shot)
    wanted = prepare_scene(
        replace(shot, demo=replace(shot.demo, width_px=found.scene.frame.width)), silent
    )

    assert found.setting.tilt_deg == wanted.setting.tilt_deg == -3
    assert found.setting.f_number == 4
    said = [[n for n in one.notes if "given" in n] for one in (found, wanted)]
    assert said[0] == said[1]
    assert any("given" in note for note in stages.planned(yard).notes)
    assert found.setting.focus.depth_m == pytest.approx(wanted.setting.focus.depth_m, rel=0.02)
    assert preview_record(found)["focus"] == pytest.approx([0.4, 0.7], abs=0.01)
    assert counted_in(found) == found.scene.frame


def test_what_is_left_open_follows_the_scene(stages: Stages, yard: Shot) -> None:
    """Its own tilt and lens, until a hand turns them; no new picture is traced for that."""
    first = stages.planned(yard)
    turned = stages.planned(merged(yard, {"tilt": "0"}, "{name}"))

    assert first.setting.tilt_deg == -6
    assert turned.setting.tilt_deg == 0
    assert turned.scene.frame.width >= first.scene.frame.width
    keyed = stages.planned(replace(yard, key_frames=(KeyFrame(0.0, (("tilt", "0"),)),)))
    assert any("tilt" in words for words in first.assumed.left_open)
    assert not any("tilt" in words for words in keyed.assumed.left_open)


def test_a_vantage_that_cannot_be_is_said(stages: Stages, yard: Shot) -> None:
    """The tracer's sentence comes back, and the next wish is served."""
    with pytest.raises(HingelineError):
        stages.planned(merged(yard, {"roll": "3"}, "{name}"))

    assert stages.planned(yard).setting.focal_mm == 60
