"""`hingeline page` hands over to the server."""

import json
from typing import Any

import pytest
from typer.testing import CliRunner

import render.page.serve
from render.cli.main import app
from render.shot.shot import Shot
from tests.schemas import validator


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


def test_a_program_is_told_the_address(monkeypatch: pytest.MonkeyPatch) -> None:
    """As one record, once the page is open."""
    monkeypatch.setattr(
        render.page.serve, "serve", lambda shot, say, **options: say("http://127.0.0.1:9000/x")
    )
    for arguments, heard in ((["--json"], True), ([], False)):
        said = CliRunner().invoke(app, ["page", "--no-browser", *arguments]).output
        if heard:
            record = json.loads(said)
            assert record == {"format": 2, "address": "http://127.0.0.1:9000/x"}
            assert list(validator("page").iter_errors(record)) == []
        else:
            assert "The page is open at\nhttp://127.0.0.1:9000/x\n" in said
