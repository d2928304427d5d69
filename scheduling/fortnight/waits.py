"""Orders that wait for others: from when and until when a stay may run on a day beside what stands on the other days.

An order with `after` starts at least `after_gap_min` real minutes after the last of those has ended (`behind`: after the last
slot of its day). Whichever of the two is
moved on a board, the other one bounds it (`open`); a team is put on the board only if it keeps the wait (`kept`).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from scheduling.fortnight.columns import JobKey

if TYPE_CHECKING:
    from scheduling.fortnight.board import Board, Stop, Team


class Waits:
    """What waits for what on one board. `linked`: orders that wait or are waited for."""

    def __init__(self, board: Board) -> None:
        self.board, self.facts = board, board.facts
        orders = self.facts.problem.orders
        self.gap_min = [o.after_gap_min for o in orders]
        self.behind: list[list[int]] = [[] for _ in orders]
        for order, earlier in enumerate(self.facts.after):
            for other in earlier:
                self.behind[other].append(order)
        self.linked = {i for i, earlier in enumerate(self.facts.after) if earlier or self.behind[i]}

    def days_touched(self, team: Team) -> set[int]:
        """Days on which something stands that is bounded by a stop of this team."""
        mates: set[int] = set()
        for order in {o for stop in team.stops for o, _, _ in stop.kind.jobs} & self.linked:
            mates.update(self.facts.after[order], self.behind[order])
        return {day for order in mates for day, _ in self.board.where.get(order, ())}

    def open(self, jobs: Iterable[JobKey], day: int) -> tuple[int, int]:
        """First slot in which a stay of these jobs may start and slot by which it must have ended on the day."""
        f = self.facts
        first, last, begin = 0, f.slots[day], f.moment(day, 0)
        for order, mode, visit in jobs:
            if order not in self.linked:
                continue
            if visit == 0:
                for other in f.after[order]:
                    ends = [f.waited(order, other, d, s.end) for d, s in self.board.where.get(other, ())]
                    if ends:
                        first = max(first, f.to_slots(max(ends) - begin))
            if visit == len(f.problem.orders[order].modes[mode].visits_min) - 1:
                for later in self.behind[order]:
                    starts = [f.moment(d, s.start) for d, s in self.board.where.get(later, ())]
                    if starts:
                        last = min(last, self._last(later, order, day, min(starts)))
        return first, last

    def _last(self, later: int, order: int, day: int, start: int) -> int:
        """Slot by which a stay must have ended so that the later order may start at that minute; below 0: on no such day."""
        f, slot_min = self.facts, self.facts.problem.slot_min
        if (later, order) in f.behind:
            return f.slots[day] if f.waited(later, order, day, 0) <= start else -1
        return (start - self.gap_min[later] - f.moment(day, 0)) // slot_min

    def kept(self, day: int, team: Team, leaving: Team | None) -> bool:
        """Whether every wait holds when the team takes the place of `leaving` on its day."""
        found = {o for stop in team.stops for o, _, _ in stop.kind.jobs} & self.linked
        pairs = {(o, other) for o in found for other in self.facts.after[o]}
        pairs |= {(later, o) for o in found for later in self.behind[o]}
        for later, other in pairs:
            starts, ends = self._times(later, day, team, leaving), self._times(other, day, team, leaving)
            waited = max((self.facts.waited(later, other, d, s.end) for d, s in ends), default=0)
            if starts and ends and waited > min(self.facts.moment(d, s.start) for d, s in starts):
                return False
        return True

    def _times(self, order: int, day: int, team: Team, leaving: Team | None) -> list[tuple[int, Stop]]:
        """(day, stay) of the order then."""
        gone = leaving.stops if leaving is not None else ()
        stays = [(d, s) for d, s in self.board.where.get(order, ()) if not any(s is g for g in gone)]
        return stays + [(day, s) for s in team.stops if any(o == order for o, _, _ in s.kind.jobs)]
