"""`hingeline page` hands over to the server."""

from typing import Any

import pytest
from typer.testing import CliRunner

import render.page.serve
from render.cli.main import app
from render.shot.shot import Shot


def test_the_source_and_options_become_the_first_shot(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a picture a shot, without anything an empty desk."""
    seen: list[tuple[Shot | None, dict[str, Any]]] = []
    monkeypatch.setattr(
        render.page.serve, "serve", lambda shot, **options: seen.append((shot, options))
    )
    for arguments in (["roof.jpg", "--tilt", "up 8", "--no-browser"], ["--port", "9000"]):
        result = CliRunner().invoke(app, ["page", *arguments], catch_exceptions=False)
        assert result.exit_code == 0, result.output

    (shot, options), (nothing, others) = seen
    assert shot is not None
    assert (shot.picture, shot.lens.tilt_deg) == ("roof.jpg", -8)
    assert options["browser"] is False
    assert nothing is None
    assert (others["port"], others["browser"]) == (9000, True)
