"""Where the tripod stands and where the camera looks, as far as it is known."""

from dataclasses import dataclass

from render.words import guess_words, length_words, pitch_words

__all__ = ["Stand"]


@dataclass(frozen=True, slots=True)
class Stand:
    """Place and look of the camera.

    Attributes
    ----------
    height_m : float or None
        Of the lens above the ground.
    pitch_deg : float or None
        Down is positive.
    heading_deg : float or None
        Compass heading of the look; None for a photo.
    where : str
        The place of the tripod in words; empty where nobody said.
    guessed : tuple of str
        What of it is only guessed: "height", "pitch" or, in its place, "horizon".
    """

    height_m: float | None
    pitch_deg: float | None
    heading_deg: float | None
    where: str
    guessed: tuple[str, ...] = ()

    @property
    def looks(self) -> str:
        """Height, pitch and heading: "12 m up (guessed), 18° down, heading 340°"."""
        high = guess_words("height" in self.guessed)
        tipped = guess_words(not {"pitch", "horizon"}.isdisjoint(self.guessed))
        parts = [] if self.height_m is None else [f"{length_words(self.height_m)} up{high}"]
        parts += [] if self.pitch_deg is None else [f"{pitch_words(self.pitch_deg)}{tipped}"]
        parts += [] if self.heading_deg is None else [f"heading {self.heading_deg:.0f}°"]
        return ", ".join(parts)
