"""The running page answers its own face, and ends everything else in a sentence."""

import io
import json
import struct
import time
import zipfile
from concurrent.futures import ThreadPoolExecutor
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from render.files.shipped import shipped_names
from tests.page.conftest import Served

JSON = {"Content-Type": "application/json"}


def test_the_page_hears_in_which_units_lengths_are_told(served: Served) -> None:
    """It engraves its rings by them."""
    assert json.loads(served.ask("GET", "/api/start")[1])["units"] == "metres"


def _start(served: Served) -> dict[str, Any]:
    shot: dict[str, Any] = json.loads(served.ask("GET", "/api/start")[1])["shot"]
    return shot


def _post(served: Served, path: str, **wish: Any) -> tuple[int, bytes]:
    status, content, _ = served.ask("POST", path, json.dumps({"view": "t", **wish}), JSON)
    return status, content


def _look(served: Served, shot: dict[str, Any], **wish: Any) -> tuple[dict[str, Any], Image.Image]:
    status, content = _post(served, "/api/look", shot=shot, **{"pixels": 100_000, **wish})
    assert status == 200, content
    (length,) = struct.unpack(">I", content[:4])
    return json.loads(content[4 : 4 + length]), Image.open(io.BytesIO(content[4 + length :]))


def _turned(shot: dict[str, Any], **values: str) -> dict[str, Any]:
    return {**shot, "values": {**shot["values"], **values}}


def test_the_face_loads_only_from_here(served: Served) -> None:
    """No address of another machine stands in any file of the page, and it is light."""
    files = Path(__file__).parents[2] / "render" / "page" / "static"
    sizes = 0
    for file in files.iterdir():
        status, content, answer = served.ask("GET", f"/static/{file.name}")

        assert status == 200
        assert content == file.read_bytes()
        assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'")
        sizes += len(content)
        text = content.decode("latin-1").replace("http://www.w3.org/", "")
        assert file.suffix == ".woff2" or ("http://" not in text and "https://" not in text)
    assert sizes <= 300_000


def test_every_demo_scene_is_offered_with_its_picture(served: Served) -> None:
    """A name and a line for each that is shipped, and its small picture where there is one."""
    places = json.loads(served.ask("GET", "/api/start")[1])["places"]

    assert [place["name"] for place in places] == list(shipped_names())
    assert any(place["picture"] for place in places)
    for place in places:
        assert place["about"]
        if not place["picture"]:
            continue
        status, content, _ = served.ask("GET", f"/static/{place['picture']}")
        assert status == 200
        with Image.open(io.BytesIO(content)) as picture:
            assert picture.size == (300, 200)


def test_a_setting_becomes_a_picture_and_its_words(served: Served) -> None:
    """A tilted lens blurs the top and bottom, and says what it did."""
    shot = _start(served)
    told, sharp = _look(served, shot, showing="before")
    tilted, photo = _look(served, _turned(shot, tilt="up 8", f="2.8", focus="50%,60%"))

    assert tilted["tilt"] == -8
    assert "lens up 8°" in tilted["words"]
    assert photo.size == sharp.size
    low = slice(int(photo.height * 0.85), photo.height)
    detail = [np.diff(np.asarray(one.convert("L"), float)[low]).std() for one in (sharp, photo)]
    assert detail[1] < 0.7 * detail[0]
    assert abs(told["horizon"] - 0.2) < 0.005


def test_the_sharp_band_comes_as_outlines_in_the_frame(served: Served) -> None:
    """Shares from 0 to 1, and the focus lies inside their rows."""
    shot = _turned(_start(served), tilt="up 8", focus="50%,60%")
    told, _ = _look(served, shot, band=True)
    points = np.array([point for region in told["band"] for ring in region for point in ring])

    assert points.min() >= -0.01
    assert points.max() <= 1.01
    assert points[:, 1].min() <= told["focus"][1] <= points[:, 1].max()


def test_the_verdict_has_words_parts_and_advice(served: Served) -> None:
    """Five parts, and advice that carries the values it would turn."""
    status, content = _post(served, "/api/verdict", shot=_turned(_start(served), f="8"))
    said = json.loads(content)

    assert status == 200
    assert len(said["parts"]) == 5
    assert sum(part["weakest"] for part in said["parts"]) == 1
    applied = [line for line in said["advice"] if line["values"]]
    assert applied
    better = _post(
        served, "/api/verdict", shot=_turned(_start(served), **{"f": "8", **applied[0]["values"]})
    )
    gained = float(applied[0]["gain"].split("→")[1])
    score = float(json.loads(better[1])["short"].split("·")[1].split()[0])
    assert abs(score - gained) <= 2


def test_bad_wishes_end_in_one_sentence(served: Served) -> None:
    """A setting that cannot be, a file that is not there, a wish that is none."""
    shot = _start(served)
    for path, wish in (
        ("/api/look", {"shot": _turned(shot, tilt="sideways"), "pixels": 100_000}),
        ("/api/look", {"shot": _turned(shot, lens="5"), "pixels": 100_000}),
        ("/api/look", {"shot": {**shot, "picture": "../../etc/passwd"}, "pixels": 100_000}),
        ("/api/look", {"shot": shot, "pixels": 1e12}),
        ("/api/look", {"pixels": 100_000}),
        ("/api/saves", {"kind": "format the disk", "shots": [shot]}),
        ("/api/verdict", {"shot": {**shot, "values": {"height": "very high"}}}),
    ):
        status, content = _post(served, path, **wish)

        assert status == 422, (path, wish, content)
        assert content.decode().endswith(".")
        assert "Traceback" not in content.decode()
    assert served.ask("POST", "/api/look", b"{", JSON)[0] == 422
    assert served.ask("GET", "/static/..%2fapp.py")[0] == 404
    assert served.ask("GET", "/api/saves/none")[0] == 422


def test_a_dropped_picture_is_opened_with_what_had_to_be_guessed(
    served: Served, tmp_path: Path
) -> None:
    """A picture without EXIF begins with a guess that is named as one."""
    path = tmp_path / "roof.png"
    Image.new("RGB", (90, 60), (90, 120, 150)).save(path)
    status, content, _ = served.ask("PUT", "/api/files?name=roof.png", path.read_bytes())
    laid = json.loads(content)

    assert status == 200
    assert laid["kind"] == "picture"
    assert set(laid["guessed"]) == {"height", "horizon", "guessed"}
    told, _ = _look(served, {"picture": laid["id"], "scene": None, "values": laid["guessed"]})
    assert told["guessed"] == {"focal-35": "28", "height": "10 m", "horizon": "25%"}
    assert "level ground" in told["depth"]


def test_a_depth_file_is_laid_beside_an_open_picture(served: Served, tmp_path: Path) -> None:
    """Its distances then count; without a picture it is refused."""
    np.save(tmp_path / "far.npy", np.full((400, 600), 21.0, np.float32))
    content = (tmp_path / "far.npy").read_bytes()
    assert served.ask("PUT", "/api/files?name=far.npy", content)[0] == 422
    status, answer, _ = served.ask("PUT", "/api/files?name=far.npy&beside", content)
    laid = json.loads(answer)

    assert status == 200
    assert laid["kind"] == "depth"
    shot = _turned(_start(served), depth=laid["id"], focus="50%,50%")
    shot["values"]["depth-kind"] = "metres"
    assert abs(_look(served, shot)[0]["focus_m"] - 21) < 1e-3


def test_what_is_no_picture_is_refused_and_removed(served: Served) -> None:
    """An archive renamed to .jpg, noise, a picture cut short and an empty file."""
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as made:
        made.writestr("a.txt", "not a picture" * 100)
    cut = io.BytesIO()
    Image.effect_noise((300, 200), 50).save(cut, "JPEG")
    for content in (archive.getvalue(), b"\x00\xff" * 500, cut.getvalue()[:900], b""):
        status, answer, _ = served.ask("PUT", "/api/files?name=no_picture.jpg", content)

        assert status == 422
        assert b"Traceback" not in answer
    papers = json.loads(served.ask("GET", "/api/start")[1])["papers"]
    assert "no_picture.jpg" not in {paper["name"] for paper in papers.values()}


def test_two_gigabytes_are_refused_before_they_are_sent(served: Served) -> None:
    """The claimed length is enough."""
    line = HTTPConnection("127.0.0.1", served.port, timeout=20)
    line.putrequest("PUT", f"/{served.token}/api/files?name=huge.jpg")
    line.putheader("Content-Length", str(2_000_000_000))
    line.endheaders()
    answer = line.getresponse()

    assert answer.status == 413
    assert b"at most 400 MB" in answer.read()
    line.close()


def test_what_is_not_there_is_said_in_words(served: Served) -> None:
    """An address that is none, and a way of asking that none of them knows."""
    for method, path in (("GET", "/api/nothing"), ("DELETE", "/api/look"), ("GET", "/a/../b")):
        status, answer, _ = served.ask(method, path)

        assert status in (404, 405)
        assert answer == b"There is nothing at this address: load the page again."


def test_without_the_token_nothing_is_told(served: Served) -> None:
    """A bare address, a foreign origin and a foreign host get a refusal only."""
    line = HTTPConnection("127.0.0.1", served.port, timeout=20)
    for path, headers in (
        ("/", {}),
        ("/api/start", {}),
        (f"/{served.token}/api/start", {"Origin": "http://elsewhere.example"}),
        (f"/{served.token}/api/start", {"Host": f"elsewhere.example:{served.port}"}),
    ):
        line.request("GET", path, headers=headers)
        answer = line.getresponse()

        assert answer.status in (403, 421)
        assert served.token.encode() not in answer.read()
    line.close()


def test_two_hundred_requests_at_once_all_get_an_answer(served: Served) -> None:
    """Each tab's newest is made, what it replaced is told so, and the page lives on."""
    shot = _start(served)

    def ask(number: int) -> int:
        wish = {"shot": _turned(shot, tilt=f"up {number % 9}"), "pixels": 20_000}
        return _post(served, "/api/look", **{**wish, "view": f"tab{number % 20}"})[0]

    with ThreadPoolExecutor(200) as crowd:
        found = list(crowd.map(ask, range(200)))

    assert set(found) <= {200, 204, 503}
    assert found.count(200) >= 20
    assert _look(served, shot)[0]["tilt"] == 0


def test_a_photograph_is_saved_in_full(served: Served) -> None:
    """Begun, followed, fetched as a download."""
    status, content = _post(served, "/api/saves", kind="photograph", shots=[_start(served)])
    assert status == 200, content
    name = json.loads(content)["id"]
    for _ in range(400):
        state = json.loads(served.ask("GET", f"/api/saves/{name}")[1])
        if state["done"] or state["problem"]:
            break
        time.sleep(0.1)
    status, content, answer = served.ask("GET", f"/api/saves/{name}/file")

    assert state["done"], state
    assert status == 200
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert Image.open(io.BytesIO(content)).size[0] > 550


def test_the_loupe_shows_the_photograph_pixel_for_pixel(served: Served) -> None:
    """The same place of the full photograph, as `render` makes it."""
    shot = _turned(_start(served), tilt="up 8", f="2.8", focus="50%,60%")
    status, content = _post(served, "/api/loupe", shot=shot, x=0.5, y=0.55)
    (length,) = struct.unpack(">I", content[:4])
    glass = Image.open(io.BytesIO(content[4 + length :]))
    _, photo = _look(served, shot, pixels=4_000_000, fine=True)

    assert status == 200
    assert glass.size == (240, 240)
    said = json.loads(content[4 : 4 + length])
    x, y = round(said["x"] * photo.width), round(said["y"] * photo.height)
    there = photo.crop((x - 120, y - 120, x + 120, y + 120))
    difference = np.asarray(glass, float) - np.asarray(there, float)
    assert np.sqrt((difference**2).mean()) < 4


def test_the_band_is_laid_through_points(served: Served) -> None:
    """Two points turn the swing until both are sharp; the handles then pass through them."""
    shot = _turned(_start(served), tilt="up 8", focus="50%,60%")
    points = [[0.12, 0.5], [0.88, 0.62]]
    status, content = _post(served, "/api/lay", shot=shot, points=points)
    values = json.loads(content)
    told, _ = _look(served, _turned(shot, **values), band=True)

    assert status == 200
    assert set(values) == {"swing", "focus"}
    assert told["tilt"] == -8
    found = {handle[0]: handle[1] for handle in told["handles"]}
    assert abs(found[0.12] - 0.5) < 0.03
    assert abs(found[0.88] - 0.62) < 0.03


def test_a_wish_becomes_a_setting(served: Served) -> None:
    """What must be sharp is worked out by the same job as on the command line."""
    status, content = _post(
        served,
        "/api/solve",
        shot=_start(served),
        sharp=[["point", "a=40%,60%"], ["point", "b=50%,90%"]],
    )
    found = json.loads(content)

    assert status == 200, content
    assert {"tilt", "swing", "focus", "f"} <= set(found["values"])
    assert found["lines"]
    assert _look(served, _turned(_start(served), **found["values"]))[0]["words"]


def test_depth_and_blur_map_are_pictures_too(served: Served) -> None:
    """Near ground is lighter than far; the map is as large as the photograph."""
    shot = _turned(_start(served), tilt="up 8", focus="50%,60%")
    _, depth = _look(served, shot, showing="depth")
    grey = np.asarray(depth.convert("L"), float)
    assert grey[-5].mean() > grey[grey.shape[0] // 2].mean() > grey[5].mean()

    _, whole = _look(served, shot, showing="whole")
    _, laid = _look(served, shot, showing="laid")
    seen, there = (np.asarray(each, float)[-40:] for each in (laid, whole))  # all about as far
    assert np.corrcoef(seen.ravel(), there.ravel())[0, 1] > 0.9
    assert np.abs(seen - there).mean() > 5

    _, photo = _look(served, shot)
    _, blur = _look(served, shot, showing="map")
    assert blur.size == photo.size
    assert np.asarray(blur, float).std(axis=2).mean() > 5
