"""A deck that nobody knows beforehand, drawn from the vocabulary: what is typed of it, and what is meant.

`draw(seed)` gives the steps of one visit in the order of the walk, with the times at which the signal goes and comes
and browser and server are killed, and beside them the record that must stand at the server in the end. What a text
means (12' 3 1/2" is 147.5 in) is known here because the number was drawn first and the text written from it: nothing of
the application reads it back.
"""

import hashlib
import math
import random
from dataclasses import dataclass, field

from engine.vocabulary import BY_NAME, FASTENER_KINDS, Fact
from inspections.survey.keys import PREFIXES
from inspections.survey.wording import BY_SLUG, STOPS, WATER_KINDS, water_facts
from tests.inspections.photos.files import jpeg_bytes

HOWS = ("measured", "measured", "measured", "papers", "assumed")
ACTIONS = ("keep_off", "limit_use", "put_right", "find_out", "look_after", "sound")
WORDS = (
    "third tread, left end", "between J4 and J5", "nail heads stand proud", "soft to 3/4\" under the probe",
    "café side",
    "<b>rust</b> & flaking", "“dry” on that day", "gap of 12 mm – see photo", "line one\nline two",
    "½ the holes are empty",
)  # fmt: skip
OF_CANDIDATES = ("length", "number", "count", "choice")


@dataclass(frozen=True)
class Told:
    """One fact: the text in the field, how it was got, and the value that is meant (None: not reachable)."""

    typed: str
    how: str
    value: object


@dataclass
class DrawnPart:
    kind: str
    key: str
    name: str = ""
    told: dict[str, Told] = field(default_factory=dict)


@dataclass(frozen=True)
class Step:
    """Something that the inspector does, or that happens to him: its verb, and what it needs."""

    verb: str
    given: dict

    def __getattr__(self, name):
        try:
            return self.given[name]
        except KeyError:
            raise AttributeError(name) from None


@dataclass
class Deck:
    seed: int
    steps: list[Step] = field(default_factory=list)
    parts: dict[str, DrawnPart] = field(default_factory=dict)
    findings: list[dict] = field(default_factory=list)
    photos: list[dict] = field(default_factory=list)


# --- texts with their meaning
def length(by: random.Random, low: float, high: float) -> tuple[str, float]:
    """A length in inches within the range, and one of the ways in which people write it."""
    high = min(high, max(low, 1) * 40)
    if by.random() < 0.25 and math.floor(high * 25.4) > math.ceil(low * 25.4):
        mm = by.randint(math.ceil(low * 25.4), math.floor(high * 25.4))
        text = by.choice((f"{mm} mm", f"{mm / 10:g} cm", f"{mm / 1000:g} m"))
        return text, mm / 25.4
    sixteenths = by.randint(math.ceil(low * 16), math.floor(high * 16))
    return by.choice((_feet, _feet, _inches, _decimal))(sixteenths), sixteenths / 16


def _feet(sixteenths: int) -> str:
    feet, rest = divmod(sixteenths, 192)
    return f"{feet}' {_inches(rest)}".strip() if feet and rest else f"{feet}'" if feet else _inches(rest)


def _inches(sixteenths: int) -> str:
    whole, top = divmod(sixteenths, 16)
    shared = math.gcd(top, 16)
    fraction = f"{top // shared}/{16 // shared}" if top else ""
    return " ".join(filter(None, (str(whole) if whole or not top else "", fraction)))


def _decimal(sixteenths: int) -> str:
    return f"{sixteenths / 16:g}" if sixteenths % 4 == 0 else _inches(sixteenths)


def one_value(by: random.Random, fact: Fact) -> tuple[str, object]:
    """A text for this fact, and what it means."""
    if fact.kind == "length":
        return length(by, fact.low, fact.high)
    if fact.kind == "lengths":
        texts, values = [], []
        for _ in range(by.randint(1, 4)):
            text, value = length(by, max(fact.low, 4), min(fact.high, 240))
            times = by.randint(2, 5) if by.random() < 0.3 else 1
            texts.append(text if times == 1 else f"{times} x {text}")
            values += [value] * times
        return ", ".join(texts), values
    if fact.kind == "count":
        value = by.randint(int(fact.low), int(min(fact.high, fact.low + 14)))
        return str(value), value
    if fact.kind == "number" and fact.unit == "fraction":
        below = by.randint(2, 12)
        top = by.randint(0, below)
        percent = by.randint(0, 100)
        return by.choice(((f"{top} of {below}", top / below), (f"{percent} %", percent / 100)))
    if fact.kind == "number":
        value = round(by.uniform(fact.low, min(fact.high, max(fact.low, 1) * 60)), by.randint(0, 1))
        value = min(max(value, fact.low), fact.high)
        return f"{value:g}" + (f" {fact.unit}" if by.random() < 0.3 else ""), float(f"{value:g}")
    if fact.kind == "yes-no":
        value = by.random() < 0.6
        return "yes" if value else "no", value
    text = by.choice(fact.choices)
    return text, text


class _Drawing:
    def __init__(self, seed: int) -> None:
        self.by = random.Random(seed)
        self.deck = Deck(seed)
        self.highest = dict.fromkeys(PREFIXES, 0)

    def step(self, verb: str, **given) -> None:
        self.deck.steps.append(Step(verb, given))

    # --- parts
    def add(self, kind: str, name: str = "", **references: str) -> DrawnPart:
        """A part as the record gets it: what there is only one of is filled in by itself."""
        self.highest[kind] += 1
        part = DrawnPart(kind, f"{PREFIXES[kind]}{self.highest[kind]}", name)
        for fact in BY_NAME[kind].facts:
            if fact.kind == "reference" and (fact.required or fact.name == "level"):
                there = self.of(fact.refers_to)
                if len(there) == 1:
                    part.told[fact.name] = Told(there[0].key, "measured", there[0].key)
        for fact, text in references.items():
            part.told[fact] = Told(text, "measured", {"yes": True, "no": False}.get(text, text))
        self.deck.parts[part.key] = part
        return part

    def of(self, *kinds: str) -> list[DrawnPart]:
        return [one for one in self.deck.parts.values() if one.kind in kinds]

    def begin(self) -> None:
        """The short form of an empty record, and the parts that it makes."""
        by = self.by
        stands = by.choice(("on a ledger", "on a ledger", "free-standing"))
        levels, posts = by.randint(1, 2), by.randint(1, 3)
        sizes = {name: length(by, *span) for name, span in
                 {"width": (96, 300), "depth": (60, 190), "height": (8, 140)}.items() if by.random() < 0.8}  # fmt: skip
        has_stairs, has_guards = by.random() < 0.8, by.random() < 0.8
        self.step("start", stands=stands, levels=levels, posts=posts, has_stairs=has_stairs, has_guards=has_guards,
                  sizes={name: text for name, (text, _) in sizes.items()})  # fmt: skip
        for number in range(levels):
            level = self.add("level", "" if number else "main level", stands=stands)
            if number == 0:
                for name, (text, value) in sizes.items():
                    level.told[f"{name}_in"] = Told(text, "measured", value)
            joists = {"level": level.key}
            if stands == "on a ledger":
                joists["ledger"] = self.add("ledger", level=level.key).key
            else:
                joists["inner_beam"] = self.beam(level, posts, "inner beam")
            joists["beam"] = self.beam(level, posts, "outer beam")
            self.add("joist_field", **joists)
            if has_guards:
                for side in ("front", "left", "right"):
                    self.add("guard", side, level=level.key, is_present="yes")
            if has_stairs and number == 0:
                self.add("stair", level=level.key)

    def beam(self, level: DrawnPart, posts: int, name: str) -> str:
        beam = self.add("beam", name, level=level.key)
        for _ in range(posts):
            self.add("footing", post=self.add("post", beam=beam.key).key)
        return beam.key

    # --- what is done on a page of the walk
    def enter(self, part: DrawnPart, fact: Fact) -> None:
        by = self.by
        if fact.kind == "reference":
            there = [one for one in self.of(fact.refers_to) if one.key != part.key]
            if not there:
                return
            other = by.choice(there)
            if part.told.get(fact.name, Told("", "", None)).value == other.key:
                return
            part.told[fact.name] = Told(other.key, "measured", other.key)
            self.step("refer", part=part.key, fact=fact.name, text=f"{other.key} {other.name}".strip())
            return
        before = part.told.get(fact.name, Told("", "measured", None))
        if by.random() < 0.1 and before.how != "not_reachable":
            part.told[fact.name] = Told("", "not_reachable", None)
            self.step("cannot_reach", part=part.key, fact=fact.name, typed="", how="not_reachable")
            return
        told, steps = self.said(fact)
        if told.typed == before.typed:
            return
        part.told[fact.name] = told
        for number, (verb, given) in enumerate(steps):
            is_last = number == len(steps) - 1
            how = told.how if is_last else None
            # What is written over "not reachable" was reached after all: nobody has to say so as well.
            says_how = is_last and how != ("measured" if before.how == "not_reachable" else before.how)
            typed = told.typed if is_last else None
            self.step(verb, part=part.key, fact=fact.name, how=how, says_how=says_how, typed=typed, **given)

    def said(self, fact: Fact) -> tuple[Told, list]:
        """Something that is told of a fact, and the steps in which it is entered."""
        by = self.by
        how = by.choice(HOWS)
        unsure = fact.kind in OF_CANDIDATES and len(fact.choices) not in (1, 2) and by.random() < 0.2
        if unsure and fact.kind == "choice":
            some = by.sample(fact.choices, by.randint(2, 3))
            words = [one for one in fact.choices if one in some]
            return Told(" or ".join(words), how, {"one_of": words}), [("tick", {"words": words})]
        text, value = one_value(by, fact)
        if fact.kind in ("choice", "yes-no"):
            return Told(text, how, value), [("choose", {"text": text})]
        keys = _keys(text) if fact.kind == "length" and by.random() < 0.4 else None
        steps = [("write", {"text": text, "keys": keys})]
        if unsure and (other := one_value(by, fact))[1] != value:
            steps.append(("or_", {"text": other[0]}))
            return Told(f"{text} or {other[0]}", how, {"one_of": [value, other[1]]}), steps
        return Told(text, how, value), steps

    def clear(self, part: DrawnPart, fact: Fact) -> None:
        was = part.told.pop(fact.name)
        self.step("clear", part=part.key, fact=fact.name, was=was.how, of_words=fact.kind in ("choice", "yes-no"))

    def facts(self, slug: str, most: int) -> None:
        """Some facts of every part of this page, then something that is changed, cleared or made sure of again."""
        by = self.by
        kinds = WATER_KINDS if slug == "water" else BY_SLUG[slug].kinds
        for part in [one for one in self.of(*kinds) if one.kind != "fastener"]:
            facts = water_facts(part.kind) if slug == "water" else BY_NAME[part.kind].facts
            plain = [one for one in facts if not (one.is_detail and by.random() < 0.7)]
            for fact in by.sample(plain, min(len(plain), by.randint(0 if slug == "water" else 1, most))):
                self.enter(part, fact)
            again = [one for one in facts if one.name in part.told and one.kind != "reference" and not one.required]
            if again and by.random() < 0.15:
                self.enter(part, by.choice(again))
            elif again and by.random() < 0.1:
                self.clear(part, by.choice(again))

    def more_parts(self, slug: str) -> None:
        by = self.by
        if slug == "surface" and by.random() < 0.4:
            self.added("patch", "joist_field")
        if slug == "ledger" and self.of("ledger") and by.random() < 0.6:
            self.added("lateral_tie")
        if slug == "beam" and by.random() < 0.3:
            self.added("beam")
        if slug == "posts" and by.random() < 0.4:
            self.added("post", "beam")
        if slug == "footings":
            bare = [
                one for one in self.of("post") if not any(f.told["post"].value == one.key for f in self.of("footing"))
            ]
            if bare:
                self.added("footing", "post", bare[-1])
        if slug == "edge":
            part = self.added("guard")
            if by.random() < 0.6:
                part.name = by.choice(("landing", "beside the stair", "“new” rail", "front, low"))
                self.step("name", part=part.key, name=part.name)
        if slug == "way-up" and by.random() < 0.4:
            self.added("stair")

    def added(self, kind: str, required: str = "", target: DrawnPart | None = None) -> DrawnPart:
        target = target or (self.by.choice(self.of(required)) if required else None)
        part = self.add(kind, **({required: target.key} if target else {}))
        self.step("add", kind=kind, part=part.key, target=target and f"{target.key} {target.name}".strip())
        return part

    def same(self, slug: str) -> None:
        """ "Same as the one before": what is still open is copied, but neither the place nor what it belongs to."""
        for kind in BY_SLUG[slug].kinds:
            parts = self.of(kind)
            if len(parts) > 1 and kind != "fastener" and self.by.random() < 0.4:
                number = self.by.randint(1, len(parts) - 1)
                source, part = parts[number - 1], parts[number]
                copied = {
                    name: told for name, told in source.told.items()
                    if name not in part.told and name != "position_in"
                    and BY_NAME[kind].index[name].kind != "reference"
                }  # fmt: skip
                if copied:
                    part.told |= copied
                    self.step("same", part=part.key, source=source.key, fact=list(copied)[-1])

    def taken_out(self, slug: str) -> None:
        kind = {"posts": "post", "edge": "guard"}.get(slug)
        parts = self.of(kind) if kind else []
        if len(parts) > 2 and self.by.random() < 0.3:
            part = self.by.choice(parts)
            gone = [part.key, *(one.key for one in self.of("footing") if one.told["post"].value == part.key)]
            for key in gone:
                del self.deck.parts[key]
            self.step("remove", part=part.key)

    def strip(self) -> None:
        by = self.by
        for ledger in self.of("ledger"):
            for _ in range(by.randint(1, 2)):
                first, first_in = length(by, 1, 20)
                typed, places = {"first": first}, [first_in]
                if by.random() < 0.8:
                    every, every_in = length(by, 8, 32)
                    last, last_in = length(by, 60, 160)
                    typed |= {"every": every, "last": last}
                    count = int((last_in - first_in + 1 / 16) // every_in) + 1
                    places = [first_in + number * every_in for number in range(count)]
                row = by.choice(("", "staggered", "upper", "lower", "middle"))
                facts = {"fastener": by.choice(("", *FASTENER_KINDS))}
                values = {"fastener": facts["fastener"]}
                for name, low, high in (("diameter_in", 0.25, 1), ("length_in", 2, 8)):
                    facts[name], values[name] = length(by, low, high) if by.random() < 0.6 else ("", "")
                made = []
                for number, place in enumerate(places):
                    part = self.add("fastener", ledger=ledger.key)
                    part.told["position_in"] = Told("", "measured", place)
                    own_row = ("upper", "lower")[number % 2] if row == "staggered" else row
                    for name, value in {**values, "row": own_row}.items():
                        if value != "":
                            part.told[name] = Told(facts.get(name, own_row), "measured", value)
                    made.append(part)
                self.step("row", ledger=ledger.key, typed={**typed, **facts}, row=row, last=made[-1].key,
                          count=sum(one.told["ledger"].value == ledger.key for one in self.of("fastener")))  # fmt: skip
                one = by.choice(made)
                self.step("open_fastener", part=one.key, ledger=ledger.key)
                for name in by.sample(("condition", "corrosion_loss_in", "metal", "length_in"), 2):
                    self.enter(one, BY_NAME["fastener"].index[name])

    # --- what was seen
    def picture(self, **of) -> dict:
        by = self.by
        number = len(self.deck.photos) + 1
        tail = random.Random(self.deck.seed * 1000 + number).randbytes(by.choice((20_000, 200_000, 900_000)))
        data = jpeg_bytes(seed=number) + tail  # bytes behind the end of the picture, as some cameras write them
        photo = {"name": f"{number}.jpg", "data": data, "caption": "", **of}
        self.deck.photos.append(photo)
        return photo

    def photos(self, slug: str) -> None:
        by = self.by
        link = BY_SLUG[slug].link.value
        if by.random() < 0.5:
            made = [self.picture(link=link) for _ in range(by.randint(1, 2))]
            if by.random() < 0.7:
                made[-1]["caption"] = by.choice(WORDS).replace("\n", " ")
            self.step("photos", photos=made, caption=made[-1]["caption"])
        parts = [one for one in self.of(*BY_SLUG[slug].kinds) if one.kind != "fastener"]
        if parts and by.random() < 0.4:
            part = by.choice(parts)
            self.step("photo_of_part", part=part.key, photo=self.picture(link=link, part=part.key))

    def finding(self, slug: str) -> None:
        by = self.by
        if by.random() < 0.5:
            return
        link = BY_SLUG[slug].link.value
        action = by.choice(ACTIONS)
        given = {"place": by.choice(WORDS).replace("\n", " "), "seen": by.choice(WORDS), "action": action,
                 "how_soon": by.choice(("at_once", "two_weeks", "three_months", "one_year")),
                 "who": by.choice(("owner", "contractor", "engineer"))}  # fmt: skip
        is_of_catalogue = by.random() < 0.5
        if not is_of_catalogue:
            given |= {
                "title": by.choice(WORDS).replace("\n", " "),
                "meaning": by.choice(WORDS),
                "remedy": by.choice(WORDS),
            }
        parts = [one for one in self.of(*BY_SLUG[slug].kinds) if one.kind != "fastener"]
        part = by.choice(parts).key if parts and by.random() < 0.7 else ""
        finding = {"link": link, "part": part, **given}
        number = len(self.deck.findings)
        self.deck.findings.append(finding)
        photos = [self.picture(link=link, part=part, finding=number) for _ in range(by.randint(0, 2))]
        self.step("finding", finding=finding, fields=given, part=part, photos=photos,
                  of_catalogue=by.random() if is_of_catalogue else None)  # fmt: skip

    # --- the whole visit
    def walk(self) -> Deck:
        by = self.by
        starts_with_signal = by.random() < 0.3
        if not starts_with_signal:
            self.step("cut")
        self.begin()
        if starts_with_signal:
            self.step("cut")
        # Signal for one stop in the middle, the server dies as it comes; the browser before it, after it and last.
        slugs = [stop.slug for stop in STOPS]
        signal_at = by.choice(slugs[2:6])
        browser_dies_at = {by.choice(slugs[1:3]), by.choice(slugs[6:8])}
        for stop in STOPS:
            slug = stop.slug
            with_signal = slug == signal_at
            if with_signal:
                self.step(
                    "signal_and_server_dies", after_s=by.uniform(0.05, 0.6), bytes=by.choice((None, 3_000, 150_000))
                )
                self.step("server_comes_back")
                self.step("signal")
            self.step("open", slug=slug)
            if slug != "water" and not with_signal:
                self.more_parts(slug)
            self.facts(slug, most=2)
            if slug == "ledger":
                self.strip()
            if slug != "water" and not with_signal:
                self.same(slug)
                self.taken_out(slug)
            if slug in browser_dies_at:
                self.step("browser_dies", slug=slug)
            if slug != "water":
                self.photos(slug)
                self.finding(slug)
            if with_signal:
                self.step("cut")
        self.step("browser_dies", slug="water")
        return self.deck


def _keys(text: str) -> list[str] | None:
    """The keys of the large keypad that write this length; None where it has none for it."""
    if text.endswith(" mm"):
        return ["mm", *text.removesuffix(" mm")]
    if text.endswith("m") or "." in text:
        return None
    keys = []
    for word in text.split():
        keys += [*word[:-1], "ft"] if word.endswith("'") else [word] if "/" in word else [*word]
    return keys


def draw(seed: int) -> Deck:
    return _Drawing(seed).walk()


def expected(deck: Deck) -> dict[str, object]:
    """What must stand at the server, by a name for each single thing."""
    found: dict[str, object] = {}
    for part in deck.parts.values():
        found[part.key] = [part.kind, part.name]
        for name, told in part.told.items():
            kind = BY_NAME[part.kind].index[name].kind
            found[f"{part.key}.{name}"] = [told.value, told.how]
            if kind in ("length", "lengths", "number", "count") and part.kind != "fastener":
                found[f"{part.key}.{name} as typed"] = " ".join(told.typed.split())
    for number, finding in enumerate(deck.findings):
        for name, text in finding.items():
            found[f"finding {number}.{name}"] = text
    for photo in deck.photos:
        digest = hashlib.sha256(photo["data"]).hexdigest()
        finding = photo.get("finding")
        title = "" if finding is None else deck.findings[finding].get("title", "")
        found[f"photo {digest[:16]}"] = [photo["link"], photo.get("part", ""), title, photo["caption"]]
    return found
