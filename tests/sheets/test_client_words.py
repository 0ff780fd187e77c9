"""A client is told no term of the trade."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from render.judge.score import Word
from render.judge.sharpness import Asked, Sharpness
from render.judge.verdict import Verdict, judge
from render.optics.camera import Camera, Vantage
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.scene.scene import Scene
from render.sheets.client_words import alternative_words, client_sentences

JARGON = re.compile(r"f/|°|\btilted\b|swing|swung|aperture|focal|hinge|depth of field|\bmm\b")
PROPOSED = LensSetting(focal_mm=45, f_number=2.8, tilt_deg=-8, focus=FocusSpot(0, 0.05, 28.0))


def _verdict(setting: LensSetting, vantage: Vantage | None = None) -> Verdict:
    camera = Camera(240, 160, 300.0)
    falls = camera.grid()[1] * math.cos(0.33) + math.sin(0.33)
    depth = np.repeat((11.0 / falls)[:, None], 240, axis=1).astype(np.float32)
    light = np.random.default_rng(1).random((160, 240, 3), np.float32)
    return judge(Scene(light, depth, camera, vantage=vantage), setting)


@pytest.mark.parametrize("vantage", [Vantage(11, 19), Vantage(1.7, 2), None])
@pytest.mark.parametrize(
    "setting",
    [PROPOSED, replace(PROPOSED, tilt_deg=0), replace(PROPOSED, tilt_deg=0, swing_deg=6)],
)
def test_sentences_are_plain_and_short(setting: LensSetting, vantage: Vantage | None) -> None:
    """Three sentences, each one sentence, without jargon, that fit a line or two."""
    sentences = client_sentences(_verdict(setting, vantage), vantage)

    assert len(sentences) == 3
    for sentence in sentences:
        assert not JARGON.search(sentence)
        assert sentence.endswith(".")
        assert len(sentence) <= 150


def test_what_you_get_follows_the_verdict() -> None:
    """A tilted lens wide open may look like a model on bare ground; an ordinary one does not."""
    assert "may look like a scale model" in client_sentences(_verdict(PROPOSED), None)[0]
    judged = _verdict(flat_setting := replace(PROPOSED, tilt_deg=0))
    flat = client_sentences(judged, None)
    assert "will not look like a scale model" in flat[0]
    assert "an ordinary lens" in flat[1]
    for change, words in (
        ({"rise_mm": 8.0}, "a lens that shifts"),
        ({"swing_deg": 4.0}, "a lens that tilts sideways"),
        ({"swing_deg": 4.0, "tilt_deg": -1.0}, "a lens that tilts any way"),
        ({"lateral_mm": -3.0, "tilt_deg": -8.0}, "a lens that tilts and shifts"),
    ):
        setting = replace(flat_setting, **change)
        assert f"It needs {words}" in client_sentences(replace(judged, setting=setting), None)[1]
    assert "give it away" not in flat[2]
    for widest, open_words in ((PROPOSED.f_number, ", wide open"), (0.5 * PROPOSED.f_number, "")):
        said = client_sentences(_verdict(PROPOSED), None, widest_f_number=widest)[1]
        assert said.startswith(f"It needs a lens that tilts{open_words}, and ")


def test_a_client_is_told_where_only_flat_ground_was_known() -> None:
    """What stands on it was not judged, and that is the first thing that could go wrong."""
    flat = replace(_verdict(PROPOSED), bare_ground=True)

    assert "takes the place as flat" in client_sentences(flat, None)[2]
    judged = client_sentences(replace(flat, bare_ground=False), None)
    assert "takes the place as flat" not in judged[2]


def test_what_it_needs_names_the_height_in_storeys() -> None:
    """12 m are about 4 storeys of 3 m."""
    assert "12 m up (about 4 storeys)" in client_sentences(_verdict(PROPOSED), Vantage(12, 19))[1]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"f_number": 4}, "A little calmer"),
        ({"f_number": 5.6}, "Calmer: more"),
        ({"f_number": 8}, "Much calmer"),
        ({"f_number": 11}, "Very calm"),
        ({"f_number": 1.4}, "Stronger: less"),
        ({"tilt_deg": 0}, "ordinary lens"),
        ({"tilt_deg": 0, "rise_mm": 4}, "With a lens that shifts"),
        ({"tilt_deg": 8}, "the other way"),
        ({"tilt_deg": -4}, "Calmer: more"),
        ({"tilt_deg": -2}, "Very calm"),
        ({"tilt_deg": -10}, "A little stronger"),
        ({"tilt_deg": -4, "f_number": 1.4}, "Another way"),
        ({"focal_mm": 90}, "Closer"),
        ({"focal_mm": 24}, "Wider view"),
        ({"focus": FocusDistance(12)}, "Sharp somewhere else"),
        ({"rise_mm": 4}, "Another way"),
    ],
)
def test_alternatives_are_told_by_what_one_sees(change: dict[str, object], words: str) -> None:
    """Each kind of difference in plain words."""
    told = alternative_words(PROPOSED, replace(PROPOSED, **change))  # type: ignore[arg-type]

    assert words in told
    assert not JARGON.search(told)


def test_two_that_are_much_stronger_are_told_apart() -> None:
    """By each other, where the proposed setting does not tell them."""
    calm, strong, stronger = (replace(PROPOSED, f_number=f) for f in (22, 5.6, 2.8))

    assert alternative_words(calm, strong) == alternative_words(calm, stronger)
    told = alternative_words(calm, strong, [stronger])
    assert told == f"{alternative_words(calm, strong)} (calmer than the one before)"


def test_a_client_hears_that_near_things_were_not_counted() -> None:
    """In plain words, and only while nobody answered."""
    verdict = _verdict(PROPOSED)

    asked = client_sentences(verdict, None, near_unsaid=True)[2]

    assert "railing" in asked
    assert "railing" not in client_sentences(verdict, None)[2]


def test_a_client_hears_of_a_guess() -> None:
    """That it is one, and of what; a height that is known stays a fact."""
    for guessed, height, of in (
        (("height", "horizon"), "guessed to be 30 m up", "The viewpoint is"),
        (("focal-35",), "a viewpoint 30 m up", "The lens that took the picture is"),
    ):
        get, need, risk = client_sentences(_verdict(PROPOSED), Vantage(30.0, 20.0), guessed=guessed)

        assert get.startswith("If the guess is right: you get")
        assert height in need
        assert risk.endswith(f"{of} only guessed so far; put right, this may change.")


def test_a_client_hears_of_what_stands_close_to_the_camera() -> None:
    """A rail that spoils it comes first of what could go wrong; a harmless one is left out."""
    verdict = _verdict(PROPOSED)
    score = replace(verdict.score, word=Word.WONT)
    railed = replace(verdict, score=score, near_spoils=True)
    stance = replace(verdict.stance, foreground_share=0.06)
    harmless = replace(railed, stance=stance, near_spoils=False)

    assert "close to the camera shows large and blurred" in client_sentences(railed, None)[2]
    assert "close to the camera" not in client_sentences(harmless, None)[2]
    assert "close to the camera" not in client_sentences(verdict, None)[2]


def test_what_is_sharp_has_its_name_or_its_size() -> None:
    """Names where there are any, else how much of the picture the strip is; no thirds."""
    verdict = _verdict(PROPOSED)
    named = client_sentences(verdict, None, sharp=("fountain", "Ann"))[0]
    strip = client_sentences(verdict, None)[0]

    assert "with the fountain and Ann sharp and the rest soft" in named
    found = Asked("fountain", 0, sharp=True, share=0.4), Asked("Ann", 1, sharp=False)
    known = replace(_soft(0.9), things=found)  # a model, of which one thing named is soft
    told = client_sentences(verdict, None, sharp=("fountain", "Ann"), named=known)[0]
    assert "with part of the fountain sharp and the rest soft" in told
    assert re.search(r"a strip across its middle, a \w+ of its height", strip)
    assert "third sharp" not in strip


def _soft(share: float) -> Sharpness:
    return Sharpness(things=(), soft_share=share, circle=0.0012, just_seen=0.002, f_number=2.8)


def test_who_names_things_hears_nothing_of_models_that_are_none() -> None:
    """Two faces through an ordinary lens: what is sharp and what could move."""
    plain = _verdict(replace(PROPOSED, tilt_deg=0))
    get, need, risk = client_sentences(
        plain, Vantage(1.6, 2), sharp=("Ann", "Ben"), sharpness=_soft(0.34), betrays="the wall"
    )
    row = tuple(f"row first pot to last pot, {end}" for end in ("first", "middle", "last"))
    pots, _, _ = client_sentences(plain, None, sharp=row, sharpness=_soft(0.9))
    part, _, _ = client_sentences(plain, None, sharp=row[1:], sharpness=_soft(0.9))

    assert get == "You get the picture with Ann and Ben sharp."
    missed = replace(_soft(0.9), things=(Asked("Ann", 0, sharp=True), Asked("Ben", 1, sharp=False)))
    get = client_sentences(plain, None, sharp=("Ann", "Ben"), sharpness=missed)[0]
    assert get == "You get the picture with Ann sharp and Ben soft."
    ends = tuple(f"row 1, {end}" for end in ("first", "part standing back", "middle", "last"))
    seen = tuple(Asked(end, k, sharp=k == 3) for k, end in enumerate(ends))
    get = client_sentences(plain, None, sharp=ends, sharpness=replace(_soft(0.9), things=seen))[0]
    assert get == "You get the picture with the last of row 1 sharp and the rest of row 1 soft."
    own = tuple(
        f"the row's {end}"
        for end in ("first", "part standing forward", "part standing back", "last")
    )
    assert "with the row sharp" in client_sentences(plain, None, sharp=own, sharpness=_soft(0.9))[0]
    assert "the row from first pot to last pot sharp and most of what is off its line soft" in pots
    assert "the middle and last of the row from first pot to last pot sharp" in part
    for names, words in (
        (("bottle 1", "bottle 6"), "with bottle 1 and bottle 6 sharp"),
        (("his left eye", "both rings"), "with his left eye and both rings sharp"),
        (
            ("behind wall, near", "behind wall, middle"),
            "with what is behind the near and middle of the wall sharp",
        ),
        (("what's left", "Ann"), "with what's left and Ann sharp"),
    ):
        get = client_sentences(plain, None, sharp=names, sharpness=_soft(0.9))[0]
        assert words in get
    assert "model" not in get + need + risk
    assert "viewpoint" not in need
    assert "moves, or the camera stands elsewhere" in risk
    *_, drawn = client_sentences(plain, None, sharp=row, sharpness=_soft(0.9), drawn_soft=row)
    assert "draws the row from first pot to last pot soft, which will be sharp." in drawn
    assert "slack" not in drawn
    *_, risk = client_sentences(plain, None, sharpness=_soft(0.9), tight=True)
    assert "moves, or the camera stands elsewhere on the day. There is no slack for hands" in risk
    *_, risk = client_sentences(plain, None, sharpness=_soft(0.3), unseen=("parked cars", "Ann"))
    assert "leaves out what should be sharp (parked cars, Ann)" in risk


def test_what_betrays_it_is_told_by_name() -> None:
    """No thirds of the picture, but what the eye will stumble over."""
    judged = replace(_verdict(PROPOSED), bare_ground=False)

    assert "the chapel may give it away" in client_sentences(judged, None, betrays="the chapel")[2]


def test_a_close_photograph_is_not_sold_as_a_model() -> None:
    """Neither its first sentence nor its risk speaks of giving a model away."""
    verdict = _verdict(PROPOSED)
    close = replace(verdict, score=replace(verdict.score, word=Word.CLOSE))
    sentences = client_sentences(close, None)

    assert "will not look like a scale model" in sentences[0]
    assert "give it away" not in sentences[2]


def test_what_is_sharp_on_to_the_horizon_is_no_strip() -> None:
    """A straight lens at f/8 focused at 20 m is sharp from the foreground to the sky."""
    camera = Camera(240, 160, 300.0)
    depth = np.full((160, 240), np.inf, np.float32)
    depth[80:] = (1.6 / camera.grid()[1][80:])[:, None]
    light = np.random.default_rng(1).random((160, 240, 3), np.float32)
    scene = Scene(light, depth, camera, vantage=Vantage(1.6, 0))
    straight = LensSetting(focal_mm=45, f_number=8, focus=FocusDistance(20.0))
    wider = replace(straight, f_number=5.6)

    assert "the place sharp nearly everywhere" in client_sentences(judge(scene, straight), None)[0]
    assert "sharp in most of the picture" in client_sentences(judge(scene, wider), None)[0]
