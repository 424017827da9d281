"""The broker that needs no server: Kombu's file-system transport, with messages that appear whole.

Kombu writes a message under the name that the reader looks for, so a reader that comes in between takes an empty file
and its worker ends with a decoding error. Here it is written aside and renamed.
"""

import os
import time
from pathlib import Path
from typing import Any
from uuid import uuid4

from kombu.transport import TRANSPORT_ALIASES, filesystem
from kombu.utils.json import dumps

ALIAS = "folder"  # as in folder://localhost//


class Channel(filesystem.Channel):
    def _put(self, queue: str, payload: Any, **_: Any) -> None:
        # The time comes first, because the reader takes the names in order. Not the monotonic clock: it starts anew
        # with the machine, and then what waited over night would be overtaken.
        name = f"{time.time_ns():020d}_{uuid4()}.{queue}.msg"
        folder = Path(self.data_folder_out)
        aside = folder / f".{name}.part"
        aside.write_text(dumps(payload), encoding="utf-8")
        os.replace(aside, folder / name)


class Transport(filesystem.Transport):
    Channel = Channel


def register() -> None:
    TRANSPORT_ALIASES[ALIAS] = f"{__name__}:Transport"
