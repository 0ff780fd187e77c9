"""A depth network of the user's own, run apart; the tests build tiny ones."""

from pathlib import Path

import numpy as np
import pytest

from render.errors import InputError
from render.files.apart import network, process
from render.files.apart.network import run_network
from render.limits import Limit

onnx = pytest.importorskip("onnx")
pytest.importorskip("onnxruntime")

PICTURE = np.linspace(0, 1, 3 * 12 * 16, dtype=np.float32).reshape(1, 3, 12, 16)


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


def _flooding_network(path: Path, count: int) -> Path:
    """Write a network that lays out `count` numbers before it takes their mean."""
    helper, kind = onnx.helper, onnx.TensorProto
    taken = helper.make_tensor_value_info("picture", kind.FLOAT, [1, 3, 12, 16])
    given = helper.make_tensor_value_info("depth", kind.FLOAT, None)
    large = helper.make_tensor("large", kind.INT64, [1], [count])
    nodes = [
        helper.make_node("ReduceMean", ["picture"], ["one"], keepdims=0),
        helper.make_node("Expand", ["one", "large"], ["flood"]),
        helper.make_node("Sin", ["flood"], ["waves"]),
        helper.make_node("ReduceMean", ["waves"], ["level"], keepdims=0),
        helper.make_node("Add", ["picture", "level"], ["depth"]),
    ]
    graph = helper.make_graph(nodes, "flooding", [taken], [given], [large])
    model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", 18)])
    model.ir_version = 9
    onnx.save(model, path)
    return path


def test_the_answer_of_a_network_comes_back(tmp_path: Path) -> None:
    """What it gives for what it is given, in its own shape."""
    answer = run_network(tiny_network(tmp_path / "tiny.onnx"), PICTURE)

    np.testing.assert_allclose(answer, PICTURE.mean(axis=1, keepdims=True), rtol=1e-6)


def test_networks_that_do_not_fit_are_refused(tmp_path: Path) -> None:
    """Another size, and a file that is no network, in one sentence with the file's name."""
    model = tiny_network(tmp_path / "tiny.onnx")
    with pytest.raises(InputError, match=r"tiny\.onnx takes 16 x 12 px, not 32 x 24"):
        run_network(model, np.zeros((1, 3, 24, 32), np.float32))
    model.write_bytes(b"not a network")
    with pytest.raises(InputError, match=r"tiny\.onnx cannot be read as an ONNX network: "):
        run_network(model, PICTURE)


def test_a_network_that_does_not_end_is_ended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A loop inside the network stops when its time is over."""
    monkeypatch.setattr(process, "SECONDS_APART", Limit(0.8, "seconds"))
    monkeypatch.setattr(network, "SECONDS_APART", Limit(0.8, "seconds"))

    with pytest.raises(InputError, match=r"was ended after 0\.8 seconds"):
        run_network(_endless_network(tmp_path / "endless.onnx"), PICTURE)


@pytest.mark.parametrize("count", [200_000_000, 10**15])
def test_a_network_may_hold_so_much_memory_and_no_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    """What it lays out on its way is bounded, and nothing of it reaches this process."""
    resource = pytest.importorskip("resource")
    monkeypatch.setattr(network, "NETWORK_MEMORY", Limit(200e6, "bytes of memory"))
    model = _flooding_network(tmp_path / "flooding.onnx", count)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

    with pytest.raises(InputError, match=r"asked for more than the 0\.2 GB of memory|Expand"):
        run_network(model, PICTURE)

    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50_000
    assert run_network(_flooding_network(tmp_path / "small.onnx", 1000), PICTURE).shape == (
        PICTURE.shape
    )


def test_a_crash_of_the_runtime_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever ends the process over a file ends that process alone."""
    monkeypatch.setattr(process, "_START", "import os; os.abort()")

    with pytest.raises(InputError, match="broke off the process that ran it"):
        run_network(tiny_network(tmp_path / "tiny.onnx"), PICTURE)


def test_files_in_the_current_folder_are_never_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stranger's folder may hold a numpy.py: the process apart doesn't look there."""
    for name in ("numpy.py", "onnxruntime.py", "runpy.py", "sitecustomize.py"):
        (tmp_path / name).write_text("raise SystemExit(9)")
    model = tiny_network(tmp_path / "tiny.onnx")
    monkeypatch.chdir(tmp_path)

    assert run_network(model, PICTURE).shape == (1, 1, 12, 16)
