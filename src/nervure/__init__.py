"""Nervure: a workbench for clinicians who turn a piece of anatomy into a teaching card game.

>>> import nervure as nv
>>> nv.open  # doctest: +ELLIPSIS
<function open at ...>
"""

from typing import Any

__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    # Loaded on first use, so that `nervure --help` starts at once.
    if name in {"open", "new", "demo", "Project", "Result"}:
        from nervure import api

        return getattr(api, name)
    raise AttributeError(name)
