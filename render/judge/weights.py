"""The one table of weights and thresholds behind the verdict.

Geometry decides how blurred a picture gets. Whether that reads as a scale model is a matter of
judgement, and no experiment gives these numbers: they are **ours**, kept here so that a later
study with viewers can replace them. Ends that rest on a published study name it.
"""

import math
from dataclasses import dataclass

__all__ = ["OURS", "RULES", "Rules"]

#: Said in the help and in the small print of every verdict.
OURS = (
    "The weights of the five parts, the shapes of their curves and their thresholds are ours: "
    "judgement calls, not measured on viewers. The range shows our own doubt about the rule, "
    "not the chance that a viewer agrees."
)


@dataclass(frozen=True, slots=True)
class Rules:
    """Every number of the judgement that optics does not give.

    Attributes
    ----------
    weights : tuple of 5 floats
        Exponents of nearness, agreement, visibility, viewpoint and picture; they add to 1.
    mark_floor : float
        The least a part may count, so that one failing part does not make the score 0.
    pupil_mm, pupil_low_mm, pupil_high_mm : float
        Pupil of the reference viewer and its range: 4.6 mm is the eye's in room light (Held et
        al. 2010 after Spring & Stiles 1948, from memory); 3 to 9 mm spans eye, telephone and
        close-up lens.
    near_m, far_m : float
        Apparent distance that earns the full mark, and the one that earns none. Blur gradients
        are strong at 10 to 30 cm and weak beyond a metre (Vishwanath 2007, abstract).
    agreement_none, agreement_full, agreement_floor : float
        Correlation of blur with depth: where the mark starts, where it is full, and the mark kept
        without any (Held et al. 2010 and Meese et al. 2023 against Vishwanath & Blaser 2010).
    single_scale_from : float
        Below this correlation no scale is named.
    band_none, band_low, band_high, band_all : float
        Height of the sharp band, as fractions of the picture's: no mark, full mark between, none.
    phi_none_deg, phi_low_deg, phi_high_deg, phi_plan_mark : float
        Depression of the band: no mark, full between, and the mark of a plan view. 20 to 55
        degrees is how one looks down at a model on a table (derived from body heights).
    sky_full_loss, sky_loss : float
        Share of sky from which `sky_loss` of the viewpoint's mark is lost.
    haze_none, haze_full, chroma_none, chroma_full, stops_none, stops_full : float
        Ends of the picture's marks: transmission, mean CIELAB chroma, contrast in stops.
    place_low, place_high : float
        Where the band's centre earns the full mark, from the top of the picture.
    things_full : int
        Small known things in the sharp band for the full mark.
    picture_unknown : float
        Mark of the picture where nothing of it can be measured.
    unknown_phi_mark : float
        Mark of the depression where height and pitch are unknown.
    reads_from, might_from, border_below : float
        Scores of the words, and the agreement under which the verdict is called on the border.
    telltale_residual : float
        Blur in excess of a model's, as a fraction of picture height, that betrays the trick.
    telltale_least_area : float
        Smallest share of the picture that a telltale may fill.
    foreground_ratio, foreground_share : float
        Nearer than this fraction of the focus distance, on more than this share of the picture,
        a thing is called too near.
    subject_band_heights : float
        The main subject may be this many band heights tall.
    unsaid_near, unsaid_standing, unsaid_view : tuple of 2 floats
        By how many points the score falls or rises in one case of ten where something near the
        lens, or on the ground, or the view itself was not said; measured on scenes with exact
        depth (`render/depth/README.md`).
    draws, weight_spread, near_spread : int, float, float
        Number of draws for the range, half-width of the weights' factor, sd of ln of the ends.
    """

    weights: tuple[float, float, float, float, float] = (0.30, 0.25, 0.20, 0.15, 0.10)
    mark_floor: float = 0.02
    pupil_mm: float = 4.6
    pupil_low_mm: float = 3.0
    pupil_high_mm: float = 9.0
    near_m: float = 0.3
    far_m: float = 3.0
    agreement_none: float = 0.2
    agreement_full: float = 0.9
    agreement_floor: float = 0.1
    single_scale_from: float = 0.4
    band_none: float = 0.01
    band_low: float = 0.05
    band_high: float = 0.25
    band_all: float = 0.70
    phi_none_deg: float = 5.0
    phi_low_deg: float = 20.0
    phi_high_deg: float = 55.0
    phi_plan_mark: float = 0.5
    sky_full_loss: float = 0.25
    sky_loss: float = 0.7
    haze_none: float = 0.5
    haze_full: float = 0.9
    chroma_none: float = 10.0
    chroma_full: float = 30.0
    stops_none: float = 2.5
    stops_full: float = 5.0
    place_low: float = 0.35
    place_high: float = 0.70
    things_full: int = 3
    picture_unknown: float = 0.7
    unknown_phi_mark: float = 0.7
    reads_from: float = 75.0
    might_from: float = 50.0
    border_below: float = 0.6
    telltale_residual: float = 0.005
    telltale_least_area: float = 0.0002
    foreground_ratio: float = 0.25
    foreground_share: float = 0.01
    subject_band_heights: float = 1.5
    unsaid_near: tuple[float, float] = (12.0, 3.0)
    unsaid_standing: tuple[float, float] = (9.0, 9.0)
    unsaid_view: tuple[float, float] = (9.0, 9.0)
    draws: int = 4000
    weight_spread: float = 0.5
    near_spread: float = 0.3

    def __post_init__(self) -> None:
        assert abs(math.fsum(self.weights) - 1.0) < 1e-9, self.weights


RULES = Rules()
