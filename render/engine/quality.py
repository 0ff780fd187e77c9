"""How much work a photograph is worth."""

from dataclasses import dataclass

from render.errors import SettingError

__all__ = ["FINAL", "PREVIEW", "Quality"]


@dataclass(frozen=True, slots=True)
class Quality:
    """How finely big blur is worked out; what is nearly sharp is always done in full.

    Attributes
    ----------
    gather_px : float
        Pixels with a blur radius up to this are spread one by one; beyond it they are first
        gathered in cells of 2, 4, 8 ... px. One of 2, 4, 8, 16.
    spread_px : float
        Figures up to this radius are drawn pixel by pixel; beyond it in cells of 2, 4, 8 ... px.
        One of 2, 4, 8, 16.
    """

    gather_px: float
    spread_px: float

    def __post_init__(self) -> None:
        for name in ("gather_px", "spread_px"):
            if getattr(self, name) not in (2.0, 4.0, 8.0, 16.0):
                raise SettingError(f"{name} must be 2, 4, 8 or 16, not {getattr(self, name)!r}")


#: For keeps.
FINAL = Quality(gather_px=8.0, spread_px=8.0)
#: For looking while turning the knobs.
PREVIEW = Quality(gather_px=2.0, spread_px=4.0)
