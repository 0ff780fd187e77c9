"""Libraries of optional extras."""

import sys

import pytest

from render.errors import InputError
from render.extras import needed


@pytest.mark.parametrize(
    ("module", "extra"), [("cv2", "vision"), ("onnxruntime", "predict"), ("laspy", "survey")]
)
def test_a_missing_library_names_its_extra(module, extra, monkeypatch):
    """The sentence says what for and which extra to install."""
    monkeypatch.setitem(sys.modules, module, None)

    with pytest.raises(InputError, match=r"^it needs .*, which is not installed: ") as caught:
        needed(module, "it")

    assert f'{sys.executable} -m pip install ".[{extra}]"' in str(caught.value)
