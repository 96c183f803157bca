"""A technician who has only the Visit page and a finger: touches what it shows, and counts what that costs."""

import asyncio
import io
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.async_api import Locator, Page, expect

from ingest.visit.checklist import guided
from tests.stock_client import Client

TABLET = {"width": 820, "height": 1180}
LIVE = "the live figure"
"""In place of an answer: what the link shows is taken by a touch."""
PATIENCE_S = 20.0
DRAWN_WITHIN_S = 6.0
"""So soon the page shows what is next, on a machine however busy."""

_READ = """cards => cards.map(card => [card.dataset.card, card.querySelector(".card-head").textContent,
    [...card.querySelectorAll(".card-says")].map(it => it.textContent),
    [...card.querySelectorAll(".card-keys .key")].at(-1).textContent])"""
"""A card, its head, its sentences and its last key, read at once: it may give way to another at any moment."""
OTHERS_WAIT = "(1 of "
"""In the head of a card that others wait behind."""

Answers = Mapping[str, Mapping[str, str]]
"""By check, and by field: the option that is touched, the words or the figure that are typed, or `LIVE`."""


HELD_AT = frozenset({"at_place_of_work", "sections", "joint"})
"""Choices that say where an instrument was held, as the name of a pair, a section or a joint does: they go with its
reading."""


@dataclass
class Touch:
    """One touch. at: the check or form. says: what stood on the key.

    takes: the figure that it took of a linked instrument into a form; whether it is recorded so is seen later.
    is_reading: it did nothing but take a reading of an instrument into the record.
    """

    at: str
    says: str
    takes: str = ""
    is_reading: bool = False


@dataclass
class Cost:
    """What a visit asked of the person. typed_fields: by check, what was written by hand.

    mistaken: touches of a mistake that is made to be warned of it, which no visit needs.
    """

    touches: list[Touch] = field(default_factory=list)
    mistaken: int = 0
    typed: int = 0
    typed_fields: dict[str, set[str]] = field(default_factory=dict)
    photographs: int = 0
    told: list[str] = field(default_factory=list)

    @property
    def besides(self) -> list[Touch]:
        """Give the touches by which the person answered, chose, confirmed or opened something."""
        return [touch for touch in self.touches if not touch.is_reading]

    @property
    def reading(self) -> int:
        """Count the others."""
        return len(self.touches) - len(self.besides)


def only_takes_readings(made: Sequence[Mapping[str, Any]], marks: Sequence[Mapping[str, Any]]) -> bool:
    """Tell whether a touch did nothing but keep what instruments measured, by the marks that were made of it.

    Each is the finding of a proposal, measured, and has no choice that the instruments had not seen, but for where they
    were held. So an amount whose phase a person says is none, nor is a condition that they confirm.
    """
    proposed = {mark["id"]: mark["what"] for mark in marks if mark["kind"] == "proposed"}
    found = {mark["id"]: mark for mark in marks if mark["kind"] == "finding"}

    def was_read(mark: Mapping[str, Any]) -> bool:
        if mark["kind"] != "finding" or mark["grade"] != "measured" or mark.get("proposal") not in proposed:
            return False
        seen, earlier = proposed[mark["proposal"]], found.get(mark.get("builds_on", ""), {})
        return mark.get("choices", {}).keys() <= {*seen.get("choices", {}), *earlier.get("choices", {}), *HELD_AT}

    return any(mark.get("values") for mark in made) and all(map(was_read, made))


@dataclass
class Technician:
    """One visit on a page. sees: a place for a picture of each card. sam: the same rig, by its messages.

    errs: while a mistake is made.
    """

    page: Page
    sam: Client
    answers: Answers
    sees: Path
    cost: Cost = field(default_factory=Cost)
    at: str = ""
    errs: bool = False
    _tried: set[str] = field(default_factory=set)

    async def touch(self, what: Locator, takes: str = "") -> Touch:
        """Touch it where it lies on the screen; another thing on top of it is a fault, and raises.

        takes: the figure that is taken by it as a linked instrument shows it.
        """
        says = " ".join((await what.text_content() or "").split())
        await what.tap()
        made = Touch(self.at, says, takes)
        if self.errs:
            self.cost.mistaken += 1
        else:
            self.cost.touches.append(made)
        return made

    async def write(self, into: Locator, words: str, name: str, check: str = "") -> None:
        """Touch a field and type. check: of which it is one, if it is of one."""
        await self.touch(into)
        await into.fill(words)
        self.cost.typed += len(words)
        self.cost.typed_fields.setdefault(check or self.at, set()).add(name)

    async def keep(self, *, last: bool = False) -> bool:
        """Keep the proposal that stands at the bottom edge, if one does with something to choose, or say not so.

        What has nothing to choose, or one of two places that the answers do not name, may join another in a moment: it
        is left for that, unless others wait behind it.
        """
        stands = await self.page.locator("[data-live=proposals] > [data-card]").evaluate_all(_READ)
        if not stands:
            return False
        self.at = "proposals"
        name, head, lines, named = stands[0]
        known = self.answers.get("proposals", {})
        is_known = all(any(words in says for words in known) for says in lines)
        if not last and OTHERS_WAIT not in head and (named == "Keep" or (named.startswith("Keep: ") and not is_known)):
            return False
        card = self.page.locator(f'[data-live=proposals] > [data-card="{name}"]')
        says = " ".join(lines)
        keys = card.locator(".card-keys .key")
        each = keys.filter(has_text="Keep each")
        main = card.locator(".card-keys .button-main")
        joint = keys.filter(has_text=self.answers.get("joints", {}).get("joint", "no joint"))
        key = each if await each.count() else main if await main.count() else await self._chosen(keys, lines)
        if await joint.count():  # which it was no meter tells
            key = joint
        await self.look(f"proposal-{len(self.cost.told)}")
        if not await self._stays(key, card):
            return True  # another came, and both stand in the list
        if not await each.count():  # the leads were held on each pair that is named, one after the other
            for pair in await card.locator('[data-field="per"] .choice-key').all():
                await self.touch(pair)
        refused = await self._recorded(key, card)
        self.cost.told.append(f"proposal: {says} -> {refused or 'kept'}")
        if refused and await self.page.locator(f'[data-card="{name}"]').count():
            await self.touch(keys.first)
            await asyncio.sleep(1.0)
        return True

    async def _chosen(self, keys: Locator, lines: list[str]) -> Locator:
        """Give the key that names what the answers to `proposals` have for such words; both, of two readings."""
        told = self.answers.get("proposals", {})
        where = [next((it for words, it in told.items() if words in says), "") for says in lines]
        if not all(where):
            return keys.last
        names = where if len(where) == 1 else [f"{number}: {it}." for number, it in enumerate(where, 1)]
        for name in names:
            keys = keys.filter(has_text=name)
        return keys

    async def keep_all(self) -> bool:
        """Keep the list of what the instruments showed, by its one key, if there is one."""
        card = self.page.locator("[data-card=gathered]")
        if not await card.count():
            return False
        self.at = "proposals"
        lines = await card.locator(".line-says").all_text_contents()
        self.cost.told += [f"proposal in the list: {says}" for says in lines]
        await self.look("gathered")
        refused = await self._recorded(card.locator("> .card-keys .button-main"), card, marks=len(lines))
        if refused:
            self.cost.told.append(f"the list: {refused}")
        return not refused

    async def make_next(self, only: Container[str] = ()) -> bool:
        """Answer what stands open: a check alone, a line of a list, or a list of which nothing is open; else False.

        only: checks to which to keep, where any are named.
        """
        for live in ("check", "round", "round-after", "round-last"):
            alone = self.page.locator(f"[data-live={live}] > [data-card]:not(:has(.round-line[data-card]))")
            if await alone.count():
                name = await alone.get_attribute("data-card") or ""
                word = name.split(" ", maxsplit=1)[0]
                if word in self.answers and name not in self._tried and (not only or word in only):
                    self._tried.add(name)
                    self.at = word
                    await self._unfold(live)
                    await self._answer(alone, word)
                    return True
            lines = self.page.locator(f"[data-live={live}] .round-line[data-card]")
            names: list[str] = await lines.evaluate_all("lines => lines.map((line) => line.dataset.card)")  # at once
            for name in names:
                word = name.split(" ", maxsplit=1)[0]
                if word in self.answers and name not in self._tried and (not only or word in only):
                    self._tried.add(name)
                    self.at = word
                    await self._unfold(live)
                    await self._answer_in_list(
                        self.page.locator(f'[data-live={live}] .round-line[data-card="{name}"]'), word
                    )
                    return True
            if await self._record_list(live, names, only):
                return True
        return False

    async def _answer_in_list(self, line: Locator, check: str) -> None:
        """Answer a line, which records it where it is answered whole by that; else it stays for the key of the list."""
        if await self._take_photographs(line, check):
            return
        await self._answer_line(check, line)
        if await line.locator(".answer-key").count():
            key = await self._last_answer(line, check)
            if key is not None:
                await self._told_of(check, await self._recorded(key, line))

    async def _record_list(self, live: str, names: Sequence[str], only: Container[str]) -> bool:
        """Record what stands in a list as written, by its one key, where there is such and all of it was read."""
        keys = self.page.locator(f"[data-live={live}] > [data-card]:has(.round-line[data-card]) > .card-keys")
        key = keys.locator(".button-main, [data-key='record others']")
        words = {name.split(" ", maxsplit=1)[0] for name in names}
        if not names or not words <= (self.answers.keys() & set(only or self.answers)) or not await key.count():
            return False
        before = len(self._made())
        card = self.page.locator(f"[data-live={live}] > [data-card]")
        await self.look(f"list-{live}")
        await asyncio.sleep(1.0)  # what was recorded just now goes from the list
        lines = card.locator(".round-line[data-card]")
        left: list[str] = await lines.evaluate_all("lines => lines.map((line) => line.dataset.card)")
        if left != [*names] or not await key.count():
            return True
        self.at = await card.get_attribute("data-card") or ""
        await self._unfold(live)
        await self._told_of(self.at, await self._recorded(key, card))
        return len(self._made()) > before

    async def _told_of(self, what: str, refused: str) -> None:
        if refused:
            self.cost.told.append(f"{what}: {refused}")

    async def _unfold(self, live: str) -> None:
        """Open a list of a later group than is in hand, which is folded under its name."""
        folded = self.page.locator(f"[data-live={live}-panel].later:not([open])")
        if await folded.count():
            await self.touch(folded.locator(".later-name"))

    async def make_all(self, only: Container[str] = ()) -> None:
        """Answer what stands open, one after the other, until the page asks for nothing more."""
        waited_s = 0.0
        while waited_s < DRAWN_WITHIN_S:
            if await self.make_next(only):
                waited_s = 0.0
                continue
            await asyncio.sleep(0.2)
            waited_s += 0.2

    async def answer_next(self, checks: Sequence[str], patience_s: float = PATIENCE_S) -> bool:
        """Answer these as soon as they are next, whether or not they were answered before; False where none comes."""
        self._tried = {name for name in self._tried if not any(check in name for check in checks)}
        for _ in range(int(patience_s / 0.2)):
            if await self.make_next(checks):
                return True
            await asyncio.sleep(0.2)
        return False

    async def _answer(self, card: Locator, check: str) -> None:
        """Take the photographs, change what is otherwise than written, and record it by one key."""
        if await self._take_photographs(card, check):
            return
        await self._answer_line(check, card)
        key: Locator | None = card.locator(".card-keys .button-main")
        if await card.locator(".answer-key").count():
            key = await self._last_answer(card, check)
        elif not await card.locator(".card-keys .button-main").count():
            self.cost.told.append(f"{self.at}: {await card.locator('.round-told').last.text_content()}")
            return
        await self.look(self.at.replace(" ", "-"))
        if key is not None:
            await self._told_of(self.at, await self._recorded(key, card))

    async def _take_photographs(self, line: Locator, check: str) -> bool:
        """Take those that say what is answered, or one where none of them answers; tell whether that recorded it."""
        made = len(self._made())
        records = await line.get_by_text("The last of these photographs records it.").count() > 0
        answers = self.answers.get(check, {})
        asked, shown = set[str](), set[str]()
        for shot in guided()[check].check.shots:
            place = line.locator(f'input[data-key$=" shot {shot.word}"]')
            if not await place.count():
                continue
            asked |= shot.answers.keys()
            if all(answers.get(name, option) == option for name, option in shot.answers.items()):
                await self._photograph(place)
                shown |= shot.answers.keys()
        records = records and asked <= shown
        place = line.locator('input[data-key$=" photographs"]')
        if not guided()[check].check.shots and await place.count():
            await self._photograph(place)
        for _ in range(int((PATIENCE_S if records else 0.5) / 0.1)):
            await asyncio.sleep(0.1)
            found = [mark for mark in self._made()[made:] if mark["kind"] == "finding" and mark["check"] == check]
            if found:
                await asyncio.sleep(0.5)  # what comes next is drawn
                self._tell_taken(found)
                return True
        return False

    async def _answer_line(self, check: str, line: Locator) -> None:
        """Change what is otherwise than written; what one look finds is answered by one touch."""
        seen = await self._seen_at_a_glance(check, line)
        for name, answer in self.answers.get(check, {}).items():
            if name in seen:
                continue
            place = line.locator(f'[data-field="{name}"], [data-field="chosen {name}"]')
            if await place.count():
                await self._fill(line, place, answer, name, check)
            else:
                self.cost.told.append(f"{check}: no field {name} on the page")
        if seen and await (glance := line.locator(".glance-key")).is_visible():
            await self.touch(glance)

    async def _seen_at_a_glance(self, check: str, line: Locator) -> set[str]:
        """Name the fields that one key answers as this technician would, all that it says."""
        key = line.locator(".glance-key")
        if not await key.count() or await key.get_attribute("hidden") is not None:
            return set()
        seen = {}
        for name, answer in self.answers.get(check, {}).items():
            option = line.locator(f'[data-field="chosen {name}"] button[data-key$=" {answer}"]')
            if await option.count():
                seen[(await option.text_content() or "").strip()] = name
        says = [each.partition(": ")[2] for each in (await key.text_content() or "").split(" · ")]
        return {seen[each] for each in says} if seen.keys() >= set(says) else set()

    async def _last_answer(self, line: Locator, check: str) -> Locator | None:
        """Find the key that answers the one thing which is left open; None where nobody knows what to answer."""
        if await line.locator(".glance-key.answered-below").count() and await line.locator(".answer-key").count() == 1:
            return line.locator(".answer-key")
        place = line.locator(".card-field.answered-below")
        name = (await place.get_attribute("data-field") or "").removeprefix("chosen ")
        answer = self.answers.get(check, {}).get(name)
        return None if answer is None else line.locator(f'[data-key="answers chosen {name} {answer}"]')

    async def _photograph(self, place: Locator) -> None:
        taken = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": _photograph()}
        before = sum(mark["kind"] == "photograph" for mark in self.sam.marks)
        await place.set_input_files(taken, timeout=5_000)  # type: ignore[arg-type]
        self.cost.photographs += 1
        await self.sam.until(
            "the photograph", lambda: sum(it["kind"] == "photograph" for it in self.sam.marks) > before
        )
        await asyncio.sleep(0.3)  # the card is drawn anew

    async def sign(self) -> str:
        """Sign the visit by its card, in the name that stands there; give what spoke against it."""
        self.at = "sign"
        card = self.page.locator("[data-live=closing] [data-card=sign]")
        return await self._recorded(card.get_by_role("button", name="Sign and close"), card)

    async def look(self, name: str) -> None:
        """Keep a picture of the screen."""
        await self.page.screenshot(path=self.sees / f"{len(list(self.sees.iterdir())):03d}-{name}.png")

    async def _fill(self, line: Locator, place: Locator, answer: str, name: str, check: str) -> None:
        """Answer a field otherwise than it stands; what is left open alone is answered by the keys below."""
        if await place.locator("xpath=self::*[contains(@class, 'answered-below')]").count():
            return
        option = place.locator(f'button[data-key$=" {answer}"]')
        if await option.count() and await option.get_attribute("aria-pressed") == "true":
            return
        written = place.locator("input, textarea")
        if await written.count() and await written.first.input_value() == answer:
            return
        if not await place.is_visible():
            await self.touch(line.locator(".otherwise > summary"))
        if await option.count():
            await self.touch(option)
        elif answer == LIVE:
            takes = place.locator(".take-key:enabled")
            if await takes.count():
                await self.touch(takes.first, takes=name)
            else:
                self.cost.told.append(f"{self.at}: {name}: no live figure can be taken")
        else:
            await self.write(written.first, answer, name, check)

    async def _recorded(self, key: Locator, card: Locator, marks: int = 1) -> str:
        """Touch a key and wait for what comes of it: marks, a question, which is said yes to, or a refusal."""
        before = len(self._made())
        await expect(key).to_be_enabled()
        touched = await self.touch(key)
        for _ in range(int(PATIENCE_S / 0.1)):
            await asyncio.sleep(0.1)
            if len(self._made()) >= before + marks:
                await asyncio.sleep(0.5)  # what comes next is drawn
                self._tell_readings(touched, self._made()[before:])
                return ""
            await self._say_yes(self.at)
            results = await card.locator(".card-result").all_text_contents() if await card.count() else []
            if said := " ".join(filter(None, results)):
                return said
        return "nothing came of it"

    def _tell_readings(self, touched: Touch, made: Sequence[Mapping[str, Any]]) -> None:
        """Tell which touches were of reading, by what was recorded: this one, and those that took a figure before."""
        touched.is_reading = only_takes_readings(made, self.sam.marks)
        self._tell_taken(made)

    def _tell_taken(self, made: Sequence[Mapping[str, Any]]) -> None:
        """Tell of touches that took a figure into a form that it was recorded as measured."""
        for mark in made:
            grades = {name: mark.get("grades", {}).get(name, mark["grade"]) for name in mark.get("values", {})}
            for touch in self.cost.touches:
                if touch.takes and touch.at == mark.get("check"):
                    touch.is_reading = touch.is_reading or grades.get(touch.takes) == "measured"

    async def _say_yes(self, at: str) -> None:
        """Say yes to what the rig asks, where it asks."""
        if not await self.page.locator("#asking").is_visible():
            return
        question = await self.page.locator("#asking-question").text_content() or ""
        self.cost.told.append(f"asked at {at}: {question}")
        await self.look(f"asked-{at}")
        await self.touch(self.page.locator("#asking-yes"))

    async def _stays(self, key: Locator, card: Locator) -> bool:
        """Wait until a key can be touched; False where its card went meanwhile, such as into the list."""
        for _ in range(int(PATIENCE_S / 0.1)):
            if not await card.count():
                return False
            if await key.evaluate_all("keys => keys.some(key => !key.disabled)"):
                return True
            await asyncio.sleep(0.1)
        raise AssertionError(f"no key of {await card.text_content()} can be touched")

    def _made(self) -> list[dict[str, Any]]:
        """Give the marks that a person made."""
        return [mark for mark in self.sam.marks if mark["kind"] not in ("proposed", "warned", "link_changed")]


def _photograph() -> bytes:
    """A picture as a camera takes it: no two are alike to the last bit."""
    taken = io.BytesIO()
    Image.effect_noise((320, 240), 60).save(taken, "JPEG")
    return taken.getvalue()
