"""Every error a person may be shown.

* HingelineError            one sentence: what, where, what to do
  + InputError              a file or value that was handed in cannot be used
  + SettingError            the lens setting cannot exist, or has no answer
  + OutputError             nothing was written; the place refused it
"""

__all__ = ["HingelineError", "InputError", "OutputError", "SettingError"]


class HingelineError(Exception):
    """One sentence a person can act on: what is wrong, where, what to do."""


class InputError(HingelineError, ValueError):
    """A file or value that was handed in cannot be used."""


class SettingError(HingelineError, ValueError):
    """A lens setting that cannot exist, or a wish that no setting fulfils."""


class OutputError(HingelineError, OSError):
    """Nothing was written, because the place to write to refused it."""
