"""One small whole file of every kind that is read: what the blows begin from."""

import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

from tests.blows.clips import seed_clips

__all__ = ["KINDS", "seed_files"]

_ROOT = Path(__file__).parents[2]
_XMP = (
    b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-'
    b'syntax-ns#"><rdf:Description xmlns:tiff="http://ns.adobe.com/tiff/1.0/" tiff:Orientation="6" '
    b'xmlns:d="http://ns.google.com/photos/1.0/depthmap/" d:Format="RangeInverse" d:Near="1.5" '
    b'd:Far="40" d:Units="m" d:Mime="image/png" d:Data="%s"/></rdf:RDF></x:xmpmeta>'
)


def _codes() -> np.ndarray:
    y, x = np.mgrid[0:24, 0:36]
    return np.stack([40 + 3 * x, 60 + 4 * y, 200 - 2 * x], axis=-1).astype(np.uint8)


def _exif() -> bytes:
    exif = Image.Exif()
    exif[0x010F], exif[0x0112] = "Nobody", 6
    inner = exif.get_ifd(0x8769)
    inner[0x920A], inner[0xA405], inner[0x829D] = 28.0, 42, 8.0
    return exif.tobytes()


def _png(codes: np.ndarray) -> bytes:
    packed = io.BytesIO()
    Image.fromarray(codes).save(packed, "PNG")
    return packed.getvalue()


def _picture(folder: Path) -> list[Path]:
    import tifffile
    from PIL import ImageCms

    from render.files.formats.encoders import write_png
    from render.files.formats.linearfiles import write_exr
    from render.scene.colour import SRGB

    codes, exif = _codes(), _exif()
    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    image = Image.fromarray(codes)
    xmp = _XMP % b""
    image.save(folder / "a.jpg", exif=exif, icc_profile=icc, xmp=xmp, comment=b"roofs")
    image.convert("CMYK").save(folder / "cmyk.jpg", quality=90)
    image.save(folder / "a.png", exif=exif, icc_profile=icc)
    image.save(folder / "a.webp", exif=exif, icc_profile=icc, xmp=xmp)
    image.quantize(8).save(folder / "palette.png")
    write_png(folder / "deep.png", codes.astype(np.uint16) * 257, [])
    image.save(folder / "a.tif", exif=exif, icc_profile=icc)
    image.convert("CMYK").save(folder / "cmyk.tif", compression="tiff_lzw")
    tifffile.imwrite(folder / "float.tif", codes.astype(np.float32) / 255, compression="zlib")
    tifffile.imwrite(folder / "tiles.tif", codes, tile=(16, 16), compression="zlib", predictor=True)
    image.save(folder / "a.avif", exif=exif)
    light = np.ascontiguousarray(codes.astype(np.float32) / 255)
    write_exr(folder / "a.exr", light, SRGB, "note")
    from imagecodecs import rgbe_encode

    (folder / "a.hdr").write_bytes(bytes(rgbe_encode(light, header=True)))
    from pillow_heif import from_pillow

    from_pillow(image).save(folder / "a.heic", quality=50)
    return sorted(folder.iterdir())


def _embedded(folder: Path) -> list[Path]:
    import base64

    depth = base64.b64encode(_png(_codes()[..., 0]))
    Image.fromarray(_codes()).save(folder / "depth.jpg", xmp=_XMP % depth, exif=_exif())
    appended = (
        b'<r xmlns:C="http://ns.google.com/photos/1.0/container/" '
        b'xmlns:I="http://ns.google.com/photos/1.0/container/item/" '
        b'xmlns:d="http://ns.google.com/photos/dd/1.0/depthmap/" d:Near="1.5" d:Far="9" '
        b'd:Units="m"><C:Item I:Mime="image/jpeg" I:Semantic="Primary"/><C:Item '
        b'I:Mime="image/png" I:Length="%d" I:Semantic="Depth"/></r>'
    )
    tail = _png(_codes()[..., 0])
    packed = io.BytesIO()
    Image.fromarray(_codes()).save(packed, "JPEG", xmp=appended % len(tail))
    (folder / "appended.jpg").write_bytes(packed.getvalue() + tail)
    return sorted(folder.iterdir())


def _depth(folder: Path) -> list[Path]:
    from render.files.depths import write_depth

    depth = np.linspace(3, 60, 24 * 36, dtype=np.float32).reshape(24, 36)
    for name in ("a.png", "a.tif", "a.npy", "a.npz", "a.pfm", "a.exr"):
        write_depth(folder / name, depth)
    write_depth(folder / "short.tif", depth, bits=16)
    return sorted(folder.iterdir())


def _shot(folder: Path) -> list[Path]:
    (folder / "a.toml").write_text(
        'format = 1\nscene = "market"\nwidth = 64\nlens = "90 mm"\nf = 2.8\ntilt = "up 8"\n'
        'focus = "50%,60%"\nheight = "4 storeys"\npitch = "down 12"\nblades = 7\n'
        'mark = ["50%,92% 18 m", "48%,60% 60 m"]\nsensor = "36x24"\n'
    )
    return [folder / "a.toml"]


def _scene(folder: Path) -> list[Path]:
    (folder / "a.toml").write_text(
        'line = "A yard"\n[ground]\nmaterial = "grass"\n[light]\nsun_height_deg = 40\n'
        '[vantage]\nheight_m = 12\n[marks]\npond = [1, 2, 0]\n[materials]\nwall = "#d0c0a0"\n'
        '[[things]]\nkind = "box"\nat_m = [0, 20]\nsize_m = [4, 4, 6]\nturn_deg = 10\n'
        '[[things]]\nkind = "person"\narray = { count = [3, 2], step_m = [1.5, 1.5] }\n'
        '[[things]]\nkind = "tree"\n'
        "scatter = { outline_m = [[0, 0], [20, 0], [10, 15]], count = 5 }\n"
        '[[things]]\nkind = "car"\nalong = { path_m = [[-9, 9], [9, 9]], step_m = 6 }\n'
        "moves = { path_m = [[0, 0], [20, 0]], speed_m_s = 3 }\n"
        '[[things]]\nkind = "prism"\noutline_m = [[0, 0], [4, 0], [2, 3]]\nheight_m = 3\n'
    )
    return [folder / "a.toml"]


def _lens(folder: Path) -> list[Path]:
    return sorted((_ROOT / "scenes" / "lenses").glob("*.toml"))


def _own(folder: Path) -> list[Path]:
    """Defaults of one's own."""
    (folder / "own.toml").write_text(
        'lens = "45"\nformat = "36x24"\ncoc = "diagonal/1500"\nblades = 7\nby = "Nobody"\n'
        'paper = "A4"\n'
    )
    return [folder / "own.toml"]


def _network(folder: Path) -> list[Path]:
    from tests.files.apart.test_network import tiny_network

    (folder / "a.toml").write_text('width = 16\nheight = 12\ngives = "relative inverse"\n')
    return [tiny_network(folder / "a.onnx"), folder / "a.toml"]


def _survey(folder: Path) -> list[Path]:
    import laspy

    east, north = (a.ravel() for a in np.mgrid[0:15.0, 0:15.0])
    for version, form in (("1.2", 3), ("1.4", 6)):
        cloud = laspy.create(point_format=form, file_version=version)
        cloud.x, cloud.y, cloud.z = east, north, np.sin(east) + 5
        cloud.write(folder / f"a{form}.las")
        cloud.write(folder / f"a{form}.laz")
    return [*sorted(folder.iterdir()), *_terrain(folder)]


def _terrain(folder: Path) -> list[Path]:
    import tifffile

    heights = np.linspace(0, 20, 64, dtype=np.float32).reshape(8, 8)
    tags = [
        (33550, "d", 3, (1.0, 1.0, 0.0), True),
        (33922, "d", 6, (0.0, 0.0, 0.0, 500000.0, 5200000.0, 0.0), True),
        (34735, "H", 12, (1, 1, 0, 2, 1024, 0, 1, 1, 3072, 0, 1, 25832), True),
    ]
    tifffile.imwrite(folder / "g.tif", heights, extratags=tags)
    rows = "\n".join(" ".join(f"{v:.1f}" for v in row) for row in heights)
    head = "ncols 8\nnrows 8\nxllcorner 500000\nyllcorner 5200000\ncellsize 1\nnodata_value -9999\n"
    (folder / "g.asc").write_text(head + rows)
    return [folder / "g.tif", folder / "g.asc"]


def _map(folder: Path) -> list[Path]:
    from tests.townlet import box, feature, write_geojson, write_osm

    entries = [
        feature(box(0, 0, 10, 10), building="yes", height=9),
        feature([(0, 0), (30, 5)], "LineString", highway="residential"),
        feature([(4, 4)], "Point", natural="tree"),
    ]
    write_geojson(folder / "a.geojson", entries, attribution="Nobody")
    write_osm(
        folder / "a.osm",
        [
            (box(0, 0, 40, 30), {"building": "yes", "building:levels": "3"}),
            (box(10, 10, 20, 10), {}),
            ([(0, 0), (10, 10), (10, 0), (0, 10), (0, 0)], {"building": "yes", "height": "5 m"}),
            ([(0, 0), (90, 10)], {"highway": "residential", "width": "6"}),
        ],
        [(((1, "outer"), (2, "inner")), {"type": "multipolygon", "landuse": "forest"})],
        [((3, 3), {"natural": "tree"})],
    )
    pbf = _ROOT / "tests" / "data" / "maps" / "extract.osm.pbf"
    return [folder / "a.geojson", folder / "a.osm", pbf]


def _options(folder: Path) -> list[Path]:
    """Command lines, one word a line."""
    lines = {
        "judge": [
            "judge",
            "market",
            "--tilt",
            "up 8",
            "--f",
            "2.8",
            "--lens",
            "90",
            "--width",
            "64",
        ],
        "solve": [
            *("solve", "--lens-file", "long 90", "--height", "1.6", "--pitch", "5"),
            *("--sharp", "pond=8 m, 0 m", "--sharp", "chapel=60 m, 3 m"),
        ],
        "scenes": ["scenes", "show", "market"],
        "render": [
            *("render", "market", "--width", "48", "--tilt", "up 8", "--show", "-o", "o.png"),
            *("--save-shot", "o.toml"),
        ],
        "compare": [
            "compare",
            "market",
            "--width",
            "48",
            "--down",
            "tilt=up 4,up 8",
            "-o",
            "o.png",
        ],
        "depth": ["depth", "market", "--width", "48", "-o", "o.tif"],
        "section": ["section", "market", "--width", "48", "-o", "o.svg"],
        "board": ["board", "market", "--width", "48", "-o", "o.pdf"],
        "card": [
            *("card", "market", "--f", "4", "--lens", "90", "--height", "4 storeys"),
            *("--width", "64", "--weather", "sun"),
        ],
    }
    for name, words in lines.items():
        (folder / f"{name}.args").write_text("\n".join(words))
    return sorted(folder.iterdir())


def _packed_shot() -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr(
            "a.toml", 'format = 1\npicture = "a.png"\nheight = "12"\nhorizon = "20%"\n'
        )
        archive.writestr("a.png", _png(_codes()))
    return packed.getvalue()


def _page(folder: Path) -> list[Path]:
    """Requests as they come through the wire."""
    shot = {"picture": None, "scene": "market", "values": {"tilt": "up 8", "width": "64"}}
    bodies = {
        "look": {"view": "a", "shot": shot, "showing": "photograph", "pixels": 10000},
        "verdict": {"view": "a", "shot": shot},
        "saves": {"kind": "shot", "shots": [shot]},
        "loupe": {"view": "a", "shot": shot, "x": 0.5, "y": 0.6},
        "plan": {"view": "a", "shot": shot, "across": 60},
        "solve": {"view": "a", "shot": shot, "sharp": [["sharp", "a=8 m, 0 m"]]},
        "lens": {
            "values": {
                "name": "mine",
                "focal-mm": "90",
                "widest": "2.8",
                "smallest": "32",
                "tilt-limit-deg": "8",
                "shift-limit-mm": "12",
                "closest-focus-m": "0.5",
            }
        },
        "lay": {"view": "a", "shot": shot, "points": [[0.1, 0.5], [0.9, 0.4]]},
    }
    for name, body in bodies.items():
        (folder / f"{name}.http").write_text(f"POST /api/{name}\n{json.dumps(body)}")
    uploads = {
        "a.png": _png(_codes()),
        "a.toml": b'format = 1\nscene = "market"\ntilt = "up 8"\nwidth = 64\n',
        "a.zip": _packed_shot(),
        "a.geojson": b'{"type": "Feature", "properties": {"natural": "tree"}, "geometry": '
        b'{"type": "Point", "coordinates": [9.1, 46.9]}}',
        "lens.toml": (_ROOT / "scenes" / "lenses" / "long-90.toml").read_bytes(),
    }
    for name, content in uploads.items():
        line = f"PUT /api/files?name={name}\n".encode()
        (folder / f"put-{name}.http").write_bytes(line + content)
    (folder / "start.http").write_text("GET /api/start\n")
    (folder / "saved.http").write_text("GET /api/saves/../../x/file\n")
    return sorted(folder.iterdir())


#: Every kind, and who makes its whole files in a folder.
KINDS: dict[str, Callable[[Path], list[Path]]] = {
    "picture": _picture,
    "embedded": _embedded,
    "depth": _depth,
    "shot": _shot,
    "scene": _scene,
    "lens": _lens,
    "own": _own,
    "network": _network,
    "survey": _survey,
    "terrain": _terrain,
    "map": _map,
    "clips": seed_clips,
    "options": _options,
    "page": _page,
}


def seed_files(kind: str, folder: Path) -> list[tuple[str, bytes]]:
    """Name and content of each whole file of a kind."""
    folder.mkdir(parents=True, exist_ok=True)
    return [(path.name, path.read_bytes()) for path in KINDS[kind](folder)]
