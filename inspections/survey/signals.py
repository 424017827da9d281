"""What the record says to those who follow it; it does not know them."""

from django.dispatch import Signal

# A fact was written on a page, under the id that the page gave the entry (`operation`, `part`, `fact`, `by`). Sent
# within the transaction that wrote it.
fact_written = Signal()
