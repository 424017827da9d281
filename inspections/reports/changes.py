"""What differs between two frozen records of one visit, in words: computed, so that no correction goes unsaid."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from inspections.reports.checks import WORDS
from inspections.reports.record_words import fact_words, reading
from inspections.reports.subjects import in_few_words

VERDICT = "Verdict"
Change = dict[str, str]  # what, where, before, after: words; before or after is empty where there was nothing

_FINDING_TEXTS = {
    "title": "Finding, in one line", "place": "Finding, place", "seen": "Finding, what was seen",
    "meaning": "Finding, what it means", "remedy": "Finding, what to do", "action_words": "Finding, action",
    "how_soon_words": "Finding, how soon", "who_words": "Finding, by whom", "link": "Finding, link",
}  # fmt: skip
_BASIS = {
    "edition": "Code edition", "live_psf": "Deck live load, psf", "ground_snow_psf": "Ground snow, psf",
    "frost_depth_in": "Frost depth, in", "soil_psf": "Soil bearing, psf", "rules_source": "Source of the rules",
    "amendments": "Local amendments",
}  # fmt: skip


def changes_between(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[Change]:
    """Every difference that a reader could meet: verdicts first, then findings, measures, photos, texts, rules."""
    return [
        *_verdicts(before, after),
        *_findings(before, after),
        *_measures(before, after),
        *_photos(before, after),
        *_texts(before, after),
    ]


def in_few_rows(changes: Sequence[Change]) -> list[Change]:
    """The changes as print lists them: what was corrected, then the verdicts; pieces with the same verdict in one row.

    Of the verdicts, those come first whose word is another; those of which only the number is another come last.
    """
    corrected = [change for change in changes if change["what"] != VERDICT]
    alike: dict[tuple[str, str, str], list[str]] = {}
    for change in changes:
        if change["what"] == VERDICT:
            title, _, subject = change["where"].rpartition(": ")
            alike.setdefault((title, change["before"], change["after"]), []).append(subject)
    verdicts = [
        _change(VERDICT, f"{title}: {in_few_words(subjects)}", before, after)
        for (title, before, after), subjects in alike.items()
    ]
    return corrected + sorted(verdicts, key=lambda row: _word(row["before"]) == _word(row["after"]))


def _word(verdict: str) -> str:
    return verdict.partition(",")[0]


def _change(what: str, where: str = "", before: Any = "", after: Any = "") -> Change:
    return {"what": what, "where": where, "before": _said(before), "after": _said(after)}


def _said(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:g}"
    return value if isinstance(value, str) else str(value)


def _verdicts(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[Change]:
    was, now = _by_question(before), _by_question(after)
    for key in dict.fromkeys([*was, *now]):
        old, new = was.get(key), now.get(key)
        if _verdict(old) != _verdict(new):
            title, subject = (new or old)["title"], key[1]
            yield _change(VERDICT, f"{title}: {subject}", _verdict(old), _verdict(new))


def _by_question(snapshot: Mapping[str, Any]) -> dict[tuple[str, str], dict[str, Any]]:
    return {(check["id"], check["subject"]): check for check in snapshot["assessment"]["checks"]}


def _verdict(check: Mapping[str, Any] | None) -> str:
    if check is None:
        return ""
    ratio = check["ratio"]
    words = "Two answers" if check.get("disputed") else WORDS[check["verdict"]]
    return words if ratio is None or check["verdict"] == "cannot tell" else f"{words}, {ratio * 100:.0f} %"


def _findings(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[Change]:
    was, now = ({each["id"]: each for each in snapshot["findings"]} for snapshot in (before, after))
    for key, old in was.items():
        if key not in now:
            yield _change("Finding taken back", old["title"], old["action_words"])
    for key, new in now.items():
        if key not in was:
            yield _change("Finding added", new["title"], "", new["action_words"])
            continue
        for name, what in _FINDING_TEXTS.items():
            if was[key][name] != new[name]:
                yield _change(what, new["title"], was[key][name], new[name])


def _measures(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[Change]:
    was, now = ({part["id"]: part for part in snapshot["parts"]} for snapshot in (before, after))
    for key, old in was.items():
        if key not in now:
            yield _change("Part taken out", _part(old))
    for key, new in now.items():
        if key not in was:
            yield _change("Part added", _part(new))
        elif (was[key]["name"], was[key]["key"]) != (new["name"], new["key"]):
            yield _change("Name of a part", _part(new), _part(was[key]), _part(new))
        yield from _readings(was.get(key), new)


def _readings(old: Mapping[str, Any] | None, new: Mapping[str, Any]) -> Iterator[Change]:
    was, now = ({each["fact"]: each for each in (part["readings"] if part else ())} for part in (old, new))
    if old is None:
        return  # a part that is new says enough by itself; its measures stand in the record
    for fact in dict.fromkeys([*was, *now]):
        before, after = _measured(was.get(fact)), _measured(now.get(fact))
        if before != after:
            yield _change("Measure", f"{_part(new)}, {fact_words(fact)}", before, after)


def _measured(row: Mapping[str, Any] | None) -> str:
    return f"{reading(row)} ({row['how_words'].lower()})" if row else ""


def _part(part: Mapping[str, Any]) -> str:
    return f"{part['kind_words']} {part['name'] or part['key']}"


def _photos(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[Change]:
    was, now = ({each["id"]: each for each in snapshot["photos"]} for snapshot in (before, after))
    for key, old in was.items():
        if key not in now:
            yield _change("Photo taken out", _photo(old))
    for key, new in now.items():
        if key not in was:
            yield _change("Photo added", _photo(new))
            continue
        old = was[key]
        if old["caption"] != new["caption"]:
            yield _change("Words under a photo", _photo(new), old["caption"], new["caption"])
        if (old.get("marks") or {}) != (new.get("marks") or {}):
            yield _change("Marks on a photo", _photo(new))
        if (old["finding"], old["link"]) != (new["finding"], new["link"]):
            yield _change("What a photo belongs to", _photo(new), old["link"], new["link"])


def _photo(photo: Mapping[str, Any]) -> str:
    return photo["caption"] or (f"photo of the {photo['link']}" if photo["link"] else "photo of the deck")


def _texts(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[Change]:
    if before["visit"]["summary"] != after["visit"]["summary"]:
        yield _change("Words for the client", "", before["visit"]["summary"], after["visit"]["summary"])
    for name, what in _BASIS.items():
        if before["basis"].get(name) != after["basis"].get(name):
            yield _change(what, "", before["basis"].get(name), after["basis"].get(name))
    for section, what in (
        ("property", "The house"), ("client", "The client's details"), ("inspector", "The inspector's details"),
        ("firm", "The firm's details"), ("cautions", "Cautions"), ("tables", "Published tables used"),
    ):  # fmt: skip
        if before[section] != after[section]:
            yield _change(what)
