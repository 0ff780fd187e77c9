"""Hingeline under its own name: ``import hingeline`` is the package `render`.

Installed as a top-level package of its own, because another distribution may also bring a
package called `render`. What is promised to programs is `render.__all__`.
"""

from typing import Any

import render

__all__ = [*render.__all__]


def __getattr__(name: str) -> Any:
    if name not in render.__all__:
        raise AttributeError(f"module 'hingeline' has no attribute {name!r}")
    return getattr(render, name)


def __dir__() -> list[str]:
    return sorted(__all__)
