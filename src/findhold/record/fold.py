"""The fold: what is so, from what happened. Same events in the same order, same state."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from findhold.errors import LedgerTrouble
from findhold.record.events import Event, utc_text

State = dict[str, Any]
Step = Callable[[State, Event], State]
_SIZES = {"length_mm", "width_mm", "height_mm"}
_MEASURED = ("profile_mm", "plan_outline_mm", "side_outline_mm", "end_outline_mm", "cog_mm")
"""Facts of a measured find beside its sizes and mass; they stand and fall with the sizes."""


def apply(state: State | None, event: Event) -> State:
    """The state of one thing after one more event of its stream.

    Parameters
    ----------
    state : the thing before, None when this is its first event.
    event : the next event of the same stream.

    Returns
    -------
    State : a new dict; the one given is not changed.

    Raises
    ------
    LedgerTrouble : the word is not known to this version, so the ledger needs a newer program.
    """
    step = _STEPS.get(event.word)
    if step is None:
        raise LedgerTrouble(
            f"event {event.id} has the word {event.word!r}, which this version does not know",
            do="Open this ledger with the version of findhold that wrote it, or a newer one",
        )
    return step({} if state is None else state, event)


def _entered(state: State, event: Event) -> State:
    return {**state, **event.body}


def _corrected(state: State, event: Event) -> State:
    fields = event.body["fields"]
    if _SIZES & set(fields) and "measured" in state:
        # Other sizes than those measured: profile, outlines and centre belong to them and go.
        state = {key: value for key, value in state.items() if key not in {"measured", *_MEASURED}}
    if "store" in fields:
        # A move told late does not undo a later one.
        at = event.body.get("at", utc_text(event.at))
        if datetime.fromisoformat(at) < datetime.fromisoformat(state.get("store_at", at)):
            return {**state, **{name: value for name, value in fields.items() if name != "store"}}
        state = {**state, "store_at": at}
    return {**state, **fields}


def _measured(state: State, event: Event) -> State:
    # The newest measurement stands; what it does not know (a tape sees no outline) is no longer so.
    body = event.body
    length_mm, width_mm, height_mm = body["size_mm"]
    sizes = {"length_mm": length_mm, "width_mm": width_mm, "height_mm": height_mm}
    mass = {} if body["mass_kg"] is None else {"mass_kg": body["mass_kg"]}
    told = {name: body[name] for name in ("how", "volume_l", "volume_low_l", "volume_high_l")}
    measured = {**told, "file": body.get("file"), "at": utc_text(event.at), "by": event.person}
    return {**state, **sizes, **mass, **{name: body[name] for name in _MEASURED}, "measured": measured}


def _planned(state: State, event: Event) -> State:
    # A new plan makes the old forecast and labels untrue, so they go, and begins a hold that had ended anew; the
    # events that made them stay.
    kept = {key: value for key, value in state.items() if key not in {"forecast", "labels", "ended"}}
    return _dated({**kept, **event.body, "planned_at": utc_text(event.at), "planned_by": event.person})


def _overridden(state: State, event: Event) -> State:
    return {**state, "overrides": [*state.get("overrides", []), event.body]}


def _forecast(state: State, event: Event) -> State:
    # A calendar that took an earlier export must be told that this one is newer, and which checks it may still hold.
    before = state.get("forecast", {})
    most = max(state.get("most_checks", 0), len(before.get("checks", ())), len(event.body.get("checks", ())))
    counted = {"forecast_no": state.get("forecast_no", 0) + 1, "most_checks": most}
    return _dated({**state, **counted, "forecast": {**event.body, "computed_at": utc_text(event.at)}})


def _labelled(state: State, event: Event) -> State:
    return {**state, "labels": {**event.body, "made_at": utc_text(event.at)}}


def _weighed(state: State, event: Event) -> State:
    reading = {**event.body, "at": event.body.get("at", utc_text(event.at)), "person": event.person}
    weighings = [*state.get("weighings", []), reading]
    doubt = _in_doubt(weighings)
    kept = {key: value for key, value in state.items() if key != "mass_wrong"}
    told = {"weighings": weighings, "alarm": _alarm(state, event), **({"mass_wrong": doubt} if doubt else {})}
    return _dated({**kept, **told})


def _looked(state: State, event: Event) -> State:
    look = {**event.body, "at": event.body.get("at", utc_text(event.at)), "person": event.person}
    return _dated({**state, "looks": [*state.get("looks", []), look], "alarm": _alarm(state, event)})


def _alarm(state: State, event: Event) -> str:
    """What was seen stands until somebody looks again and finds it right; who did not look changes nothing."""
    seen = {"dripping": "dripping", "mould": "mould", "dry": "dry", "right": ""}
    return str(seen.get(str(event.body.get("look")), state.get("alarm", "")))


def _in_doubt(weighings: list[dict[str, Any]]) -> str:
    """When the mass was last found wrong with no later weighing that counts; "" when it is not in doubt.

    A weighing that a second one bears out is settled, and so is one that somebody gave the reason of: both count.
    """
    found = ""
    for row in sorted(weighings, key=lambda one: datetime.fromisoformat(one["at"])):
        verdict = row.get("verdict") or {}
        if verdict.get("counted", True):
            found = ""
        elif verdict.get("code") != "typed twice":
            found = str(row["at"])
    return found


def _ticked(state: State, event: Event) -> State:
    tick = {**event.body, "at": event.body.get("at", utc_text(event.at)), "by": event.person}
    return {**state, "ticks": [*state.get("ticks", []), tick]}


def _undone(state: State, event: Event) -> State:
    # The tick stays to be seen, with who took it back; what never was ticked cannot be.
    undone = {"undone_at": event.body.get("at", utc_text(event.at)), "undone_by": event.person}
    ticks = [
        {**tick, **undone} if tick["tick"] == event.body["tick"] and "undone_by" not in tick else tick
        for tick in state.get("ticks", [])
    ]
    return {**state, "ticks": ticks}


def _packed(state: State, event: Event) -> State:
    told = {"packed_at": event.body["at"], "packed_stated": True, "packed_by": event.person}
    # What stood before is kept beside it, so that the date can be taken back.
    told |= {"packing": {**event.body, "by": event.person}} if "before" in event.body else {}
    told |= {name: event.body[name] for name in ("stood_since",) if name in event.body}
    return _dated({**state, **told})


def _unpacked(state: State, event: Event) -> State:
    before = event.body["before"]
    undone = {"undone_at": event.body["at"], "undone_by": event.person, "undone_reason": event.body["reason"]}
    told = {"packed_at": before["at"], "packed_stated": before["stated"], "packed_by": before["by"]}
    kept = {key: value for key, value in state.items() if key not in told}
    told = {name: value for name, value in told.items() if value is not None}
    return _dated({**kept, **told, "packing": {**state.get("packing", {}), **undone}})


def _shelved(state: State, event: Event) -> State:
    told = {**event.body, "at": event.body.get("at", utc_text(event.at)), "by": event.person}
    before = state.get("shelved")
    if before and datetime.fromisoformat(told["at"]) < datetime.fromisoformat(before["at"]):
        return state  # told late: what happened since stands
    return {**state, "shelved": told}


def _photographed(state: State, event: Event) -> State:
    told = {**event.body, "at": event.body.get("at", utc_text(event.at)), "by": event.person}
    return {**state, "photos": [*state.get("photos", []), told]}


def _way_chosen(state: State, event: Event) -> State:
    # The newest choice for a closure stands; "" takes it back. What was done belongs to the choice before.
    told = {**event.body, "at": utc_text(event.at), "by": event.person}
    return {**state, "over": {**state.get("over", {}), event.body["closure"]: told}}


def _way_done(state: State, event: Event) -> State:
    chosen = state.get("over", {}).get(event.body["closure"], {})
    done = {"done_at": utc_text(event.at), "done_by": event.person}
    return {**state, "over": {**state.get("over", {}), event.body["closure"]: {**chosen, **done}}}


def _ended(state: State, event: Event) -> State:
    return _dated({**state, "ended": {**event.body, "by": event.person}})


def _resumed(state: State, _event: Event) -> State:
    # What was chosen for a closure stands, but is not done any more.
    over = {
        name: {
            key: value for key, value in told.items() if not (told.get("ends_hold") and key in ("done_at", "done_by"))
        }
        for name, told in state.get("over", {}).items()
    }
    kept = {key: value for key, value in state.items() if key != "ended"}
    return _dated({**kept, "over": over} if over else kept)


def _dated(hold: State) -> State:
    """A hold with the instant of the earliest thing on it that is not done; None where nothing is forecast or it ended.

    A weighing does the checks before it; keep-until date and opening stay due, and so does what was seen amiss.
    """
    forecast = hold.get("forecast")
    if not forecast or hold.get("ended"):
        return {**hold, "next_at": None}
    done = max((datetime.fromisoformat(row["at"]) for row in hold.get("weighings", ())), default=None)
    checks = [datetime.fromisoformat(row["at"]) for row in forecast.get("checks", ())]
    ends = [datetime.fromisoformat(text) for text in (forecast.get("keep_until"), hold.get("open_at")) if text]
    due = [*ends, *(at for at in checks if done is None or at > done)]
    looked = [datetime.fromisoformat(row["at"]) for row in (*hold.get("weighings", ()), *hold.get("looks", ()))]
    if hold.get("alarm") and looked:
        due.append(max(looked))
    if hold.get("mass_wrong"):
        due.append(datetime.fromisoformat(hold["mass_wrong"]))
    return {**hold, "next_at": utc_text(min(due)) if due else None}


def _logged(state: State, event: Event) -> State:
    # The readings themselves stay in the event; the state keeps what is asked often and stays small.
    told = {key: value for key, value in event.body.items() if key != "series"}
    told["recorded_at"] = utc_text(event.at)
    return {**state, "logs": [*state.get("logs", []), told]}


def _failed(state: State, event: Event) -> State:
    # A failure typed again with the same beginning replaces the one that was still open.
    others = [item for item in state.get("failures", []) if item["from"] != event.body["from"]]
    return {**state, "failures": [*others, {**event.body, "recorded_at": utc_text(event.at)}]}


def _retracted(state: State, event: Event) -> State:
    logs = [item for item in state.get("logs", []) if item["sha256"] != event.body.get("sha256")]
    failures = [item for item in state.get("failures", []) if item["from"] != event.body.get("from")]
    return {**state, "logs": logs, "failures": failures}


def _weighted(state: State, event: Event) -> State:
    return {**state, "weighted": {**event.body, "at": utc_text(event.at), "by": event.person}}


def _away(state: State, event: Event) -> State:
    return {**state, "absences": [*state.get("absences", []), event.body]}


def _booked(state: State, event: Event) -> State:
    # A cancelled appointment keeps its day, so that a calendar that has it can be told.
    status = event.word.split(".")[1]
    return {**state, **event.body, "status": status, "no": state.get("no", -1) + 1, "by": event.person}


def _sent(state: State, event: Event) -> State:
    # By address the last digest that was taken, so that the same is not sent twice; the events keep every one.
    told = {"sha256": event.body["sha256"], "at": utc_text(event.at)}
    return {**state, "sent": {**state.get("sent", {}), **dict.fromkeys(event.body["to"], told)}}


def _visited(state: State, event: Event) -> State:
    # The state stays small however often somebody signs in: the last of each, and how often a passphrase was wrong.
    what = event.word.split(".")[1]
    wrong = state.get("wrong", 0) + (what == "refused")
    return {**state, "person": event.body["person"], what: utc_text(event.at), "wrong": wrong}


_STEPS: dict[str, Step] = {
    "ledger.opened.1": _entered,
    "site.entered.1": _entered,
    "thing.entered.1": _entered,
    "thing.corrected.1": _corrected,
    "find.measured.1": _measured,
    "mapping.kept.1": _entered,
    "file.imported.1": _entered,
    "setting.changed.1": _entered,
    "hold.planned.1": _planned,
    "hold.overridden.1": _overridden,
    "hold.forecast.1": _forecast,
    "hold.labelled.1": _labelled,
    "hold.step.1": _ticked,
    "hold.step.undone.1": _undone,
    "box.packed.1": _packed,
    "box.packed.undone.1": _unpacked,
    "box.weighed.1": _weighed,
    "box.looked.1": _looked,
    "box.shelved.1": _shelved,
    "digest.sent.1": _sent,
    "photo.kept.1": _photographed,
    "hold.way.chosen.1": _way_chosen,
    "hold.way.done.1": _way_done,
    "hold.ended.1": _ended,
    "hold.resumed.1": _resumed,
    "find.weighted.1": _weighted,
    "person.away.1": _away,
    "booking.fixed.1": _booked,
    "booking.promised.1": _booked,
    "booking.cancelled.1": _booked,
    "visit.begun.1": _visited,
    "visit.refused.1": _visited,
    "visit.ended.1": _visited,
    "store.logged.1": _logged,
    "store.failed.1": _failed,
    "store.retracted.1": _retracted,
}
