"""Compiled kernels are kept where they can be written."""

import os
from pathlib import Path

import pytest

import render.engine
from render.load.compiled import keep_compiled_kernels


def test_a_read_only_package_uses_the_users_cache(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Where the package cannot be written, kernels go to the user's folder, and that is said."""
    said = []
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)

    keep_compiled_kernels(lambda what, share: said.append(what))

    assert os.environ["NUMBA_CACHE_DIR"] == str(tmp_path / "hingeline" / "kernels")
    assert "once on this machine" in said[0]
    monkeypatch.delenv("NUMBA_CACHE_DIR")


def test_kernels_that_are_there_are_not_announced(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """With kernels beside the source nothing is said and no folder is changed."""
    (tmp_path / "__pycache__").mkdir()
    (tmp_path / "__pycache__" / "kernel.nbc").write_bytes(b"")
    monkeypatch.setattr(render.engine, "__file__", str(tmp_path / "__init__.py"))
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    said = []

    keep_compiled_kernels(lambda what, share: said.append(what))

    assert said == []
    assert "NUMBA_CACHE_DIR" not in os.environ
