"""Photographs of a box at the bench or in the store: made anew, freed of position unless asked, kept by checksum."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from findhold.errors import UnknownName
from findhold.record.events import NewEvent
from findhold.service.bench.clock import Moment
from findhold.service.files_out import FileOut
from findhold.service.office import Office
from findhold.service.pictures_in import take_picture
from findhold.service.wire import plain
from findhold.store.filebox import checksum, filebox, keep_file
from findhold.store.ledger import Thing

MEDIA = {".jpg": "image/jpeg", ".png": "image/png"}


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoRequest:
    """A photograph as it came, what it is about ("step 5", "mould at a check"), and when it was taken.

    keep_details : True keeps the camera's own words in it, its position among them.
    """

    data: bytes
    about: str
    moment: Moment
    note: str = ""
    keep_details: bool = False


def keep_on_hold(office: Office, hold: Thing, request: PhotoRequest) -> dict[str, Any]:
    """Keep a photograph with a hold; the same picture for the same thing twice is kept once.

    Raises
    ------
    BadInput : it is no picture that can be read.
    """
    made = take_picture(request.data, keep_details=request.keep_details)
    sha256 = checksum(made.data)
    for known in hold.facts.get("photos", ()):
        if known["sha256"] == sha256 and known["about"] == request.about:
            return {**known, "known_before": True}
    body = {
        "sha256": sha256,
        "kept_as": keep_file(office.ledger.path, made.data, made.ending),
        "bytes": len(made.data),
        "width_px": made.width_px,
        "height_px": made.height_px,
        "position": "kept" if made.position_kept else "not kept",
        "about": request.about.strip(),
        "note": request.note.strip(),
        "at": plain(request.moment.at),
        **({} if request.moment.clock is None else {"clock": request.moment.clock}),
    }
    with office.ledger.writing(office.stamp()) as writing:
        writing.append([NewEvent(word="photo.kept.1", stream=hold.stream, body=body)])
    return {**body, "known_before": False}


def photo_file(office: Office, hold: Thing, sha256: str) -> FileOut:
    """A photograph of a hold by its checksum; only those that the hold's events speak of are handed out.

    Raises
    ------
    UnknownName : the hold has no such photograph, or its file is gone.
    """
    for known in hold.facts.get("photos", ()):
        if known["sha256"] != sha256:
            continue
        for ending, media_type in MEDIA.items():
            file = filebox(office.ledger.path) / f"{known['sha256']}{ending}"
            if file.is_file():
                return FileOut(name=file.name, media_type=media_type, data=file.read_bytes(), shape={})
    raise UnknownName("photograph", sha256[:12], [one["sha256"][:12] for one in hold.facts.get("photos", ())])
