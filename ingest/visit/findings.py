"""How the checks of a visit stand: the newest finding of each, and what the facts ask for next. Advice, and no lock."""

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet

from msgspec.structs import replace

from calc.refrigerants import burns_worst, propagates_flame
from ingest.visit.checklist import guided
from ingest.visit.circumstances import CONTENT, Course, Place, facts
from ingest.visit.cover import CLOSE, COVER, LOOK_FIRST, NEVER_OFF, looked_behind, was_in_the_panel
from ingest.visit.locking import has_lock, locks_by
from ingest.visit.looked import LOOKED_FOR
from ingest.visit.making_dead import MAKING_DEAD, is_of_making_dead, makes_dead
from ingest.visit.making_dead import place_of_check as _place
from ingest.visit.pattern import as_finding
from ingest.wire.checklist import Check, Fact
from ingest.wire.messages import (
    Added,
    Chosen,
    Finding,
    FindingStands,
    HandedOver,
    LeftAlone,
    Mark,
    Photograph,
    PowerRead,
    Proposed,
    Recovered,
    encode,
)

FINDINGS_BYTES = 10 * 1024
"""How much of the message may be findings: words of the oldest go first, then they themselves; the record has all."""
_POWER = "power_back"
_WHICH_UNIT, _READ_BEFORE, _PROBES_OFF, _AS_IT_WAS = "which_unit", "readings_before", "probes_off", "as_it_was"
_PHOTOGRAPHED_FIRST = "wiring_photograph"
_ASKED_AGAIN = frozenset({"what_is_in_it", "isolate", "prove_dead", "discharge", CLOSE})
"""What is asked for until it is met: hands depend on it."""
_UNTIL_MET = frozenset({"readings_after", "probes_off"})
"""What stays open where it was found not met: the visit does not go past it."""
_IN_THE_PANEL, _ELECTRICAL, _CLOSING = ("B", "C"), "D", "F"
_NO_HANDS = (CLOSE, "cause")
"""Of those dead in the panel what is no work in it: that it is closed needs hands in it where its cover was off."""
_ISOLATE, _PROVE_DEAD, _DISCHARGE = "isolate", "prove_dead", "discharge"
_DEAD_FIRST = (_ISOLATE, _PROVE_DEAD, _DISCHARGE)
"""What stands met before a hand goes in; what cannot be discharged, as nothing is fitted, is skipped for that."""
_SEND_INTO_IT = frozenset({"complaint", LOOK_FIRST})
"""What sends somebody into the panel, beside what is found there and with the power on: the work, and that it trips."""
_RUNS_AT = ("D", "E1", "E2", "E6")
"""Places of checks at which there is power, most of them while it runs."""
REPLACEMENT = "replacement"
OF_A_CAPACITOR = frozenset({"capacitor_by_eye", "capacitor_measured", "capacitor_under_load"})
"""Checks of a capacitor that is in: of the one that came out they tell nothing of the one that went in."""
_LACKS = frozenset({"finding.missing", "finding.live_dead_live_missing"})
"""Sentences of a finding that name what was not taken."""
_NEVER = -1
"""As a turn, of what was not seen."""


class Findings:
    """How the checks of a visit stand: the newest finding of each, and what the facts ask for next.

    additions: how often refrigerant was added. What is known of the unit beside the marks `at` renews. locks: whose
    hang at the unit from visits before.
    """

    def __init__(self, locks: tuple[str, ...] = ()) -> None:
        self.place = Place()
        self._newest: dict[tuple[str, str], Finding] = {}
        self._looks: dict[tuple[str, str], Finding] = {}
        self._failed: dict[str, Finding] = {}  # the newest by which each check was not met, whatever it found since
        self._answered: dict[str, set[str]] = {}  # the photographs that ever answered each check
        self._begun: set[str] = set()
        self._fitted_s: dict[str, float] = {}  # since when, as far as recorded, a part is another one than before
        self._turn_of: dict[str, int] = {}  # what was found, photographed and proposed, by the ids of its marks
        self._seen_at: dict[str, int] = {}  # what was found, at the turn of its proposal where it had one
        self._opened = 0
        self.cover_was_off = ""
        """By which check, in words, the cover was off at this visit; empty as long as nothing says so."""
        self._cover_said_off = False
        self._turns = 0
        self._live = _NEVER
        self._read = _NEVER
        self._left = _NEVER
        self._handed = _NEVER
        self.locks = locks
        """Whose locks stand, as far as was said; empty: of somebody not known."""
        self.has_been_isolated = bool(locks)
        """Whether a lock stood at this visit, or it was isolated or proved dead, whatever came after."""
        self._moves: set[str] = set()
        self.additions = 0

    def at(self, place: Place) -> None:
        """Take what is known of the unit beforehand."""
        self.place = place

    def take(self, mark: Mark) -> None:
        """Take the next mark."""
        self.locks = locks_by(mark, self.locks)
        self.has_been_isolated |= bool(self.locks)
        match mark:
            case Finding():
                self._found(mark)
            case Chosen():
                self._found(as_finding(mark))
            case Proposed() | Photograph():
                self._turn_of[mark.id] = self._next_turn()
            case LeftAlone():
                self._left = self._next_turn()
            case PowerRead():
                self._read = self._next_turn()
            case HandedOver() if not has_lock(self.locks, mark.to):
                self._handed = self._next_turn()
            case Added() | Recovered() if mark.id not in self._moves:
                self._moves.add(mark.id)
                self.additions += isinstance(mark, Added)

    def _open_look(self, found: Finding) -> Finding:
        """Give what stands of all looks at a circuit: what was found and not put right, whatever came after it."""
        self._looks[found.circuit, found.choices.get("cause", "")] = found
        looks = [it for (circuit, _), it in self._looks.items() if circuit == found.circuit]
        return next((it for it in looks if it.outcome == "not_met"), found)

    def _found(self, found: Finding) -> None:
        if found.check == LOOKED_FOR:
            found = self._open_look(found)
        if found.proposal or found.builds_on in self._begun:
            self._begun.add(found.id)
        self._newest.pop((found.check, found.part or found.circuit), None)
        self._newest[found.check, found.part or found.circuit] = found
        if found.check == REPLACEMENT and not found.builds_on:
            self._fitted_s[found.part] = found.time_s
        if found.outcome == "not_met":
            self._failed[found.check] = found
        self._answered.setdefault(found.check, set()).update(found.by_photograph.values())
        self._turn_of[found.id] = self._next_turn()
        self.has_been_isolated |= found.check in (_ISOLATE, _PROVE_DEAD)
        seen = self._seen_at[found.id] = self._turn_of.get(found.proposal, self._turns)
        if _place(found.check).startswith(_RUNS_AT):  # seen before a lock and kept after it, it is no power after it
            self._live = max(self._live, seen)
        if found.outcome == "skipped":
            return
        if _is_of_an_open_panel(found.check) or looked_behind(found):
            self._opened = max(self._opened, seen)  # nor, seen before it was closed, a hand in it after that
        said_off = found.check == CLOSE and (_says_it_is_off(found) or found.choices.get(COVER) in ("off", "on"))
        self._cover_said_off |= said_off or (looked_behind(found) and not self.has_been_isolated)
        if said_off or was_in_the_panel(found):
            self.cover_was_off = guided()[found.check].check.title

    def _next_turn(self) -> int:
        self._turns += 1
        return self._turns

    @property
    def made_dead_by(self) -> str:
        """Name the newest mark by which something is made dead, or begins to be, and which still counts; else none."""
        counts = [it for it in self._newest.values() if makes_dead(it.check) and it.outcome in ("met", "cannot_tell")]
        turn, newest = max(((self._turn_of[it.id], it.id) for it in counts), default=(_NEVER, ""))
        return newest if turn > self._proved_until else ""

    def _turn(self, check: str) -> int:
        """Tell when a check was found last, of whichever part or circuit."""
        return max((self._turn_of[it.id] for (word, _), it in self._newest.items() if word == check), default=_NEVER)

    def is_past(self, mark_id: str) -> bool:
        """Tell whether what was found, photographed or proposed is of before there was power, or the visit was left.

        Of what makes dead it proves nothing any more.
        """
        return self._turn_of.get(mark_id, _NEVER) <= self._proved_until

    def proves_nothing(self, found: Finding) -> bool:
        """Tell whether a finding of what makes dead, or of power that is back, is of before it was otherwise again."""
        if found.check == _POWER:
            return self._turn_of[found.id] < max(self._turn(_ISOLATE), self._left)
        return makes_dead(found.check) and self.is_past(found.id)

    def past_of(self, waiting: Iterable[Proposed]) -> list[str]:
        """Name those of the proposals that wait which would prove something dead by what was so before that."""
        return [it.id for it in waiting if is_of_making_dead(it) and self.is_past(it.id)]

    def newest_of_each(self) -> list[Finding]:
        """Give the newest finding of each check and part or circuit, oldest first."""
        return list(self._newest.values())

    def answered_by(self, check: str) -> AbstractSet[str]:
        """Name the photographs that ever answered a check, of whichever part or circuit."""
        return self._answered.get(check, frozenset())

    def newest(self, check: str, of: str = "") -> Finding | None:
        """Give the newest finding of a check, of one part or circuit."""
        return self._newest.get((check, of))

    def is_of_old_part(self, found: Finding) -> bool:
        """Tell whether the capacitor that it was found of was exchanged since: it tells nothing of the new one."""
        if found.check not in OF_A_CAPACITOR:
            return False
        later = list(self._newest.values())
        later = later[later.index(found) + 1 :] if found in later else later
        parts = [it.part for it in later if it.check == REPLACEMENT and it.outcome != "skipped"]
        return any("" in (part, found.part) or part == found.part for part in parts)

    def lacks_measured(self, part: str, section: str, seen_s: float) -> Finding | None:
        """Give the exchange of a part that lacks this section of the new one, if it was recorded before this was seen.

        seen_s: since when it was seen [s since 1970].
        """
        fitted = self.newest(REPLACEMENT, part)
        if fitted is None or not _still_lacks(fitted) or f"measured.{section}" in fitted.values:
            return None
        return fitted if seen_s > self._fitted_s.get(part, seen_s) else None

    def was_proposed(self, found: Finding) -> bool:
        """Tell whether a finding was begun by what the instruments proposed, whoever went on with it."""
        return found.id in self._begun

    def outcomes(self) -> dict[str, str]:
        """Give the newest outcome of each check."""
        return {check: found.outcome for (check, _), found in self._newest.items()}

    def facts(self, place: Place | None = None) -> frozenset[Fact]:
        """Tell what is so of this visit."""
        not_met = {check for (check, _), found in self._newest.items() if found.outcome == "not_met"}
        course = Course(
            {check: found for (check, _), found in self._newest.items()},
            not_met,
            len(self._moves),
            self.additions,
            self._failed,
            self._cover_said_off,
        )
        place = self.place if place is None else place
        one_burns = propagates_flame(self.safety_class())
        so = facts(Place(place.is_flammable or one_burns, place.is_three_phase), course)
        return so | {"cover_was_off" if self.cover_was_off else "cover_as_found"}

    def safety_class(self) -> str:
        """Give the class that was found in a circuit, of several the one that burns worst: they share a panel.

        Empty where nobody looked.
        """
        return burns_worst(
            found.choices.get("safety_class", "") for (it, _), found in self._newest.items() if it == CONTENT
        )

    def next(self, circuit: str = "", *, is_live: bool = False) -> list[str]:
        """Name what the facts ask for next, in order: advice, and nothing waits for it.

        circuit: the one in view. is_live: it runs or has power, by what the rig reads.
        """
        so = self.facts()
        checks = [one.check for one in guided().values()]
        found = {it.word for it in checks if so.issuperset(it.asked_when) and self._is_open(it, circuit)}
        found -= {*self.left_in_the_panel()}
        to_come = any(self._is_for_hands(it.word) for it in checks if it.word in found)
        if to_come or (self._opened > max(self._live, 0) and (self._proved_until > _NEVER or self._is_handed_over())):
            found |= self._not_dead_any_more(checks)
        comes_alive = is_live and self._is_isolated()
        if comes_alive:  # nobody has recorded yet that power is back, and no hand goes in on what was dead before
            found |= {it.word for it in checks if it.place.startswith(MAKING_DEAD)}
        if comes_alive or self.dead_still_open():
            found -= {it.word for it in checks if it.word != CLOSE and self._is_for_hands(it.word)}
        asked = [it.word for it in checks if it.word in found]
        return self._panel_later(asked) if comes_alive or self._is_back_and_well() else asked

    def left_in_the_panel(self) -> list[str]:
        """Name what was open in the panel, or of making it dead, as its cover went on, and it has run well since.

        Nobody is led to a lock anew for it: it is named wherever what is open is, and led to again once anything points
        into the panel, or it was isolated again.
        """
        closed = self._turn(CLOSE)
        since = [it for it in self._newest.values() if self._seen_at[it.id] > closed and it.outcome != "skipped"]
        ran = any(_place(it.check).startswith(_RUNS_AT) for it in since)
        said_anew = any(it.check in _SEND_INTO_IT for it in since)
        if not (ran and self.is_closed and self.cover_was_off and self._is_back_and_well()) or said_anew:
            return []
        so = self.facts()
        dead = [one.check for one in guided().values() if makes_dead(one.check.word) or needs_hands(one.check.word)]
        return [it.word for it in dead if so.issuperset(it.asked_when) and self._is_open(it, "")]

    @property
    def is_lock_taken_off(self) -> bool:
        """Whether it was isolated at this visit, and each lock said to be off since, with the power, by its owner."""
        found = self.newest(_POWER)
        is_back = found is not None and found.outcome == "met" and not self.proves_nothing(found)
        was_said = found is not None and bool(found.choices.get("lock_removed_by"))
        return is_back and was_said and not self.locks and self._turn(_POWER) > self._turn(_ISOLATE) > _NEVER

    @property
    def is_all_well(self) -> bool:
        """Whether it was recorded to be as it was, and nothing that was found of it stands not met."""
        as_it_was = self.newest(_AS_IT_WAS)
        amiss = [it for it in self._newest.values() if it.outcome == "not_met" and not self.is_of_old_part(it)]
        return as_it_was is not None and as_it_was.outcome == "met" and not amiss

    @property
    def is_closed(self) -> bool:
        """Whether the electrical side was closed, and no hand was in it since."""
        found = self.newest(CLOSE)
        return found is not None and found.outcome == "met" and not self._is_open(guided()[CLOSE].check, "")

    @property
    def is_cover_off(self) -> bool:
        """Whether the cover is off, as far as that was recorded: found so, or a hand went in, and not closed since."""
        found = self.newest(CLOSE)
        if found is not None and _says_it_is_off(found):
            return True
        return bool(self.cover_was_off) and self._opened > self._turn(CLOSE)

    @property
    def _is_behind_the_panel(self) -> bool:
        """Whether the first look saw no safety bypassed from outside, and what behind the panel is open and dead."""
        look = self.newest(LOOK_FIRST)
        from_outside = look is not None and look.choices.get("bypassed") == "outside"
        is_dead = self.is_cover_off and not self.dead_still_open()
        return from_outside and is_dead and self._turn(_DISCHARGE) > self._turn(LOOK_FIRST)

    def _is_for_hands(self, word: str) -> bool:
        """Tell whether a check is made at the open panel, as it stands now."""
        at_the_open_panel = (word == CLOSE and self.is_cover_off) or (word == LOOK_FIRST and self._is_behind_the_panel)
        return needs_hands(word) or at_the_open_panel

    @property
    def circuits_counted(self) -> int:
        """How many circuits were counted at the unit; 0 where nobody counted."""
        found = self.newest(_WHICH_UNIT)
        return 0 if found is None else round(found.values.get("circuits", 0.0))

    def is_at_charge(self, circuit: str = "") -> bool:
        """Tell whether a circuit is worked at, and nobody has said yet that its probes are off."""
        return "circuit" in self.facts() and not self._of_circuit(_PROBES_OFF, circuit)

    def is_charge_left(self, circuit: str = "") -> bool:
        """Tell whether somebody decided, as the readings were taken, that the charge of a circuit is left alone."""
        return any(it.choices.get("then") == "leave" for it in self._of_circuit(_READ_BEFORE, circuit))

    def _of_circuit(self, check: str, circuit: str) -> list[Finding]:
        return [it for (word, of), it in self._newest.items() if word == check and (not circuit or of in (circuit, ""))]

    def _is_isolated(self) -> bool:
        """Tell whether the power was found off and locked, and nothing was recorded since that needs it."""
        return self._turn(_ISOLATE) > max(self._live, self._left) and self._is_made(_ISOLATE)

    def _is_back_and_well(self) -> bool:
        """Tell whether power is back after a panel was open, and nothing that was seen since points into it again."""
        since = [it for it in self._newest.values() if self._seen_at[it.id] > self._opened]
        points_back = any(it.outcome == "not_met" and _place(it.check).startswith(_ELECTRICAL) for it in since)
        return self._live >= self._opened > 0 and not points_back

    def dead_still_open(self) -> list[str]:
        """Name what of locking, live-dead-live and discharging does not stand met since it was last no proof any more.

        Nor is it locked where somebody took over who has no lock of their own on.
        """
        unlocked = {_ISOLATE} if self._is_handed_over() else set()
        return [word for word in _DEAD_FIRST if word in unlocked or not self._is_made(word, self._proved_until)]

    def _is_handed_over(self) -> bool:
        """Tell whether somebody took over, what is isolated, and has not put on a lock of their own."""
        return self._proved_until < self._turn(_ISOLATE) < self._handed

    def without_photograph(self) -> str:
        """Name the check whose photograph a panel is closed against, where it is asked for and nobody took one."""
        check = guided()[_PHOTOGRAPHED_FIRST].check
        found = self.newest(_PHOTOGRAPHED_FIRST)
        is_there = found is not None and found.outcome == "met" and bool(found.photographs)
        return "" if is_there or not self.facts().issuperset(check.asked_when) else check.title

    def making_dead_open(self) -> list[str]:
        """Name what makes dead and was not done since there was power, whatever the visit asks for."""
        checks = [one.check for one in guided().values()]
        open_ones = self._not_dead_any_more(checks)
        return [it.word for it in checks if it.word in open_ones]

    def before_hands(
        self, check: str, *, is_live: bool = False, goes_on: bool = False, behind: bool = False
    ) -> list[str]:
        """Name what of that is open before a check that needs hands in the panel; nothing before any other.

        is_live: it has power, by what the rig reads, whatever was recorded; hands discharge in a dead panel too.
        goes_on: the cover is said to be on; unless it was closed and nobody was in it since, a hand was at it.
        behind: somebody is said to have looked behind the panel.
        """
        closed = self.newest(CLOSE)
        stayed_on = closed is not None and closed.outcome == "met" and not self.is_cover_off
        by_hand = behind or needs_hands(check) or (check == CLOSE and goes_on and not stayed_on)
        if is_live and (by_hand or check == _DISCHARGE):
            return [word for word in guided() if makes_dead(word)]
        return self.dead_still_open() if by_hand else []

    def _is_made(self, word: str, until: int = _NEVER) -> bool:
        """Tell whether a check stands met of every part that it is asked of, by what was found after a turn."""
        since = [it for it in self._of(word) if self._turn_of[it.id] > until]
        made = all(it.outcome == "met" or (it.reason == "not_fitted" and word == _DISCHARGE) for it in since)
        return bool(since) and made and not self._parts_open(word, until)

    def _of(self, word: str) -> list[Finding]:
        return [it for (check, _), it in self._newest.items() if check == word]

    def _parts_open(self, word: str, until: int) -> set[str]:
        """Name the parts of which a check was not found after a turn, of several that it is asked of.

        Those of the sheet, or without one those of which it was found before. None is open where it is skipped for all.
        """
        if word != _DISCHARGE:
            return set()
        since = [it for it in self._of(word) if self._turn_of[it.id] > until]
        parts = self.place.capacitors or tuple(it.part for it in self._of(word) if it.part)
        if len(parts) < 2 or any(it.outcome == "skipped" and not it.part for it in since):
            return set()
        return {*parts}.difference(it.part for it in since)

    def _panel_later(self, asked: Sequence[str]) -> list[str]:
        """Put what is made dead, and with hands in the panel, after all that needs the power which is there now."""
        later = [word for word in asked if makes_dead(word) or self._is_for_hands(word)]
        closing = [word for word in asked if _place(word).startswith(_CLOSING)]
        return [*(word for word in asked if word not in (*later, *closing)), *later, *closing]

    def left_open(self, circuit: str = "") -> list[str]:
        """Name what was not made, not met or not told, in order; and what makes dead, where it was skipped."""
        asked, open_ones = {*self.next(circuit), *self.left_in_the_panel()}, {"not_met", "cannot_tell"}
        found = {word for (word, _), it in self._newest.items() if it.outcome in open_ones}
        skipped = {word for (word, _), it in self._newest.items() if it.outcome == "skipped" and makes_dead(word)}
        return [word for word in guided() if word in asked | found | skipped]

    def _not_dead_any_more(self, checks: Sequence[Check]) -> set[str]:
        """Name what makes dead and was not done since that was no proof any more: before every hand in the panel."""
        until = self._proved_until
        past = {
            it.word
            for it in checks
            if makes_dead(it.word) and (self._turn(it.word) <= until or self._parts_open(it.word, until))
        }
        return past | ({_ISOLATE} if self._is_handed_over() else set())

    @property
    def _proved_until(self) -> int:
        """Up to when nothing that was found dead counts, as a turn.

        There was power, recorded or read by the rig itself, or nobody was there since.
        """
        return max(self._live, self._read, self._left)

    def _is_open(self, check: Check, circuit: str) -> bool:
        """Tell whether a check is still to be made: of any part, of the circuit in view, or of the unit."""
        found = [
            it
            for (word, of), it in self._newest.items()
            if word == check.word and (check.of != "circuit" or not circuit or of in (circuit, ""))
        ]
        if not found:
            return True
        turn = self._turn(check.word)
        if check.word == LOOK_FIRST and self._is_behind_the_panel:
            return True
        if check.word == CLOSE and any(it > turn for it in self._panel_turns()):
            return True
        if check.word == _POWER and self._opened > turn:
            return True
        again = check.word in _ASKED_AGAIN and any(it.outcome in ("not_met", "cannot_tell") for it in found)
        again = again or (check.word in _UNTIL_MET and any(it.outcome == "not_met" for it in found))
        return again or any(_still_lacks(it) and not self.is_of_old_part(it) for it in found)

    def _panel_turns(self) -> list[int]:
        """Tell when hands were in the panel: closing it comes after the last of them."""
        return [
            self._seen_at[it.id]
            for (word, _), it in self._newest.items()
            if looked_behind(it) or (word not in _NO_HANDS and _place(word).startswith(_IN_THE_PANEL))
        ]

    def message(self, share: float = 1.0) -> list[FindingStands]:
        """Say how they stand, oldest first, within a share of the room that a message has for them."""
        room, kept = share * FINDINGS_BYTES, []
        for found in reversed(self._newest.values()):
            says = None if found.says is None else replace(found.says, parts=())
            stands = FindingStands(
                found.check, found.outcome, found.grade, found.time_s, found.id, found.part, found.circuit, says,
                past=self.proves_nothing(found),
            )  # fmt: skip
            if len(encode(stands)) > room:
                stands = replace(stands, says=None)
            room -= len(encode(stands)) + 1
            if room < 0:
                break
            kept.append(stands)
        return kept[::-1]


def _says_it_is_off(closed: Finding) -> bool:
    """Tell whether a finding of closing leaves the cover off: what is not as it was is put right at the open panel."""
    return closed.outcome == "not_met" and closed.choices.get(COVER) != NEVER_OFF


def _still_lacks(found: Finding) -> bool:
    """Tell whether a check could not tell because something was not taken: it is asked for until that is there."""
    return found.outcome == "cannot_tell" and found.says is not None and found.says.kind in _LACKS


def needs_hands(word: str) -> bool:
    """Tell whether a check is made by hands in the panel, without power."""
    return _place(word).startswith("C") and word not in _NO_HANDS


def _is_of_an_open_panel(word: str) -> bool:
    """Tell whether a check is made without power, at the open panel or on the way there."""
    return _place(word).startswith(_IN_THE_PANEL) and word not in _NO_HANDS
