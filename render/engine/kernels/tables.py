"""What the loops hand on to each other: columns of tables by name, and named records.

Bins are numbered near to far: 0..63 what the pinhole saw, 64..95 what it did not,
96..159 lamps of bin 0..63: single bright pixels, spread one by one (their share stays behind).
"""

from collections import namedtuple

__all__ = [
    "BIN",
    "BINS",
    "BLOCK",
    "BLUE",
    "DEFOCUS",
    "EYE",
    "FAR",
    "FAR_IZ",
    "GREEN",
    "HIDDEN",
    "HIDDEN_SHARE",
    "LAMPS",
    "NEAR",
    "NEAR_IZ",
    "NEAR_SHARE",
    "PASSING",
    "RECORD",
    "RED",
    "SHARE",
    "Bins",
    "Blocks",
    "Buffers",
    "Figure",
    "Optic",
    "Pixels",
    "Tile",
    "X",
    "Y",
]

#: Columns of a part, f32: what is spread as one. Light and share are sums over what is in it.
RED, GREEN, BLUE, SHARE, DEFOCUS, X, Y, BIN = range(8)

#: Columns of the record of a pixel that is more than one surface, f32. NEAR, FAR and HIDDEN are
#: the first of three colours; FAR_IZ is the inverse depth of the hidden light too.
NEAR, NEAR_SHARE, NEAR_IZ, FAR, FAR_IZ, HIDDEN, HIDDEN_SHARE, RECORD = 0, 3, 4, 5, 8, 9, 12, 13

#: First bin of lamps, and how many bins there are.
LAMPS, BINS = 96, 160

#: From one place to the next at which it is known what a rim leaves open, px.
PASSING = 32
#: Numbers that say it: share, centre along u1 and u2, second moments u1 u1, u1 u2, u2 u2.
EYE = 6

#: Side of a block of pixels that are gathered together, px.
BLOCK = 32

#: Everything the loops need to know of lens and camera, f32 each.
#: right, down: defocus per px; per_iz: per unit of inverse depth; radius: px per unit of defocus;
#: centre_x, centre_y: principal point, px; slope: 1 / focal length in px; tilt_x, tilt_y:
#: direction of the tilt; axis_z, sine: of the lens axis; keystone: k per unit of 1 - defocus;
#: rim_before, rim_radius: of a rim, in iris radii (0: none); rim_near: its way / extension;
#: longer: extension / focal length.
Optic = namedtuple(
    "Optic",
    "right down per_iz radius centre_x centre_y slope tilt_x tilt_y axis_z sine keystone "
    "rim_before rim_radius rim_near longer",
)

#: picture (H, W, 3), defocus, iz (H, W) f32; index (H, W) i32: row of `record`, or -1;
#: record (n, RECORD) f32.
Pixels = namedtuple("Pixels", "picture defocus iz index record")

#: sources (BINS,) i64: what is in a bin is first gathered in cells of 2^source px, 0: not at all;
#: levels (BINS,) i64: it is spread in a buffer with cells of 2^level px.
Bins = namedtuple("Bins", "sources levels")

#: Blocks of pixels, ``across`` to a row, the first at (top, left); they may lie outside.
#: starts (blocks + 1,) i64: first row of fragments of each; reaches (blocks,) f32: their largest
#: radius or -1; small (blocks,) u8: whether parts are left to be spread pixel by pixel.
Blocks = namedtuple("Blocks", "top left across starts reaches small")

#: The iris: outline (corners, 2) f32, empty for a disc; whole (corners, 2) f32: what a rim cuts,
#: empty without one; moment f32: second moment as a share of the disc's; table: `half_disc`;
#: stretch f32: the longest a figure reaches per unit of radius; area f32: of ``whole``; eyes
#: (rows, columns, EYE) f32: what a rim leaves open to places of the sensor (`what_passes`), every
#: PASSING px of the picture from its corner on, empty without a rim.
Figure = namedtuple("Figure", "outline whole moment table stretch area eyes")

#: One thread's own room. slab f32, all 0, with one buffer per bin that begins at bases (BINS,)
#: i64; cut (n, 2), sums (rows, 3) f32: scratch. ``bounds`` (BINS, 4) i64, which go with it, are
#: the first and last row and column of each buffer that were written to.
Buffers = namedtuple("Buffers", "slab bases cut sums")

#: A square of the picture: its first row and column, how many it shows, its full side.
Tile = namedtuple("Tile", "row column rows columns side")
