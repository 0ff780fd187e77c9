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

    with pytest.raises(
        InputError, match=rf'it needs .*pip install "hingeline\[{extra}\]"'
    ) as caught:
        needed(module, "it")
    assert f".venv/bin/pip install '.[{extra}]'" in str(caught.value)
