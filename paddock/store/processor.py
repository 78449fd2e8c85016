"""Whether polars can run on this processor, looked up before it is imported.

The default build of polars uses AVX2 and its relatives and dies with an illegal instruction without
them; the ``compat`` extra brings a build that needs only SSE4.2.
"""

from __future__ import annotations

import importlib.util
import os
import platform
import sys
from functools import cache
from pathlib import Path

NEEDED = frozenset({"avx", "avx2", "fma", "bmi1", "bmi2", "movbe"})
_X86 = frozenset({"x86_64", "amd64", "x86", "i386", "i686"})
_WINDOWS_AVX2 = 40  # PF_AVX2_INSTRUCTIONS_AVAILABLE


def lacking(machine: str, flags: frozenset[str] | None, compat: bool) -> frozenset[str]:
    """What a processor lacks for polars; empty: it can run, or nobody can tell (``flags`` None)."""
    if machine.lower() not in _X86 or flags is None or compat:
        return frozenset()
    return NEEDED - flags


def _linux_flags() -> frozenset[str] | None:
    try:
        text = Path("/proc/cpuinfo").read_text(encoding="ascii", errors="replace")
    except OSError:
        return None
    line = next((line for line in text.splitlines() if line.startswith("flags")), None)
    return None if line is None else frozenset(line.partition(":")[2].split())


def _windows_flags() -> frozenset[str] | None:
    import ctypes

    kernel = getattr(ctypes, "windll", None)
    if kernel is None:
        return None
    return NEEDED if kernel.kernel32.IsProcessorFeaturePresent(_WINDOWS_AVX2) else frozenset()


def _flags() -> frozenset[str] | None:
    if sys.platform == "linux":
        return _linux_flags()
    return _windows_flags() if os.name == "nt" else None


@cache
def why_not_polars() -> str | None:
    """A sentence where polars can't or shall not run here, else None. ``PADDOCK_PLAIN=1`` asks for that."""
    if os.environ.get("PADDOCK_PLAIN") == "1":
        return "PADDOCK_PLAIN=1 asks for the plain scorer"
    if importlib.util.find_spec("polars") is None:
        return "polars is not installed: pip install polars"
    compat = importlib.util.find_spec("_polars_runtime_compat") is not None
    missing = lacking(platform.machine(), _flags(), compat)
    if not missing:
        return None
    return f"this processor has no {', '.join(sorted(missing))}, which polars needs: pip install 'paddock[compat]'"
