"""Load the compiled kernel, and never a stale one.

numba keeps compiled entries on disk but looks only at the file that an entry stands in, not
at what it calls. So a stamp of all sources of the kernel lies beside them; where it differs,
the kept entries are removed before the first call.
"""

from __future__ import annotations

import hashlib
import importlib
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType

STAMP = "nervure-engine.stamp"

_lock = threading.Lock()
_kernel: ModuleType | None = None
_search_kernel: ModuleType | None = None


def load_kernel(on_prepare: Callable[[], None] | None = None) -> ModuleType:
    """Give the module of compiled entries.

    ``on_prepare`` is called, at most once a process, if they have to be compiled first,
    which takes some seconds.
    """
    global _kernel
    with _lock:
        if _kernel is None:
            # Late: numba takes a fifth of a second, and most commands never play.
            with _without("scipy.linalg.cython_blas"):
                from nervure.engine import kernel

                # numba looks for linear algebra, which the kernel has no use for: a third
                # of a second.
                importlib.import_module("numba.np.arraymath")
            _prepare(kernel.play_block, "kernel.play_block", on_prepare)
            _kernel = kernel
    return _kernel


def load_search_kernel(on_prepare: Callable[[], None] | None = None) -> ModuleType:
    """Give the module of compiled entries for line-ups with a searcher, as `load_kernel`."""
    global _search_kernel
    load_kernel()
    with _lock:
        if _search_kernel is None:
            # Late, as above.
            from nervure.engine import search_kernel

            _prepare(search_kernel.search_block, "search_kernel.search_block", on_prepare)
            _search_kernel = search_kernel
    return _search_kernel


@contextmanager
def _without(module: str) -> Iterator[None]:
    """Make a module as if it were not installed, unless it has been imported."""
    if module in sys.modules:
        yield
        return
    sys.modules[module] = None  # type: ignore[assignment]
    try:
        yield
    finally:
        del sys.modules[module]


def _prepare(entry: object, name: str, on_prepare: Callable[[], None] | None) -> None:
    """Remove what is stale, and say so if an entry has to be compiled."""
    folder = Path(str(entry._cache.cache_path))  # type: ignore[attr-defined]
    if not _is_fresh(folder, name) and on_prepare is not None:
        on_prepare()


def source_stamp() -> str:
    """Give the digest of all sources that the compiled entries depend on."""
    engine = Path(__file__).parent
    game = engine.parent / "game"
    total = hashlib.sha256()
    for source in [*sorted(engine.glob("*.py")), game / "tables.py", game / "strand_tables.py"]:
        total.update(source.name.encode())
        total.update(source.read_bytes())
    return total.hexdigest()


def _is_fresh(folder: Path, name: str) -> bool:
    """Remove kept entries of other sources; tell whether an entry of these is there."""
    stamp, file = source_stamp(), folder / STAMP
    try:
        if file.is_file() and file.read_text("ascii") == stamp:
            return any(folder.glob(f"{name}-*.nbi"))
        for kept in [*folder.glob("*kernel.*.nbi"), *folder.glob("*kernel.*.nbc")]:
            kept.unlink(missing_ok=True)
        folder.mkdir(parents=True, exist_ok=True)
        file.write_text(stamp, "ascii")
    except OSError:
        return False  # a folder that cannot be written keeps nothing either
    return False
