"""What the record says to those who follow it; it does not know them."""

from django.dispatch import Signal

# Something was written on a page under the id that the page gave it: `operation`, `visit`, `kind`, `payload` and
# `answer` as of an entry that a tablet sends, `by`. Sent within the transaction that wrote it.
entry_written = Signal()
