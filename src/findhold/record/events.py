"""Events: what happened, as frozen data with a plain word and a version."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from findhold.record.clock import Reading

WORDS: dict[str, str] = {
    "ledger.opened.1": "the ledger was begun",
    "site.entered.1": "a site was entered with its grid and datum",
    "thing.entered.1": "a context, find, sample, person, store, box size, material or closure was entered",
    "thing.corrected.1": "facts of a thing were corrected, with the reason",
    "find.measured.1": "a find was measured by tape or from a scan",
    "mapping.kept.1": "how a file's headings are read was settled",
    "file.imported.1": "a file was read into the register",
    "setting.changed.1": "a setting of the unit was changed",
    "hold.planned.1": "a box was planned for a find",
    "hold.overridden.1": "a named person overrode a rule, with the reason",
    "hold.forecast.1": "the keep-until date of a hold was computed",
    "hold.labelled.1": "labels were made for a box and read back",
    "hold.step.1": "a step of the packing was ticked as done",
    "hold.step.undone.1": "the tick of a step was taken back",
    "box.packed.1": "the lid of a box was closed over its find",
    "box.packed.undone.1": "a packing date set at the bench was taken back",
    "box.weighed.1": "a box was weighed",
    "box.looked.1": "a box was looked at and not weighed",
    "box.shelved.1": "a box was put into a store",
    "digest.sent.1": "what is due was sent by e-mail",
    "photo.kept.1": "a photograph was kept",
    "hold.way.chosen.1": "how a hold gets over a closure was chosen",
    "hold.way.done.1": "what was chosen for a closure was done",
    "hold.ended.1": "a box was opened, handed over or sent: its hold ended",
    "hold.resumed.1": "the end of a hold was taken back, with the reason",
    "find.weighted.1": "a person set how much a find's lateness counts",
    "person.away.1": "an absence of a person was recorded",
    "booking.fixed.1": "an appointment was fixed",
    "booking.promised.1": "an appointment was promised with a plan",
    "booking.cancelled.1": "an appointment was cancelled",
    "visit.begun.1": "a person signed in at a page",
    "visit.refused.1": "a wrong passphrase was typed for a person",
    "visit.ended.1": "a person signed out",
    "store.logged.1": "a store's logger was read",
    "store.failed.1": "a failure of a store was recorded",
    "store.retracted.1": "readings or a failure of a store were taken back, with the reason",
}
"""Every word that can be written, with its meaning; the number is the version of the body's shape."""

NO_HASH = "0" * 64


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEvent:
    """An event that a decision asks to be written.

    word : one of WORDS. stream : "kind/SITE/number", the thing it happened to. body : plain data.
    """

    word: str
    stream: str
    body: dict[str, Any]

    def __post_init__(self) -> None:
        if self.word not in WORDS:
            raise ValueError(f"{self.word!r} is not a word of the ledger")
        if not 2 <= len(self.stream.split("/")) <= 3 or "" in self.stream.split("/"):
            raise ValueError(f"{self.stream!r} does not name a thing; build it with stream_of")


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """An event as it stands in the ledger.

    at : UTC. offset_min : the offset from UTC that the person saw [minutes]. device_seq : 1, 2, 3 ... per device.
    clock : hybrid logical clock. prev : hash of this device's event before [64 hex]. hash : its own [64 hex].
    """

    id: str
    word: str
    stream: str
    at: datetime
    offset_min: int
    clock: Reading
    person: str
    device: str
    device_seq: int
    prev: str
    hash: str
    body: dict[str, Any]

    def entry(self) -> dict[str, Any]:
        """Everything the hash covers, as plain data."""
        return {
            "id": self.id,
            "word": self.word,
            "stream": self.stream,
            "at": utc_text(self.at),
            "offset_min": self.offset_min,
            "clock": [self.clock.wall_ms, self.clock.count],
            "person": self.person,
            "device": self.device,
            "device_seq": self.device_seq,
            "body": self.body,
        }


UNIT = "unit"
"""Stands where a site code stands, for things that belong to the whole unit: people, stores, box sizes, closures."""


def stream_of(kind: str, *parts: str) -> str:
    """The stream that tells one thing's story: "find/WCR26/37"; a slash inside a number is kept as %2F."""
    return "/".join([kind, *(part.replace("%", "%25").replace("/", "%2F") for part in parts)])


def number_of(stream: str) -> str:
    """The number or name of the thing a stream belongs to: the inverse of stream_of's last part."""
    return stream.rsplit("/", 1)[1].replace("%2F", "/").replace("%25", "%")


def utc_text(at: datetime) -> str:
    """An aware instant as UTC text with milliseconds, the form stored and hashed."""
    offset = at.utcoffset()
    if offset is None:
        raise ValueError("an event's time must carry its zone")
    utc = (at - offset).replace(tzinfo=None)
    return utc.isoformat(timespec="milliseconds") + "Z"
