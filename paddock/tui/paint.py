"""The names the screens paint with."""

from __future__ import annotations
