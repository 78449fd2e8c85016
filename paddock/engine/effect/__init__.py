"""Was it the change? Field-controlled verdicts on logged changes, the next test, and what a season adds up to."""

from __future__ import annotations

from paddock.engine.effect.judge import judge
from paddock.engine.effect.plan import Plan, PlannedRun, plan
from paddock.engine.effect.pool import SeasonChange, season_changes
from paddock.engine.effect.result import Effect

__all__ = ["Effect", "Plan", "PlannedRun", "SeasonChange", "judge", "plan", "season_changes"]
