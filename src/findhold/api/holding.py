"""Plan boxes and forecast holds, from the ledger or from one scenario."""

from __future__ import annotations

from dataclasses import replace

from fastapi import APIRouter
from pydantic import Field

from findhold.api.desk import Signed
from findhold.api.words import Answer, Members, Moment, Number, Short, Words
from findhold.service import holds, whatif
from findhold.service.holdings import holding_answer
from findhold.service.office import Office
from findhold.service.requests import PlanWords, hold_request
from findhold.service.scenario_sent import sent_scenario

router = APIRouter(tags=["plan and keep"])


class PlanAsked(Words):
    """Which finds (none: all of the site), and what is added to what the register says."""

    finds: tuple[Number, ...] = Field(default=(), max_length=500, strict=False)
    site: str | None = Field(default=None, max_length=16)
    barrier: Short | None = Field(default=None, description="What lies between find and wrapping; none for none.")
    wrapping: Short | None = Field(default=None, description="Wrapping other than tissue.")
    box: Short | None = Field(default=None, description="A box of the stock, instead of the best.")
    packed_at: Moment | None = Field(default=None, description="When the lid was closed.")
    overrides: tuple[Short, ...] = Field(default=(), max_length=20, strict=False, description="material:rule")
    reason: str = Field(default="", max_length=2000, description="Why a rule is overridden.")
    allowed_by: Short | None = Field(default=None, description="Who lets it pass, if not who records the plan.")
    dry_run: bool = Field(default=False, description="Work it out, record nothing.")


class KeepAsked(Words):
    """Which finds (none: every planned hold of the site)."""

    finds: tuple[Number, ...] = Field(default=(), max_length=500, strict=False)
    site: str | None = Field(default=None, max_length=16)
    packed_at: Moment | None = None
    members: Members = 1000
    seed: int = Field(default=1, ge=0, le=2**31 - 1)
    options: bool = Field(default=False, description="Rank what would help, also when the opening can be kept.")
    dry_run: bool = Field(default=False, description="Work it out, record nothing.")


class ScenarioAsked(Words):
    """A scenario file's text."""

    scenario: str = Field(min_length=1, max_length=100_000, description="The text of a scenario file (TOML).")
    members: Members = 1000
    seed: int = Field(default=1, ge=0, le=2**31 - 1)
    options: bool = False


@router.post("/plans")
def plan(words: PlanAsked, desk: Signed) -> Answer:
    """Choose box, bed and dose and record it; as `findhold plan --json`."""
    added = PlanWords(
        barrier=words.barrier,
        wrapping=words.wrapping,
        box=words.box,
        packed_at=words.packed_at,
        overrides=words.overrides,
        reason=words.reason,
        person=desk.visit.person,
        allowed_by=words.allowed_by,
    )
    request = hold_request(words.finds, words.site, added, record=not words.dry_run)

    def planned(office: Office) -> Answer:
        return holding_answer(holds.plan_finds(office, request))

    return desk.look(planned) if words.dry_run else desk.record("plan", words.model_dump(), planned)


@router.post("/forecasts")
def keep(words: KeepAsked, desk: Signed) -> Answer:
    """Say how long a find may wait, and record it; as `findhold keep --json`."""
    added = PlanWords(packed_at=words.packed_at)
    request = hold_request(
        words.finds, words.site, added, members=words.members, seed=words.seed, record=not words.dry_run
    )
    request = replace(request, all_options=words.options)

    def kept(office: Office) -> Answer:
        return holding_answer(holds.keep_finds(office, request))

    return desk.look(kept) if words.dry_run else desk.record("keep", words.model_dump(), kept)


@router.post("/what-if/plan")
def plan_scenario(words: ScenarioAsked, desk: Signed) -> Answer:
    """Plan a box from one scenario, without the ledger; as `findhold plan SCENARIO.toml --json`."""
    del desk
    return whatif.plan_scenario(sent_scenario(words.scenario)).shape


@router.post("/what-if/keep")
def keep_scenario(words: ScenarioAsked, desk: Signed) -> Answer:
    """Forecast one scenario, without the ledger; as `findhold keep SCENARIO.toml --json`."""
    del desk
    scenario = sent_scenario(words.scenario)
    return whatif.keep_scenario(scenario, members=words.members, seed=words.seed, all_options=words.options).shape
