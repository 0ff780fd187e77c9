"""A depth network of the user's own; the tests build a tiny one."""

from pathlib import Path

import numpy as np
import pytest

from render.depth.network import NetworkUse, predict
from render.errors import InputError

onnx = pytest.importorskip("onnx")
pytest.importorskip("onnxruntime")


def tiny_network(path: Path, *, output: str = "mean") -> Path:
    """Write a network (1, 3, 12, 16) whose answer is the mean of the channels, or constant."""
    helper, kind = onnx.helper, onnx.TensorProto.FLOAT
    taken = helper.make_tensor_value_info("picture", kind, [1, 3, 12, 16])
    given = helper.make_tensor_value_info("depth", kind, None)
    operation = "ReduceMean" if output == "mean" else "ReduceMax"
    axes = helper.make_tensor("axes", onnx.TensorProto.INT64, [1], [1])
    if output == "flat":
        axes = helper.make_tensor("axes", onnx.TensorProto.INT64, [3], [1, 2, 3])
    node = helper.make_node(operation, ["picture", "axes"], ["depth"], keepdims=1)
    graph = helper.make_graph([node], "tiny", [taken], [given], [axes])
    model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", 18)])
    model.ir_version = 9
    onnx.save(model, path)
    return path


def _codes() -> np.ndarray:
    codes = np.zeros((60, 80, 3), np.float32)
    codes[:, 40:] = (0.9, 0.6, 0.3)
    return codes


USE = NetworkUse(16, 12, "relative inverse", mean=(0.1, 0.1, 0.1), std=(0.5, 0.5, 0.5))


def test_the_answer_comes_back_at_the_pictures_size_along_its_edges(tmp_path):
    """Normalised input goes in, and the enlarged answer keeps the picture's edge sharp."""
    model = tiny_network(tmp_path / "tiny.onnx")

    given = predict(str(model), USE, _codes(), _codes() ** 2.2)

    assert given.shape == (60, 80)
    np.testing.assert_allclose(given[:, :39], -0.2, atol=0.02)
    np.testing.assert_allclose(given[:, 41:], 1.0, atol=0.02)


@pytest.mark.parametrize(
    ("use", "output", "sentence"),
    [
        (NetworkUse(32, 24, "relative"), "mean", "takes 16 x 12 px, not 32 x 24"),
        (NetworkUse(16, 12, "metres"), "mean", "0 or below"),
        (USE, "flat", "not one number per pixel"),
    ],
)
def test_networks_that_do_not_fit_are_refused(tmp_path, use, output, sentence):
    """Another size, negative metres and an answer that is no plane are told apart."""
    model = tiny_network(tmp_path / "tiny.onnx", output=output)

    with pytest.raises(InputError, match=sentence):
        predict(str(model), use, _codes(), _codes())


def test_a_file_that_is_no_network_is_refused(tmp_path):
    """A damaged file is one sentence, without the runtime's own error."""
    path = tmp_path / "broken.onnx"
    path.write_bytes(b"not a network")

    with pytest.raises(InputError, match="cannot be read as an ONNX network"):
        predict(str(path), USE, _codes(), _codes())


@pytest.mark.parametrize(
    "values",
    [
        {"width_px": 4},
        {"gives": "disparity"},
        {"std": (0.0, 1.0, 1.0)},
        {"mean": (float("nan"), 0.0, 0.0)},
    ],
)
def test_impossible_uses_are_refused(values):
    """A size, kind or normalisation that cannot be is refused where it is stated."""
    with pytest.raises(InputError):
        NetworkUse(**{"width_px": 16, "height_px": 12, "gives": "relative", **values})


def _endless_network(path: Path) -> Path:
    """Write a network that goes round a loop for years before it answers."""
    helper, kind = onnx.helper, onnx.TensorProto
    turn, go_on = helper.make_tensor_value_info("i", kind.INT64, []), ("go", kind.BOOL, [])
    body = helper.make_graph(
        [
            helper.make_node("Identity", ["go"], ["on"]),
            helper.make_node("Add", ["x", "x"], ["y"]),
        ],
        "body",
        [
            turn,
            helper.make_tensor_value_info(*go_on),
            helper.make_tensor_value_info("x", kind.FLOAT, [1, 3, 12, 16]),
        ],
        [
            helper.make_tensor_value_info("on", kind.BOOL, []),
            helper.make_tensor_value_info("y", kind.FLOAT, [1, 3, 12, 16]),
        ],
    )
    taken = helper.make_tensor_value_info("picture", kind.FLOAT, [1, 3, 12, 16])
    given = helper.make_tensor_value_info("depth", kind.FLOAT, [1, 3, 12, 16])
    count = helper.make_tensor("count", kind.INT64, [], [2**62])
    true = helper.make_tensor("true", kind.BOOL, [], [True])
    loop = helper.make_node("Loop", ["count", "true", "picture"], ["depth"], body=body)
    graph = helper.make_graph([loop], "endless", [taken], [given], [count, true])
    model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", 18)])
    model.ir_version = 9
    onnx.save(model, path)
    return path


def test_a_network_that_does_not_end_is_ended(tmp_path):
    """A loop inside the network stops when its time is over."""
    model = _endless_network(tmp_path / "endless.onnx")

    with pytest.raises(InputError, match=r"was ended after 0\.3 seconds"):
        predict(str(model), USE, _codes(), _codes() ** 2.2, 0.3)
