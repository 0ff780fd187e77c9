"""What is done to a photograph behind the lens, in the order in which light meets it, and said."""

import numpy as np
from numpy.typing import NDArray

from render.engine.develop import add_grain, fall_off
from render.engine.diffract import diffract, spread_px
from render.engine.dither import dither
from render.engine.glare import glare
from render.engine.grain import match_grain, measure_grain
from render.engine.photograph import Photograph
from render.load.prepared import Prepared
from render.optics.blur import BlurField
from render.scene.colour import Encoding
from render.shot.wishes import Finish

__all__ = ["finished"]

#: Light that a spike must add to be seen on black: some codes of 255.
_SEEN = 0.001


def finished(
    prepared: Prepared,
    photo: Photograph,
    field: BlurField,
    finish: Finish,
    coding: Encoding,
    bits: int,
) -> tuple[Photograph, list[str]]:
    """Diffraction, fall-off, glare and grain as they are wished, and dither where 8 bits need it.

    Parameters
    ----------
    field : BlurField
        Of the photograph.
    coding, bits
        As it will be written.

    Returns
    -------
    photograph, what was done : Photograph, list of str
    """
    told = []
    if finish.diffraction:
        photo = diffract(photo)
        told.append(
            "diffraction of a round iris was added: the first dark ring in green is "
            f"{2.44 * spread_px(photo)[1]:.2g} px across"
        )
    if finish.fall_off:
        photo = fall_off(photo)
        rim = " and its rim cuts the light" if prepared.setting.cats_eye else ""
        told.append(f"the corners are darkened as an ideal lens does (cos^4){rim}")
    if finish.glare is not None:
        brightest = float(photo.light.max())
        photo, strongest = glare(photo, finish.glare)
        told.append(_glare_words(prepared, finish.glare, brightest, strongest))
    if finish.grain == "match":
        photo, words = _matched(prepared, photo, field, coding, bits, finish.seed)
        told.append(words)
    elif finish.grain:
        photo = add_grain(photo, finish.grain, finish.seed)
        told.append(f"grain of {finish.grain:g} was added, seed {finish.seed}")
    if bits == 8:
        photo = dither(photo, _frame_light(prepared), field, coding, grey=_is_grey(prepared))
    return photo, told


def _glare_words(prepared: Prepared, veil: float, brightest: float, strongest: float) -> str:
    """Say what strays, and why there may be no spikes."""
    words = [f"a veil of {100 * veil:.3g} % lies over the picture"] if veil else []
    blades = prepared.setting.iris.blades
    count = blades if blades % 2 == 0 else 2 * blades
    thrown = f"{blades} blades throw {count} spikes" if blades else "a round iris throws a halo"
    if brightest <= 1:
        clipped = prepared.file is not None and prepared.file.bits != 32
        lift = " (--lift-highlights gives clipped lamps out of focus more light)" if clipped else ""
        words.append(f"no spikes: nothing in the picture is brighter than white{lift}")
    elif strongest < _SEEN:
        words.append(
            f"{thrown}, too faint to be seen: the brightest light is {brightest:.2g} times white"
        )
    else:
        words.append(f"{thrown} round what is brighter than white")
    return "; ".join(words)


def _matched(
    prepared: Prepared,
    photo: Photograph,
    field: BlurField,
    coding: Encoding,
    bits: int,
    seed: int,
) -> tuple[Photograph, str]:
    """Give blur the source's grain, and say how much of it there is."""
    grain = measure_grain(_frame_light(prepared), coding)
    if grain is None:
        return photo, "no grain was matched: no part of the picture is even enough to measure it"
    photo = match_grain(photo, field, grain, coding, seed, bits=bits, grey=_is_grey(prepared))
    low, high = grain.sigma.min(), grain.sigma.max()
    return photo, (
        f"blur has the grain that it took from the source ({low:.2g} to {high:.2g} codes of 255), "
        f"seed {seed}"
    )


def _frame_light(prepared: Prepared) -> NDArray[np.float32]:
    """The planned frame before the lens."""
    frame = prepared.scene.frame
    return prepared.scene.picture[frame.rows, frame.columns]


def _is_grey(prepared: Prepared) -> bool:
    return prepared.file is not None and prepared.file.grey
