"""Films as people order them: stills, clips, one still and scenes; stopped and gone on."""

import shutil
import subprocess
import sys
import time
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError, OutputError, SettingError
from render.files.clips.reading import ClipReader, open_clip
from render.files.pictures import read_picture
from render.files.shots import read_shot
from render.jobs.film import film
from render.jobs.filming import segment
from render.jobs.render import render
from render.load.progress import silent
from render.shot.declaring import read_wishes
from render.shot.filmwishes import FilmWishes
from render.shot.keyframes import read_key_frame
from render.shot.shot import Shot, merged, shot_keys
from tests.clips import street, write_clip
from tests.schemas import faults

PLACE = {
    "view": "40", "height": "12", "pitch": "20", "lens": "50", "tilt": "up 8", "f": "2.8",
    "focus": "50%,50%",
}  # fmt: skip


def _shot(source: Path | str, **more: str) -> Shot:
    return merged(Shot(picture=str(source)), {**PLACE, **more}, "{name}")


def _wishes(**given: str | tuple[str, ...]) -> FilmWishes:
    return read_wishes(FilmWishes, {k.replace("_", "-"): v for k, v in given.items()}, "{name}")


def _lights(path: Path) -> list[np.ndarray]:
    clip = open_clip(path)
    return list(ClipReader(clip).frames(0, len(clip.times)))


@pytest.fixture(scope="module")
def plate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clip of a camera that stands still, with sound."""
    return write_clip(tmp_path_factory.mktemp("plate") / "plate.mp4", street(20), sound=True)


@pytest.fixture(scope="module")
def stills(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six numbered stills."""
    folder = tmp_path_factory.mktemp("stills")
    for number, frame in enumerate(street(6), 8):
        Image.fromarray(frame).save(folder / f"s{number}.png")
    return folder


def test_a_film_of_stills_is_the_stills_rendered(stills: Path, tmp_path: Path) -> None:
    """Byte for byte what `render` makes of each, in the order of their numbers."""
    made = film(_shot(stills), out=tmp_path / "out" / "f%03d.png", progress=silent)
    names = sorted(path.name for path in (tmp_path / "out").iterdir())

    assert names == [f"f{k:03d}.png" for k in range(1, 7)]
    assert made.record["film"]["frames"] == 6
    assert faults("film", made.record) == []
    for number in (8, 10, 13):
        alone = tmp_path / f"alone{number}.png"
        render(_shot(stills / f"s{number}.png"), alone, progress=silent)
        filmed = read_picture(tmp_path / "out" / f"f{number - 7:03d}.png")
        np.testing.assert_array_equal(filmed.light, read_picture(alone).light)


def test_stills_may_keep_their_own_names(stills: Path, tmp_path: Path) -> None:
    """One shot over many pictures: a star in the name stands for theirs."""
    film(_shot(stills), out=tmp_path / "*_tilted.jpg", progress=silent)

    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(
        f"s{number}_tilted.jpg" for number in range(8, 14)
    )
    with pytest.raises(SettingError, match="more than once"):
        film(_shot(stills), _wishes(on_twos="true"), tmp_path / "*_b.jpg", progress=silent)


def test_a_clip_keeps_its_frames_rate_tags_and_sound(plate: Path, tmp_path: Path) -> None:
    """A clip of 20 frames comes back as 20, at 25 a second, BT.709, heard as before."""
    out = tmp_path / "out.mp4"
    film(_shot(plate), out=out, strip=tmp_path / "strip.png", progress=silent)
    clip = open_clip(out)

    assert len(clip.times) == 20
    assert clip.rate == 25
    assert clip.tags == open_clip(plate).tags
    assert clip.sound
    with Image.open(tmp_path / "strip.png") as strip:
        assert strip.width > 2000
    assert not list(tmp_path.glob(".*parts"))


def test_what_stands_still_stays_still(plate: Path, tmp_path: Path) -> None:
    """Away from what moves, the film changes no more from frame to frame than the source does.

    Without loss on either side; the source's own noise is what blur averages, so less is left.
    """
    source = write_clip(tmp_path / "a.mkv", street(8), codec="ffv1", pixels="bgr0")
    out = tmp_path / "out.mkv"
    film(_shot(source), out=out, progress=silent)
    for light in zip(_lights(out), _lights(out)[1:], strict=False):
        changed = np.abs(light[1] - light[0]).max(axis=2)
        assert changed[:20].max() == 0.0  # far above the square and its blur


def test_speed_picks_and_the_shutter_averages(plate: Path, tmp_path: Path) -> None:
    """Four times as fast is a quarter of the frames; an open shutter is the mean of four."""
    shot = _shot(plate, f="22", tilt="0", focus="infinity")
    film(shot, _wishes(speed="4", shutter="360°"), tmp_path / "f%d.exr", progress=silent)
    film(shot, out=tmp_path / "all" / "f%d.exr", progress=silent)
    every = [read_picture(tmp_path / "all" / f"f{k}.exr").light for k in range(1, 21)]

    assert len(list(tmp_path.glob("f*.exr"))) == 5
    mean = read_picture(tmp_path / "f2.exr").light
    np.testing.assert_allclose(mean, np.mean(every[4:8], axis=0), atol=2e-3)  # half floats


def test_a_still_is_animated_between_key_frames(stills: Path, tmp_path: Path) -> None:
    """The last frame is the tilted still, the first the straight one; what they give is given."""
    still = stills / "s8.png"
    wishes = _wishes(
        key=("0 s: tilt=0; focus=50%,50%; f=2.8", "0.4 s: tilt=up 8", "9 s: tilt=up 8"),
        clip="0.5 s",
        fps="10",
    )
    given = {name: words for name, words in PLACE.items() if name not in ("focus", "f")}
    open_shot = merged(Shot(picture=str(still)), given, "{name}")
    kept = tmp_path / "kept.toml"
    told = film(open_shot, wishes, tmp_path / "f%d.png", save_shot=kept, progress=silent)
    again = read_shot(kept)
    assert again.key_frames == tuple(read_key_frame(text, shot_keys()) for text in wishes.keys)
    assert (again.film_s, again.written) == (0.5, open_shot.written)
    assert not any("was given" in line for line in told.lines)
    assert told.lines[1].startswith("From 0 s lens straight to up 8° at 0.4 s, to up 8° at 9 s; ")
    assert told.lines[2].startswith("Focus: between key frames what is in focus stays in focus: ")
    assert told.lines[3].startswith("Setting at 0.4 s, the last frame: 50 mm, f/2.8, lens up 8°")
    assert "Note: the key at 9 s is never reached: the film lasts 0.5 s" in told.lines
    render(_shot(still), tmp_path / "tilted.png", progress=silent)
    render(_shot(still, tilt="0"), tmp_path / "straight.png", progress=silent)

    for name, number in (("straight", 1), ("tilted", 5)):
        np.testing.assert_array_equal(
            read_picture(tmp_path / f"f{number}.png").light,
            read_picture(tmp_path / f"{name}.png").light,
        )
    assert not (tmp_path / "f6.png").exists()


def test_side_by_side_is_twice_as_wide(stills: Path, tmp_path: Path) -> None:
    """The straight lens on the left, the tilted one on the right, small enough for a mail."""
    wishes = _wishes(side_by_side="true", reveal="0.2 s", fps="10")
    film(_shot(stills / "s8.png"), wishes, tmp_path / "a.webp", progress=silent)

    with Image.open(tmp_path / "a.webp") as picture:
        assert picture.size == (
            190,
            63,
        )  # two planned frames, each a little narrower than the still
        assert picture.n_frames == 3  # type: ignore[attr-defined]


def test_a_strip_is_refused_by_its_name_before_work(plate: Path, tmp_path: Path) -> None:
    """A strip without an ending is told before the first frame."""
    with pytest.raises(OutputError, match=r"the strip is written as \.png"):
        film(_shot(plate), out=tmp_path / "a.mp4", strip=tmp_path / "nine", progress=silent)
    assert not list(tmp_path.glob("a.mp4*"))


def test_a_camera_that_moves_is_refused(tmp_path: Path) -> None:
    """A pan of a pixel and a half a frame: how far it has strayed is said; nothing is written."""
    path = write_clip(tmp_path / "pan.mp4", street(12, 192, 128, shift=1.5))

    with pytest.raises(InputError, match="camera moves"):
        film(_shot(path), out=tmp_path / "out.mp4", progress=silent)
    assert not (tmp_path / "out.mp4").exists()


def test_flicker_is_evened_when_asked(tmp_path: Path) -> None:
    """Every second frame a fifth darker: the film's brightness hardly jumps."""
    frames = street(12).astype(float)
    frames[::2] *= 0.9
    source = write_clip(tmp_path / "a.mkv", np.rint(frames).astype(np.uint8), codec="ffv1",
                        pixels="bgr0")  # fmt: skip
    jumps = {}
    for name, wishes in (("as is", _wishes()), ("even", _wishes(even_light="true"))):
        out = tmp_path / f"{name}.mkv"
        film(_shot(source), wishes, out, progress=silent)
        means = np.array([np.log(light[:20].mean()) for light in _lights(out)])
        jumps[name] = np.abs(np.diff(means))[3:-3].mean()

    assert jumps["even"] < 0.2 * jumps["as is"]


@pytest.mark.parametrize(
    ("wishes", "out", "error"),
    [
        ({"codec": "prores"}, "a.mp4", OutputError),
        ({}, "a.txt", OutputError),
        ({}, "f?.png", OutputError),
        ({}, "f*.png", SettingError),
        ({}, "none/there/f%d.png", OutputError),
        ({"from": "9 s"}, "a.mp4", SettingError),
        ({"follow": "fountain"}, "a.mp4", SettingError),
        ({"reveal": "1 s", "key": ("0 s: f=4",)}, "a.mp4", SettingError),
        ({"key": ("0 s: height=12",)}, "a.mp4", SettingError),
    ],
)
def test_what_cannot_be_is_refused_before_work(
    plate: Path, tmp_path: Path, wishes: dict[str, str], out: str, error: type[Exception]
) -> None:
    """One sentence; nothing is written."""
    with pytest.raises(error):
        film(_shot(plate), _wishes(**wishes), tmp_path / out, progress=silent)
    assert list(tmp_path.iterdir()) == []


def test_killed_it_goes_on_and_the_bytes_are_the_same(tmp_path: Path) -> None:
    """Kill -9 after the first segment: the same command goes on from there; so do two workers."""
    source = write_clip(tmp_path / "a.mp4", np.tile(street(20), (6, 1, 1, 1)))
    film(_shot(source), out=tmp_path / "whole.mp4", progress=silent)
    words = [f"--{name}={value}" for name, value in PLACE.items()]
    command = [sys.executable, "-m", "render", "film", str(source), *words]
    killed = subprocess.Popen(
        [*command, "-o", str(tmp_path / "cut.mp4")], stdout=subprocess.DEVNULL
    )
    first = tmp_path / ".cut.mp4.parts" / "00000.mov"
    while not first.exists() and killed.poll() is None:
        time.sleep(0.01)
    killed.kill()
    killed.wait()
    quicker = (tmp_path / "cut.mp4").exists()  # than the kill; then there is nothing to go on with
    made = film(_shot(source), out=tmp_path / "cut.mp4", overwrite=quicker, progress=silent)
    film(_shot(source), _wishes(workers="2"), tmp_path / "two.mp4", progress=silent)

    assert quicker or any("frames were done already" in line for line in made.lines)
    assert (tmp_path / "cut.mp4").read_bytes() == (tmp_path / "whole.mp4").read_bytes()
    assert (tmp_path / "two.mp4").read_bytes() == (tmp_path / "whole.mp4").read_bytes()


def test_a_full_disk_is_told_before_the_start(
    plate: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it needs and what is free are said."""
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=10))

    with pytest.raises(OutputError, match="are free"):
        film(_shot(plate), out=tmp_path / "a.mp4", progress=silent)


def test_a_disk_that_fills_keeps_what_is_done(
    stills: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The sentence says so, and the same command needs room for the rest alone."""
    shot, wishes = _shot(stills / "s8.png"), _wishes(key=("0 s: tilt=0", "1 s: tilt=up 8"))
    out = tmp_path / "f%02d.png"
    whole, count = segment.write_picture, 0

    def full(path: Path, *rest: Any, **more: Any) -> Any:
        nonlocal count
        count += 1
        if count == 15:
            raise OutputError("nothing was kept") from OSError(28, "No space left on device")
        return whole(path, *rest, **more)

    monkeypatch.setattr(segment, "write_picture", full)
    with pytest.raises(OutputError, match=r"No space left.*parts keeps what is done"):
        film(shot, wishes, out, progress=silent)
    assert (tmp_path / "f12.png").exists()

    pixels = 95 * 63
    usage = shutil.disk_usage(tmp_path)._replace(free=int(0.7 * 26 * 5 * pixels))
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage)
    made = film(shot, wishes, out, progress=silent)
    assert any("12 of 26 frames were done already" in line for line in made.lines)
    assert len(list(tmp_path.iterdir())) == 26


SQUARE = """
line = "A square that two cars cross."
[vantage]
stand_m = [0, -40]
height_m = 15
look_at_m = [0, 0, 0]
[setting]
f_number = 16
[[things]]
kind = "house"
at_m = [0, 25]
[[things]]
kind = "car"
name = "cars"
moves = { path_m = [[-30, 0], [30, 0]], speed_m_s = 8, spread_m = 12 }
array = { count = [2, 1], step_m = [1, 0] }
"""


def _change(folder: Path, scene: str) -> np.ndarray:
    """By how many codes each pixel differs between two seconds of a scene."""
    (folder / "square.toml").write_text(scene)
    shot = merged(Shot(scene=str(folder / "square.toml")), {"width": "96"}, "{name}")
    wishes = _wishes(clip="2 s", fps="1")
    film(shot, wishes, folder / "f%d.tif", overwrite=True, progress=silent)
    one, two = (read_picture(folder / f"f{k}.tif") for k in (1, 2))
    codes = [each.encoding.codes(each.light, 8).astype(float) for each in (one, two)]
    return np.abs(codes[1] - codes[0]).max(axis=2)


def test_a_scene_moves_and_only_what_moves_changes(tmp_path: Path) -> None:
    """Cars drive on; what gets no light from them keeps every bit, what gets some hardly changes.

    The house behind stands in the cars' own light: a ray of its daylight may meet one of them.
    """
    near = _change(tmp_path, SQUARE)
    far = _change(tmp_path, SQUARE.replace("[[-30, 0], [30, 0]]", "[[-30, 400], [30, 400]]"))

    assert near.max() > 20
    assert near[:16].mean() < 0.1  # the house, far above the street
    assert far.max() == 0


def test_the_band_follows_a_named_thing(tmp_path: Path) -> None:
    """A car that drives away from the camera stays sharp: its focus is its own at every moment."""
    away = SQUARE.replace("[[-30, 0], [30, 0]]", "[[4, -15], [4, 20]]")
    (tmp_path / "square.toml").write_text(away)
    shot = merged(Shot(scene=str(tmp_path / "square.toml")), {"width": "64"}, "{name}")
    wishes = _wishes(clip="3 s", fps="1", follow="cars")
    film(shot, wishes, tmp_path / "f%d.png", progress=silent)

    assert len(list(tmp_path.glob("f*.png"))) == 3
    with pytest.raises(SettingError, match="cars"):
        film(shot, _wishes(follow="bus"), tmp_path / "g%d.png", progress=silent)


def test_progress_is_told_with_frames_and_time_left(plate: Path, tmp_path: Path) -> None:
    """Such as "frame 7 of 20, 2 s left"; the share never falls."""
    told: list[tuple[str, float]] = []
    film(
        _shot(plate),
        out=tmp_path / "a.mp4",
        progress=lambda what, share: told.append((what, share)),
    )
    shares = [share for _, share in told]

    assert any(what.startswith("frame 7 of 20, ") and what.endswith(" left") for what, _ in told)
    assert shares == sorted(shares)
    assert Fraction(1) >= shares[-1]


def test_what_crosses_gets_its_own_depth(tmp_path: Path) -> None:
    """With --movers the square that crosses is filmed as one that stands: another picture there."""
    source = write_clip(tmp_path / "a.mkv", street(12), codec="ffv1", pixels="bgr0")
    for name, wishes in (("flat", _wishes()), ("standing", _wishes(movers="true"))):
        shot = _shot(source, f="1", tilt="0", focus="8 m")
        film(shot, wishes, tmp_path / f"{name}.mkv", progress=silent)
    flat, standing = (_lights(tmp_path / f"{name}.mkv")[6] for name in ("flat", "standing"))

    assert np.abs(flat - standing).max() > 1e-3  # blur of half a pixel on so small a picture
    np.testing.assert_array_equal(flat[:15], standing[:15])
    short = write_clip(tmp_path / "short.mkv", street(3), codec="ffv1", pixels="bgr0")
    with pytest.raises(SettingError, match="five frames"):
        film(_shot(short), _wishes(movers="true"), tmp_path / "c.mkv", progress=silent)


def test_what_crosses_stands_in_the_depth_of_its_frame(tmp_path: Path) -> None:
    """A file for every frame and --movers: each frame's own ground, and the square upright on it;
    a clean plate needs a camera that stands still.
    """
    frames = street(6)
    write_clip(tmp_path / "a.mkv", frames, codec="ffv1", pixels="bgr0")
    write_clip(tmp_path / "pan.mkv", street(6, 96, 64, 1.5), codec="ffv1", pixels="bgr0")
    rows = np.arange(64.0)[:, None]
    for number in range(6):
        away = np.broadcast_to(400 / (rows + 12) * (1 + 0.1 * number), (64, 96))
        np.save(tmp_path / f"d{number}.npy", away.astype(np.float32))
    given = {**PLACE, "f": "1", "tilt": "0", "focus": "8 m", "depth": str(tmp_path / "d%d.npy")}
    del given["height"], given["pitch"]
    lights = {}
    for name, wishes in (("flat", _wishes()), ("standing", _wishes(movers="true"))):
        shot = merged(Shot(picture=str(tmp_path / "a.mkv")), given, "{name}")
        film(shot, wishes, tmp_path / f"{name}.mkv", progress=silent)
        lights[name] = _lights(tmp_path / f"{name}.mkv")

    off = [np.abs(a - b) for a, b in zip(lights["flat"], lights["standing"], strict=True)]
    assert off[3].max() > 1e-3
    assert off[3][:15].max() == 0
    pan = merged(Shot(picture=str(tmp_path / "pan.mkv")), given, "{name}")
    with pytest.raises(InputError, match="clean plate"):
        film(pan, _wishes(movers="true"), tmp_path / "c.mkv", progress=silent)


def test_a_camera_that_moves_takes_a_depth_for_every_frame(tmp_path: Path) -> None:
    """Each frame is the still rendered with its own depth file; too few of them are refused."""
    frames = street(4, 192, 128, shift=1.5)
    source = write_clip(tmp_path / "pan.mkv", frames, codec="ffv1", pixels="bgr0")
    for number in range(4):
        np.save(tmp_path / f"d{number}.npy", np.full((128, 192), 8.0 + 4 * number, np.float32))
        Image.fromarray(frames[number]).save(tmp_path / f"s{number}.png")
    given = {**PLACE, "f": "1", "focus": "8 m"}
    del given["height"], given["pitch"]

    def shot(picture: str, depth: str) -> Shot:
        named = {**given, "depth": str(tmp_path / depth)}
        return merged(Shot(picture=str(tmp_path / picture)), named, "{name}")

    film(shot("s%d.png", "d%d.npy"), out=tmp_path / "f%d.png", progress=silent)
    film(shot("pan.mkv", "d%d.npy"), out=tmp_path / "out.mkv", progress=silent)
    render(shot("s2.png", "d2.npy"), tmp_path / "alone.png", progress=silent)

    np.testing.assert_array_equal(
        read_picture(tmp_path / "f3.png").light, read_picture(tmp_path / "alone.png").light
    )
    assert len(_lights(tmp_path / "out.mkv")) == 4
    assert source.exists()
    with pytest.raises(InputError, match="1 depth files for 4 frames"):
        film(shot("pan.mkv", "d1*.npy"), out=tmp_path / "a.mkv", progress=silent)
