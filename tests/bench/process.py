"""What the system says of a process: time, wake-ups, memory. Linux only: read from /proc."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Rest:
    """Processor seconds and how often a thread woke by itself."""

    cpu_s: float
    wakes: int

    def __sub__(self, other: Rest) -> Rest:
        return Rest(self.cpu_s - other.cpu_s, self.wakes - other.wakes)


def at_rest(pid: int) -> Rest:
    """All threads of a process since it began."""
    cpu, wakes = 0, 0
    for task in Path(f"/proc/{pid}/task").iterdir():
        cpu += int((task / "schedstat").read_text().split()[0])
        wakes += _field((task / "status").read_text(), "voluntary_ctxt_switches")
    return Rest(cpu / 1e9, wakes)


def memory_mib(pid: int) -> float:
    """The most it ever held."""
    return _field(Path(f"/proc/{pid}/status").read_text(), "VmHWM") / 1024


def _field(text: str, name: str) -> int:
    found = re.search(rf"^{name}:\s+(\d+)", text, re.MULTILINE)
    assert found is not None
    return int(found[1])
