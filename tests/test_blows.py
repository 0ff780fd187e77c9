"""The corpus of the worst blows: each is used or refused in one sentence, at once."""

import warnings
from collections import Counter
from pathlib import Path

import pytest

pytest.importorskip("resource", reason="the campaign counts memory as Unix tells it")
for library in ("laspy", "onnx", "onnxruntime", "OpenEXR", "osmium", "pillow_heif", "pyproj"):
    pytest.importorskip(library)

from tests.blows.campaign import outcome  # noqa: E402
from tests.blows.corpus import corpus  # noqa: E402
from tests.blows.seeds import seed_files  # noqa: E402


def test_every_kept_blow_ends_in_use_or_in_one_sentence(tmp_path: Path) -> None:
    """No traceback, no hang, no flood of memory or words: over all kinds of files."""
    warnings.simplefilter("ignore")
    network = dict(seed_files("network", tmp_path / "network"))
    found: Counter[str] = Counter()
    wrong = []
    for kind, name, data in corpus():
        folder = tmp_path / f"{sum(found.values())}"
        folder.mkdir()
        if kind == "network":
            for each, whole in network.items():
                (folder / each).write_bytes(whole)
            name = "a.onnx" if name.endswith(".onnx") else "a.toml"
        path = folder / name
        path.write_bytes(data)
        what, _, _ = outcome(kind, path)
        found[what] += 1
        if what not in ("taken", "refused"):
            wrong.append(f"{kind} {name}: {what}")

    assert wrong == []
    assert found["refused"] >= 150


@pytest.mark.parametrize(
    ("kind", "content", "ends"),
    [
        ("options", "scenes", "taken"),
        ("options", "judge\n--tilt\nsideways", "refused"),
        ("page", "GET /api/at\n", "taken"),
    ],
)
def test_the_slow_doors_stand_too(tmp_path: Path, kind: str, content: str, ends: str) -> None:
    """Command lines and requests are struck by hand: what strikes them must not rust meanwhile."""
    (tmp_path / "a.txt").write_text(content)

    assert outcome(kind, tmp_path / "a.txt")[0] == ends
