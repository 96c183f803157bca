"""Sentences of calc worded for those who watch: in either system of units, in one language."""

from typing import NamedTuple

from calc.sentences import ENGLISH, Language, Part, Sentence, say
from ingest.wire.messages import Wording


class Voice(NamedTuple):
    """In which language it is said, and from which barometric pressure gauges count [Pa]."""

    barometric_pressure_pa: float
    language: Language = ENGLISH

    def word(self, sentence: Sentence) -> Wording:
        """Word a sentence twice, and keep what it says as kind and figures."""
        us, si = (say(sentence, system, self.language, self.barometric_pressure_pa) for system in ("us", "si"))
        return Wording(us=us, si=si, kind=sentence.kind, parts=sentence.parts)

    def say(self, kind: str, *parts: Part) -> Wording:
        """Word a kind of sentence with its parts."""
        return self.word(Sentence(kind, parts))
