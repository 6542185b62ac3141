"""What-if without a ledger: plan and keep from one scenario file."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from time import perf_counter
from typing import Any

from findhold.pack.inputs import Override
from findhold.pack.plan import Plan
from findhold.service.answers import keep_answer, plan_answer
from findhold.service.case import Case, Kept, keep_case, plan_case
from findhold.service.packing.cushioning import packing_answer
from findhold.service.scenario import Scenario, load_scenario
from findhold.service.scenario_case import case_of_scenario
from findhold.service.settled import refuse_idle


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAnswer:
    """A plan of a scenario: the case as it was understood, the plan, and its public shape."""

    case: Case
    plan: Plan
    shape: dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepAnswer:
    """A forecast of a scenario: the case, the forecast with its plan, and its public shape."""

    case: Case
    kept: Kept
    shape: dict[str, Any]


def plan_scenario(path: Path | Scenario, overrides: tuple[Override, ...] = ()) -> PlanAnswer:
    """Plan the box of a scenario file; raises BadInput, Mistakes or UnknownName when it cannot be understood."""
    case = case_of_scenario(_scenario(path))
    case = replace(case, plan=replace(case.plan, overrides=overrides))
    plan = plan_case(case)
    refuse_idle((plan,), overrides)
    shape = {**plan_answer(plan), **packing_answer(case, plan), "title": case.title}
    return PlanAnswer(case=case, plan=plan, shape=shape)


def keep_scenario(
    path: Path | Scenario, *, members: int = 1000, seed: int = 1, all_options: bool = False
) -> KeepAnswer:
    """Forecast the hold of a scenario file, with the ways out when it cannot be kept."""
    started = perf_counter()
    case = case_of_scenario(_scenario(path))
    kept = keep_case(case, plan_case(case), members=members, seed=seed, all_options=all_options)
    shape = {**keep_answer(case, kept), "computed_in_s": perf_counter() - started}
    return KeepAnswer(case=case, kept=kept, shape=shape)


def _scenario(given: Path | Scenario) -> Scenario:
    return given if isinstance(given, Scenario) else load_scenario(given)
