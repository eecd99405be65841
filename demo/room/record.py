"""The record file: what happened, one JSON object a line, written out at once.

A checker counts from this file, so every line stands alone. All lines have

- `n`: line number from 1; `at`: the room's instant (ISO, UTC, ends in Z); `wall`: real seconds since start;
- `what`: one of the kinds below.

`call` - one call of a method by the bot:
  `method`; `chat` (id or null) and `person` (name, null outside private chats); the request's own fields,
  each null when it had none: `text`, `text_units`, `caption`, `caption_units` (UTF-16 units after entity
  parsing), `buttons` (rows of {"text", "callback_data"} or {"text", "url"}), `silent`, `protected`,
  `reply_to`, `file` ({"name", "size"}), `query` (the press that is answered); `answer`: "ok", an error code
  as a number, or "none" when no answer reached the bot; `description` of an error; `retry_after`; `fault`:
  the ordered fault or null; `taken`: whether the room did what was asked, also when the bot did not hear of
  it; `message_id`: the message made or changed; `handed`: how many updates a getUpdates gave. Fetching a
  file is a call of "download".
`update` - an update handed to the bot: `update_id`, `kind`, `person` (name), `person_id`, `chat`, `content`
  (text, caption, data, message_id, media, status: what there is), `made_at` (when the person acted), `how`
  ("poll" or "webhook"), `time_handed` (1 the first time).
`update-end` - an update left the queue: `update_id`, `kind`, `fate` ("confirmed", "expired", "dropped").
`action` - what a person did: `action`, `person`, `person_id`, `chat`, `content`, `update_id` (null if the bot
  asked not to get that kind).
`clock` - the clock was moved: `from_at`, `to_at`.
`driver` - the bot was asked to run its ticks: `work`, `next_at`, `error` (null when it went well).
"""

import datetime as dt
import json
import time
from pathlib import Path
from typing import TextIO

from demo.room.clock import RoomClock
from demo.room.shapes import Json, iso


class Record:
    """Writes the file; without a path it only counts."""

    def __init__(self, path: Path | None, clock: RoomClock) -> None:
        self.counts: dict[str, int] = {}
        self._clock = clock
        self._started_s = time.monotonic()
        self._lines = 0
        self._file: TextIO | None = path.open("a", encoding="utf-8") if path else None

    def line(self, what: str, fields: Json, at: dt.datetime | None = None) -> None:
        """Add one line; `at` is the room's instant, now when left out."""
        self._lines += 1
        self.counts[what] = self.counts.get(what, 0) + 1
        if self._file is None:
            return
        whole: Json = {
            "n": self._lines,
            "at": iso(at or self._clock.now()),
            "wall": round(time.monotonic() - self._started_s, 6),
            "what": what,
            **fields,
        }
        self._file.write(json.dumps(whole, ensure_ascii=False, separators=(",", ":")) + "\n")
        self._file.flush()

    def close(self) -> None:
        """Close the file."""
        if self._file is not None:
            self._file.close()
