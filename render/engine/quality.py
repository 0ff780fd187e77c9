"""How much work a photograph is worth."""

from dataclasses import dataclass

from render.errors import SettingError

__all__ = ["FINAL", "PREVIEW", "Quality"]


@dataclass(frozen=True, slots=True)
class Quality:
    """How finely big blur is worked out; what is nearly sharp is always done in full.

    Attributes
    ----------
    full_size_px : float
        Spots up to this radius are spread pixel by pixel; beyond it by cells of 2, 4, 8 ... px.
        One of 4, 8, 16.
    """

    full_size_px: float

    def __post_init__(self) -> None:
        if self.full_size_px not in (4.0, 8.0, 16.0):
            raise SettingError(f"full_size_px must be 4, 8 or 16, not {self.full_size_px!r}")


#: For keeps.
FINAL = Quality(full_size_px=8.0)
#: For looking while turning the knobs.
PREVIEW = Quality(full_size_px=4.0)
