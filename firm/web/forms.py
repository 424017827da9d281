"""What all forms of ours share."""

from typing import Any


class NoColon:
    """A form whose labels stand above their fields, where a colon says nothing."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
