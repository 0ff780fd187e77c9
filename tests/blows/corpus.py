"""The worst blows, kept: what was once a traceback, a hang or a bomb, and every kind of refusal."""

import contextlib
import io
import json
import re
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path

from render.errors import HingelineError
from tests.blows.doors import struck
from tests.blows.mutate import mutated
from tests.blows.seeds import KINDS, seed_files

__all__ = ["CORPUS", "collect", "corpus"]

CORPUS = Path(__file__).parents[1] / "data" / "blows.zip"
#: Of each kind so many, none of them slower than this (the tests go through all of them), s.
_EACH, _SLOWEST_S, _MOST_BYTES = 22, 0.5, 60_000
#: These answer too slowly for a test: each is a command or a page of its own.
_LEFT_OUT = ("options", "page")


def corpus() -> Iterator[tuple[str, str, bytes]]:
    """Kind, name and content of every kept blow, those that a campaign kept as files too."""
    with zipfile.ZipFile(CORPUS) as archive:
        for entry in archive.namelist():
            kind, _, name = entry.partition("/")
            yield kind, name, archive.read(entry)
    for path in sorted(CORPUS.with_suffix("").glob("*-*-*")):
        kind, _, rest = path.name.partition("-")
        yield kind, rest, path.read_bytes()


def collect(seconds: float, first_seed: int) -> int:
    """Write the corpus anew: by hand what was found once, and of each kind unlike refusals."""
    found: dict[str, bytes] = {f"{kind}/{name}": data for kind, name, data in _by_hand()}
    kinds = [kind for kind in KINDS if kind not in _LEFT_OUT]
    folder = CORPUS.with_suffix(".work")
    for kind in kinds:
        shapes: set[str] = set()
        end, seed = time.perf_counter() + seconds / len(kinds), first_seed
        seeds = seed_files(kind, folder / kind)
        while time.perf_counter() < end and len(shapes) < _EACH:
            name, data = seeds[(seed // 2) % len(seeds)]
            blow = mutated(name, data, seed)
            seed += 1
            path = folder / kind / name
            path.write_bytes(blow)
            start, said = time.perf_counter(), ""
            with contextlib.suppress(HingelineError):
                said = struck(kind, path)
            took_s = time.perf_counter() - start
            path.write_bytes(data)
            shape = f"{name.rpartition('.')[2]} {re.sub(r'[^a-zA-Z ]+', '', said[-120:])[:60]}"
            if said and shape not in shapes and took_s < _SLOWEST_S and len(blow) < _MOST_BYTES:
                shapes.add(shape)
                found[f"{kind}/{seed}-{name}"] = blow
    with zipfile.ZipFile(CORPUS, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for entry, data in sorted(found.items()):
            archive.writestr(zipfile.ZipInfo(entry), data, zipfile.ZIP_DEFLATED)
    return len(found)


def _by_hand() -> Iterator[tuple[str, str, bytes]]:
    digits = b"9" * 400
    yield "map", "type.geojson", b'{"type":"Feature","geometry":{"type":"Blob","coordinates":[]}}'
    place = b'{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[%s,0]}}'
    yield "map", "digits.geojson", place % digits
    yield "map", "nested.geojson", b'{"type":' + b"[" * 100_000
    node = b'<osm version="0.6"><node id="1" lat="nan" lon="1"><tag k="natural" v="tree"/></node>'
    node += b"</osm>"
    yield "map", "nan.osm", node
    yield "map", "short.osm", node[:40]
    head = b"nrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2\n3 4\n"
    for kind in ("survey", "terrain"):
        yield kind, "endless.asc", b"ncols 1e999\n" + head
        yield kind, "letters.asc", b"ncols 2\n" + head + b"\xff\xfe"
        yield kind, "two.tif", b"II"
    yield "picture", "two.tif", b"II*\0\x08\0\0\0"
    las = bytearray(b"LASF" + bytes(251))
    las[24:26], las[94:96], las[96:100], las[105:107] = b"\1\2", b"\xe3\0", b"\xe3\0\0\0", b"\x22\0"
    las[107:111] = (960_000_000).to_bytes(4, "little")
    yield "survey", "claims.las", bytes(las)
    las[104] = 0x83
    yield "survey", "claims.laz", bytes(las)
    for kind in ("shot", "scene", "lens"):
        yield kind, "digits.toml", b"format = " + b"9" * 5000
        yield kind, "hexadecimal.toml", b"format = 0x" + b"f" * 5000
        yield kind, "nested.toml", b"a = " + b"[" * 20_000
        yield kind, "encoding.toml", b'a = "\xff"'
        yield kind, "empty.toml", b""
    yield "lens", "large.toml", b"format = 1\nfocal-mm = " + digits
    for name, thing in {
        "copies": b"array = { count = [3000, 3000], step_m = [1, 1] }",
        "corners": b"scatter = { outline_m = [" + b"[0, 0], " * 6000 + b"[1, 1]] }",
        "infinite": b"at_m = [inf, nan]",
        "digits": b"at_m = [" + digits[:18] + b"9, 0]",
    }.items():
        yield "scene", f"{name}.toml", b'line = "a"\n[[things]]\nkind = "box"\n' + thing
    yield "depth", "claims.npy", _npy("(60000, 60000)")
    yield "depth", "objects.npy", _npy("(4, 4)", "|O")
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("depth_m.npy", _npy("(30000, 30000)") + bytes(5_000_000))
    yield "depth", "bomb.npz", packed.getvalue()
    yield "network", "a.toml", json.dumps({"width": 16}).encode()


def _npy(shape: str, form: str = "<f4") -> bytes:
    head = f"{{'descr': '{form}', 'fortran_order': False, 'shape': {shape}, }}".ljust(117) + "\n"
    return b"\x93NUMPY\1\0" + len(head).to_bytes(2, "little") + head.encode()
