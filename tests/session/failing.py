"""A disk that fails on demand: the system calls that ``paddock.store.disk`` makes, counted and broken."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest

CALLS = ("open", "write", "fsync", "replace", "mkdir", "unlink", "ftruncate", "lseek")


class Dead(BaseException):
    """The program is killed here."""


class Disk:
    """Counts calls that write; ``rule`` sees (name, count from 1) and may raise."""

    def __init__(self, rule: Callable[[str, int], None]) -> None:
        self.rule = rule
        self.count = 0
        self.names: list[str] = []

    def met(self, name: str) -> None:
        """One call."""
        self.count += 1
        self.names.append(name)
        self.rule(name, self.count)


@contextmanager
def failing_disk(rule: Callable[[str, int], None]) -> Iterator[Disk]:
    """Every writing call of ``os`` goes by ``rule`` first. Opening to read is free."""
    disk = Disk(rule)
    with pytest.MonkeyPatch.context() as patch:
        for name in CALLS:
            patch.setattr(os, name, _wrapped(disk, name, getattr(os, name)))
        yield disk


def _wrapped(disk: Disk, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
    def call(*args: Any, **more: Any) -> Any:
        if name == "open" and not (args[1] & (os.O_WRONLY | os.O_RDWR)):
            return real(*args, **more)
        disk.met(name)
        return real(*args, **more)

    return call


def killed_at(at: int) -> Callable[[str, int], None]:
    """A rule: the program dies before its call number ``at``; nothing more is written, as after a kill."""

    def rule(_name: str, count: int) -> None:
        if count >= at:
            raise Dead

    return rule


def error_at(at: int, number: int) -> Callable[[str, int], None]:
    """A rule: call number ``at`` alone fails."""

    def rule(_name: str, count: int) -> None:
        if count == at:
            raise OSError(number, os.strerror(number))

    return rule


def error_from(at: int, number: int) -> Callable[[str, int], None]:
    """A rule: calls from number ``at`` on fail, but for taking files away."""

    def rule(name: str, count: int) -> None:
        if count >= at and name not in ("unlink", "ftruncate", "lseek"):
            raise OSError(number, os.strerror(number))

    return rule
