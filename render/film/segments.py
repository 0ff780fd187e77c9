"""Where a film is cut into the segments that are made whole or not at all."""

from dataclasses import dataclass

__all__ = ["Segment", "cut", "frames_words", "time_words"]


@dataclass(frozen=True, slots=True)
class Segment:
    """Frames `start` to `stop` of a film."""

    number: int
    start: int
    stop: int


def cut(frames: int, length: int) -> tuple[Segment, ...]:
    """Cut a film into segments of `length` frames, the last one shorter."""
    starts = range(0, frames, length)
    return tuple(Segment(k, a, min(a + length, frames)) for k, a in enumerate(starts))


def frames_words(count: int) -> str:
    """A number of frames: "1 frame", "36 frames"."""
    return f"{count} frame{'' if count == 1 else 's'}"


def time_words(seconds: float) -> str:
    """How long something lasts, as people say it: "40 s", "12 min", "3 h 20 min"."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60} min"
