"""The five parts in words, the same wherever they are shown."""

from render.judge.verdict import Verdict
from render.words import metres

__all__ = ["part_words"]


def part_words(verdict: Verdict) -> dict[str, str]:
    """What was measured for each part, by its name, with units."""
    m, s, p = verdict.measures, verdict.stance, verdict.picture
    seen = m.looks_sharp
    sharp = "all of it looks sharp" if seen > 0.995 else f"{_share(seen)} of it looks sharp"
    phi = s.depression_deg
    steep = "steepness not known" if phi != phi else f"band {_below(phi)}"
    above = "nothing" if s.above_share < 0.005 else _share(s.above_share)
    cues = [_place(p.band_from_top)]
    if p.chroma == p.chroma:
        cues.append(f"colour C* {p.chroma:.0f}, contrast {p.contrast_stops:.1f} stops")
    if s.standing_share == s.standing_share:
        cues.append(
            f"{_share(s.standing_share)} of it stands in the band"
            if s.standing_share > 0.0005
            else "nothing stands in the band"
        )
    return {
        "nearness": f"seems to stand {metres(verdict.apparent_m)} away ({verdict.strength})",
        "agreement": f"blur follows depth: correlation {max(0.0, m.correlation):.2f}",
        "visibility": f"softest twentieth of the detail blurred by {_share(m.edge_blur)} of the "
        f"height, {sharp} {verdict.viewing.words.partition(',')[0]}",
        "viewpoint": f"{steep}, {above} above it",
        "picture": ", ".join(cues),
    }


def _below(phi_deg: float) -> str:
    if phi_deg < 0:
        return f"{-phi_deg:.0f}° above eye level"
    return f"{phi_deg:.0f}° below eye level"


def _place(from_top: float) -> str:
    if not 0 <= from_top <= 1:
        return f"band {'above' if from_top < 0 else 'below'} the frame"
    return f"band {100 * from_top:.0f} % from the top"


def _share(share: float) -> str:
    return f"{100 * share:.2g} %" if share < 0.1 else f"{100 * share:.0f} %"
