"""What a picture needs in memory, and whether this machine has it."""

import os
from pathlib import Path

from render.errors import InputError
from render.limits import PIXELS

__all__ = ["check_memory", "check_size", "free_bytes"]

#: Bytes per pixel of a whole render; 39 were measured between 3 and 12 Mpx, reading takes 15.
_BYTES_PER_PIXEL = 45


def check_size(name: str, width_px: int, height_px: int) -> None:
    """Refuse a picture that can't be held, before anything of its size is asked for.

    Raises
    ------
    InputError
        If the header claims no pixels, more than five hundred million, or more than the
        free memory holds; the sentence says what is needed.
    """
    pixels = width_px * height_px
    if min(width_px, height_px) < 1:
        raise InputError(f"{name} claims to be {width_px} x {height_px} px: it is damaged")
    size = f"{name} claims {width_px} x {height_px} px ({pixels / 1e6:.0f} Mpx)"
    PIXELS.check(pixels, size, "make a smaller copy")
    check_memory(f"{size} and", pixels * _BYTES_PER_PIXEL, "make a smaller copy")


def check_memory(claim: str, needed_bytes: float, remedy: str) -> None:
    """Refuse work that needs more memory than is free.

    Parameters
    ----------
    claim : str
        Begins the sentence; "needs 3.1 GB of memory" follows.
    needed_bytes : float
    remedy : str
        What to do.

    Raises
    ------
    InputError
    """
    free = free_bytes()
    if free is not None and needed_bytes > free:
        raise InputError(
            f"{claim} needs {needed_bytes / 1e9:.1f} GB of memory to be worked on, where "
            f"{free / 1e9:.1f} GB are free: {remedy} or use a larger machine"
        )


def free_bytes() -> int | None:
    """Memory that may still be had, or None where the system doesn't tell."""
    found = [value for value in (_of_machine(), _of_container()) if value is not None]
    return min(found, default=None)


def _of_machine() -> int | None:
    try:
        for line in Path("/proc/meminfo").read_text().splitlines():
            if line.startswith("MemAvailable:"):
                return int(line.split()[1]) * 1024
        return None
    except (OSError, ValueError):
        pass
    try:
        return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    except (AttributeError, OSError, ValueError):
        return None


def _of_container() -> int | None:
    """Return what a control group leaves (Linux containers)."""
    group = Path("/sys/fs/cgroup")
    try:
        most = (group / "memory.max").read_text().strip()
        return None if most == "max" else int(most) - int((group / "memory.current").read_text())
    except (OSError, ValueError):
        return None
