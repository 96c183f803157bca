"""What is told of a figure that has not settled, steady or not: at the edge of both, a judgement flickers.

It is harder to leave what was told than to keep it: the other has to hold for a minute without a break. What is known
at once, such as that the charge was just changed, is told at once, and so is that it has settled: common practice, no
source.
"""

from dataclasses import dataclass, replace

from calc.settling import NotSteady, Settled, Settling, Why

LEFT_AFTER_S = 60.0
_TOLD_AT_ONCE = frozenset({Why.JUST_BEGUN, Why.JUST_CHANGED, Why.STARTING})


@dataclass(frozen=True, slots=True)
class ToldCourse:
    """A course as it was told.

    Attributes:
        settling: it was told to settle so; None where it was told why it is not steady.
        unsteady: why it is not steady; None where it was told to settle.
        agreed_s: when the readings last spoke for it [s, by one clock].

    """

    settling: Settling | None
    unsteady: NotSteady | None
    agreed_s: float

    def course(self, now_s: float) -> Settling | NotSteady | None:
        """Tell it again, the wait run down."""
        if self.settling is None:
            return self.unsteady
        left_s = max(0.0, self.settling.seconds_to_settle - (now_s - self.agreed_s))
        return replace(self.settling, seconds_to_settle=left_s)


def keep_course(
    course: Settled | Settling | NotSteady, said: ToldCourse | None, now_s: float
) -> tuple[Settled | Settling | NotSteady, ToldCourse | None]:
    """Tell a course, held to what was said of it before; with what the next one is held to.

    >>> from calc.estimate import Estimate
    >>> unsteady = NotSteady(Why.DRIFTING)
    >>> _, said = keep_course(unsteady, None, 0.0)
    >>> ahead = Settling(Estimate(5.0, 0.1), 300.0)
    >>> keep_course(ahead, said, 59.0)[0] is unsteady, keep_course(ahead, said, 60.0)[0] is ahead
    (True, True)
    """
    if isinstance(course, Settled) or (isinstance(course, NotSteady) and course.why in _TOLD_AT_ONCE):
        return course, None
    kept = None if said is None or now_s - said.agreed_s >= LEFT_AFTER_S else said.course(now_s)
    if kept is not None and isinstance(kept, Settling) is not isinstance(course, Settling):
        return kept, said
    if isinstance(course, Settling):
        return course, ToldCourse(course, None, now_s)
    return course, ToldCourse(None, course, now_s)
