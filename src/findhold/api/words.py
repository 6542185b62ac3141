"""The words of requests: strict, closed, and of sane length; their meaning is the service's."""

from __future__ import annotations

import json
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from findhold.errors import BadInput

Number = Annotated[str, StringConstraints(min_length=1, max_length=64)]
Short = Annotated[str, StringConstraints(max_length=200)]
Moment = Annotated[str, StringConstraints(min_length=1, max_length=64)]


class Words(BaseModel):
    """Words of a request: nothing unknown, nothing of another kind."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


Site = Annotated[str | None, Field(default=None, max_length=16, description="The site, when there are several.")]
Members = Annotated[int, Field(ge=10, le=10_000, description="Members of the forecast's ensemble.")]
Answer = dict[str, Any]


def answers_of(text: str) -> dict[str, str]:
    """Answers to questions, sent beside a file as the text of a JSON object; raises BadInput for anything else."""
    try:
        given = json.loads(text)
    except ValueError:
        given = None
    if not isinstance(given, dict) or not all(isinstance(value, str) for value in given.values()):
        raise BadInput(
            "the answers cannot be read",
            where="answers",
            limit="a JSON object of texts: what each is about, and the choice",
            do="Send it like that",
        )
    return given
