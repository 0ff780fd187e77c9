"""The best setting, and which of several to suggest."""

import dataclasses

from render.judge.advising.best import best_setting, preferred, slanted
from render.judge.case import assess, look
from render.judge.score import Word
from render.optics.solving.limits import usual_limits


def _options(here, scene, settings):
    case = look(scene)
    return [(setting, assess(case, setting).score) for setting in settings]


def test_the_search_finds_what_reads_within_the_lens(roof, front):
    """From an untilted f/16 to a setting that reads, none of it beyond the limits."""
    here = roof()
    case = look(here.scene([front(here.foot_m, 2.0, -3.0, 3.0)]))
    limits = dataclasses.replace(usual_limits(90), tilt_limit_deg=6.0, widest_f_number=3.5)
    for thorough in (False, True):
        found = best_setting(case, here.setting(16, 0.0), limits, thorough=thorough)

        assert found.score.word is Word.READS
        assert found.score == assess(case, found.setting).score
        assert found.setting.f_number >= 3.5
        assert abs(found.setting.tilt_deg) <= 6.0


def test_among_equals_the_easier_dial_wins(roof, front):
    """Up before down, no swing before swing, whole degrees, the smaller opening."""
    here = roof()
    scene = here.scene([front(here.foot_m, 2.0, -3.0, 3.0)])
    settings = [here.setting(2.8, 8.0), here.setting(2.8, -8.0, 1.0), here.setting(2.8, -8.0)]
    options = _options(here, scene, settings)

    assert preferred(options) == 2
    assert preferred(options[:1]) == 0


def test_what_is_firmly_better_wins_over_ease(roof, front):
    """f/2.8 before f/11, whichever comes first."""
    here = roof()
    scene = here.scene([front(here.foot_m, 2.0, -3.0, 3.0)])
    options = _options(here, scene, [here.setting(11), here.setting(2.8)])

    assert preferred(options) == 1
    assert preferred(options[::-1]) == 0


def test_a_swung_lens_is_turned_along_the_slant(roof):
    """Over level ground that is up, by what the lens was turned."""
    case = look(roof().scene())

    assert slanted(case, roof().setting(4, 0, 6), usual_limits(90)) == (-6.0, 0.0)
    assert slanted(case, roof().setting(4, -6), usual_limits(90)) is None
