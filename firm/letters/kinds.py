"""The mails whose words the firm may change: the placeholders of each, and the words at first."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Kind:
    """One mail. `needed`: without these the reader would not learn what the mail is for."""

    key: str
    label: str
    when: str  # it goes out, as half a sentence
    placeholders: tuple[str, ...]
    needed: frozenset[str]
    subject: str
    body: str


# Each placeholder: what it stands for, and what stands there in a preview.
PLACEHOLDERS = {
    "client": ("the client's name", "Ines Hallam"),
    "recipient": ("the name of whoever gets the link", "Ines Hallam"),
    "day": ("the day of the visit", "Tuesday, March 9, 2027"),
    "clock": ("when it begins", "10:00 AM"),
    "until": ("when it ends, about", "11:30 AM"),
    "address": ("the address of the house", "4 Mill Lane, Harrow Point, Maine"),
    "inspector": ("who comes, with telephone", "Robin Ashdown, 207 555 0142"),
    "page": ("the link to the page about the visit", "https://…"),
    "link": ("the link to the report", "https://…"),
    "open_until": ("the day until which the link opens", "September 5, 2027"),
    "firm": ("the name of the firm", ""),
    "firm_address": ("the address of the firm", ""),
    "contact": ("telephone and mail of the firm", ""),
}
_FIRM = ("firm", "firm_address", "contact")
_VISIT = ("client", "day", "clock", "until", "address", "inspector", "page", *_FIRM)
_WHERE_AND_WHO = """  When:  {day}, {clock} to about {until}
  Where: {address}
  Who:   {inspector}"""
_PREPARE = (
    "Please leave the way to the deck and, if there is one, to the space under it open, and have papers about the deck "
    "at hand if you have any (drawings, permits, invoices). The inspector looks, measures and probes; nothing is taken "
    "apart."
)
_END = "{firm}\n{firm_address}"
_WHEN_NEEDED = frozenset({"day", "clock"})

KINDS = {
    kind.key: kind
    for kind in (
        Kind(
            "confirmed",
            "Confirmation",
            "when a visit is booked",
            _VISIT,
            _WHEN_NEEDED,
            "Your deck inspection on {day}",
            f"Dear {{client}},\n\nyour deck will be inspected:\n\n{_WHERE_AND_WHO}\n\n{_PREPARE}\n\n"
            "Confirm the time, or ask for another, on this page:\n{page}\n\n"
            "The attached file puts the visit into your calendar. If the time does not suit you, tell us: {contact}."
            f"\n\n{_END}",
        ),
        Kind(
            "moved",
            "Change",
            "when a visit gets another time, length or inspector",
            _VISIT,
            _WHEN_NEEDED,
            "Your deck inspection is now on {day}",
            f"Dear {{client}},\n\nthe inspection of your deck has been changed. It is now:\n\n{_WHERE_AND_WHO}\n\n"
            "Confirm the time, or ask for another, on this page:\n{page}\n\n"
            "The attached file replaces the entry in your calendar. If the time does not suit you, tell us: {contact}."
            f"\n\n{_END}",
        ),
        Kind(
            "time_given_up",
            "Time given up",
            "when a visit gives up its time and waits for another",
            ("client", "day", "clock", "address", "page", *_FIRM),
            _WHEN_NEEDED,
            "Your deck inspection on {day} gets another time",
            "Dear {client},\n\nthe inspection of your deck ({address}) will not be on {day} at {clock}. Nobody will "
            "come at that time; a new time is still to be agreed on.\n\nTell us on this page when it would suit you:\n"
            "{page}\n\nThe attached file takes the entry out of your calendar. You can also call or write to us: "
            f"{{contact}}.\n\n{_END}",
        ),
        Kind(
            "called_off",
            "Cancellation",
            "when a visit is called off",
            ("client", "day", "clock", "address", *_FIRM),
            _WHEN_NEEDED,
            "Your deck inspection on {day} is called off",
            "Dear {client},\n\nthe inspection of your deck on {day} at {clock} ({address}) is called off. Nobody will "
            "come at that time.\n\nThe attached file takes the entry out of your calendar. To agree on another time, "
            f"call or write to us: {{contact}}.\n\n{_END}",
        ),
        Kind(
            "reminder",
            "Reminder",
            "some hours before a visit",
            _VISIT,
            _WHEN_NEEDED,
            "Your deck inspection is on {day}",
            f"Dear {{client}},\n\nthis is to remind you of the inspection of your deck:\n\n{_WHERE_AND_WHO}\n\n"
            f"{_PREPARE}\n\nConfirm the time, or ask for another, on this page:\n{{page}}\n\n"
            f"If the time does not suit you, tell us: {{contact}}.\n\n{_END}",
        ),
        Kind(
            "report_ready",
            "Report ready",
            "with the link to a first report, in English",
            ("recipient", "link", "open_until", *_FIRM),
            frozenset({"link"}),
            "Your deck inspection report from {firm}",
            "{recipient},\n\n{firm} has finished the report on the deck it inspected for you.\n\n"
            "Read it here; no account is needed:\n\n{link}\n\nThe page tells first whether the deck may be used, then "
            "what to do, in which order, and by whom. The whole report can be taken from there as a PDF.\n\nThe link "
            "is open until {open_until}. Whoever has it can read the report, so pass it on only to those who should."
            f"\n\nQuestions? {{contact}}.\n\n{_END}",
        ),
    )
}
