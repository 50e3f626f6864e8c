"""What requests bring with them, and the short answers to changes."""

from pydantic import BaseModel, ConfigDict, Field

LONGEST_NAME = 200


class Strict(BaseModel):
    """A body in which nothing unknown may stand."""

    model_config = ConfigDict(extra="forbid")


class NewTarget(Strict):
    """An object to put on the list. seen : the list's fingerprint when the person last saw it."""

    name: str = Field(min_length=1, max_length=LONGEST_NAME)
    seen: str | None = Field(None, max_length=64)


class Written(BaseModel):
    """What was changed: the file's new fingerprint, and a sentence."""

    fingerprint: str
    words: str
