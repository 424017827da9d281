"""For tests that book on whichever day it is: everybody works all week, at any hour."""

from datetime import time

import pytest

from firm.hours import services


@pytest.fixture(autouse=True)
def everybody_works_round_the_clock(request, monkeypatch):
    if not getattr(request.module, "KEEPS_HOURS", False):
        monkeypatch.setattr(services, "USUAL", {weekday: (time(0), time(23, 59)) for weekday in range(7)})
