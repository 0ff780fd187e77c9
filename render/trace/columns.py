"""What the tracer's loops hand on to each other: columns of tables by name, and named records."""

from collections import namedtuple

#: Weights of red, green and blue by which light is told apart in tracing (near Rec. BT.709's).
LUMINANCE = (0.25, 0.6, 0.15)

#: A landed ray, f64. Three numbers each for PLACE, NORMAL (of shading), FACE (outward), ALBEDO
#: and GLOW; SLOPES: variance of the slopes of water's waves that NORMAL leaves out; -1 of
#: what is no water, -2 where a lamp stands for what glows.
PLACE, NORMAL, FACE, ALBEDO, GLOSS, GLOW = 0, 3, 6, 9, 12, 13
THROUGH, ROUGH, MATERIAL, TWO_SIDED, PLACEMENT, THING, SLOPES = 16, 17, 18, 19, 20, 21, 22

#: What a landed ray sends, f64. Three colours each for MATT (what soft light and lamps' will be
#: multiplied with), SENT (sun, own light and what a clear mirror shows), DULL (light in a dull
#: mirror), OF_LAMPS and SUN (what of SENT is the sun's, as if nothing stood before it); DULL_SHARE:
#: the share of DULL that is sent; SUN_RAY: 1 if a ray went out to the sun; SUN_SEEN: 1 if it met
#: nothing.
MATT, SENT, DULL, DULL_SHARE, OF_LAMPS, SUN, SUN_RAY, SUN_SEEN = 0, 3, 6, 9, 10, 13, 16, 17

#: What the samples of a pixel add up to, f32. Three colours each for DIRECT light, TIMES (what
#: soft light is multiplied with), SUNLIGHT (SUN), SOFT, MIRRORED light times its share, and
#: LAMPLIGHT; how many rays or samples are in them; luminance of the SUN that arrived (SUNLIT); sums
#: of squared luminance; and of 1 / the distance (m) to what soft rays meet (SOFT_NEARNESS).
DIRECT, TIMES, SUNLIGHT, SUNLIT, SUN_RAYS = 0, 3, 6, 9, 10
SOFT, SOFT_RAYS, SOFT_SQUARES, SOFT_NEARNESS = 11, 14, 15, 16
MIRRORED, MIRRORED_SHARE, MIRRORED_SQUARES = 17, 20, 21
LAMPLIGHT, LAMP_SAMPLES, LAMP_SQUARES = 22, 25, 26
SUMS, SUMS_WITH_LAMPS = 22, 27

#: What the samples through a quarter of a pixel add up to, f32: DIRECT to SUN_RAYS, as above; how
#: many they are, of which the one through the pixel's centre counts a quarter; the depth of the
#: first of its own, 0 as long as there is none.
QUARTER_LIGHT, QUARTER_SAMPLES, QUARTER_DEPTH, QUARTER = 11, 11, 12, 13

#: A pixel's first surface, f32: FACE_THERE is its face normal in the camera frame; MIRRORS is
#: above 0 where a dull mirror was seen.
FACE_THERE, DEPTH, MIRRORS, SURFACE = 0, 3, 4, 5

#: What a pixel's samples on other surfaces borrow from neighbours whose first surface they show,
#: f32, for each of SLOTS neighbours: which (`render.trace.kernels.lending`; 0: none), what its
#: soft light is multiplied with, and the share of its mirrored light.
LENT_BY, LENT_TIMES, LENT_SHARE, LENT, SLOTS = 0, 1, 4, 5, 2

#: How bright a pixel's samples are, f32: the least and the most, 0 to 1 as the eye sees steps;
#: after the first of all instead its luminance without soft light, and what that is multiplied
#: with.  GUESS: luminance of soft light around there.
LEAST, MOST, GUESS, BRIGHT = 0, 1, 2, 3

#: A lamp, f64: three numbers each for LAMP_AT, LAMP_COLOUR (at 1 m) and LAMP_TOWARD; cosine of
#: the cone, and over what part of it light falls off; square of its reach; 1 if it is
#: dipped.
LAMP_AT, LAMP_COLOUR, LAMP_RADIUS, LAMP_TOWARD, LAMP_CONE, LAMP_REACH, LAMP_LUMINANCE = (
    *(0, 3, 6),
    *(7, 10, 11, 12),
)
LAMP_SOFT, LAMP_DIPPED, LAMP_NUMBERS = 13, 14, 15

#: One task's scratch numbers, f64: where a landed ray, a second one, a texture, a light, what is
#: sent, soft light and the lamps begin.
HIT, OTHER, SCRATCH, LIGHT, OUT, GATHERED, WAS, LEVEL = 0, 24, 48, 64, 72, 92, 96, 112

#: The camera: place, axes, px per unit slope, principal point (px), and 1 / focal, f64 each.
Eye = namedtuple(
    "Eye",
    "x y z right_x right_y right_z down_x down_y down_z ahead_x ahead_y ahead_z "
    "focal centre_x centre_y slope",
)

#: The tilted thin lens in the camera frame, f64 each, lengths in m: how far the sensor is, focal
#: length, aperture radius, axis, the lens plane's own right and down, how far before the iris a
#: rim lies and its radius (0: none).
ThinLens = namedtuple(
    "ThinLens",
    "extension focal radius axis_x axis_y axis_z right_x right_y right_z down_x down_y down_z "
    "rim_before rim_radius",
)
