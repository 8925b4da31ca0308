"""Whether what several did at once is what some order of theirs, one after another, would leave.

Each says when it began, when it had ended and what it was answered. An order is looked for that
puts nobody before one who had ended before they began, and in which a plain model answers
everybody as they were answered and ends in the state that was found (linearizability, as Herlihy
and Wing define it; the search with its memory is Wing and Gong's, as Lowe describes it).
"""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

S = TypeVar("S", bound=Hashable)
Step = Callable[[S], tuple[S, object]]  # the state after it, and what it answers


@dataclass(frozen=True)
class Done(Generic[S]):
    """One that has ended: what the model says of it, and what it was answered in fact."""

    name: str
    began: int
    ended: int
    answer: object
    step: Step[S]


def serial_order(start: S, found: S, all_done: Sequence[Done[S]]) -> list[str] | None:
    """The names in an order that explains all of it; None where there is none."""
    in_time = sorted(all_done, key=lambda each: each.began)
    refuted: set[tuple[int, S]] = set()

    def go_on(state: S, left: int) -> list[str] | None:
        if not left:
            return [] if state == found else None
        if (left, state) in refuted:
            return None
        open_ = [number for number in range(len(in_time)) if left >> number & 1]
        first_end = min(in_time[number].ended for number in open_)
        for number in open_:
            one = in_time[number]
            if one.began > first_end:
                break  # whoever is next began when another had ended
            after, answer = one.step(state)
            if answer == one.answer:
                rest = go_on(after, left & ~(1 << number))
                if rest is not None:
                    return [one.name, *rest]
        refuted.add((left, state))
        return None

    return go_on(start, (1 << len(in_time)) - 1)
