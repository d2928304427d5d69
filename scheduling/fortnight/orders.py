"""Whole orders on a board: put one where it is cheapest (all visits, days in order), take one off with what hangs on it."""

from __future__ import annotations

import random

from scheduling.fortnight.board import BASE, Board, Stop, Team
from scheduling.fortnight.columns import JobKey, start_index
from scheduling.fortnight.insertion import Inserter, Option
from scheduling.fortnight.pieces import Pieces

Chain = tuple[float, tuple[tuple[JobKey, Option], ...]]


class Orders:
    """Adds and removes orders; keeps what is left out."""

    def __init__(self, board: Board, rng: random.Random) -> None:
        self.board, self.rng = board, rng
        self.inserter = Inserter(board)
        problem = board.facts.problem
        self.left = set(range(len(problem.orders)))
        self.pieces = Pieces(board.facts)
        self.left_cents = [float(o.left_out_cost + board.facts.change_all[i]) for i, o in enumerate(problem.orders)]
        self.must = {i for i, o in enumerate(problem.orders) if o.pins}
        self._modes: list[list[list[JobKey]]] = [self._jobs_by_mode(i) for i in range(len(problem.orders))]
        self.waiting: list[list[int]] = [[] for _ in problem.orders]
        for order, earlier in enumerate(board.facts.after):
            for other in earlier:
                self.waiting[other].append(order)

    def _jobs_by_mode(self, order: int) -> list[list[JobKey]]:
        modes: dict[int, list[JobKey]] = {}
        for key in self.board.kinds.job_keys(order):
            modes.setdefault(key[1], []).append(key)
        return list(modes.values())

    def cents(self) -> float:
        """Cost of the board with equipment and what is left out (cents, not rounded)."""
        days = {(e, d) for d, teams in enumerate(self.board.teams) for t in teams for s in t.stops for e in s.kind.equipment}
        rate = self.board.facts.problem.equipment
        left = sum(self.left_cents[o] for o in self.left)
        once = sum(rate[e].mobilise_cost for e in {e for e, _ in days}) if self.pieces.users else 0
        return self.board.cents() + left + sum(rate[e].day_cost for e, _ in days) + once

    def jobs_on_board(self, order: int) -> list[tuple[JobKey, int]]:
        """The order's jobs that stand on the board, with their days, visits in order."""
        stops = self.board.where.get(order, [])
        return sorted((job, day) for day, stop in stops for job in stop.kind.jobs if job[0] == order)

    def clear(self) -> None:
        """Take every order off the board."""
        for order in range(len(self.left_cents)):
            self.remove(order)

    # --- adding -------------------------------------------------------------------------------------------------------

    def add(self, order: int, slack: float = 1.0) -> bool:
        """Plan the order if that costs less than `slack` times leaving it out; False if it stays out."""
        if any(other in self.left for other in self.board.facts.after[order]):
            return False
        chain = self.cheapest(order)
        if chain is None:
            return False
        cents = chain[0] + self.pieces.brought_for(order, self.left)
        if order not in self.must and cents >= slack * self.left_cents[order]:
            return False
        return self._apply(order, chain)

    def cheapest(self, order: int) -> Chain | None:
        """Cheapest days for all visits of the order over its modes."""
        found: Chain | None = None
        for jobs in self._modes[order]:
            chain = self._over_days(order, jobs)
            if chain is not None and (found is None or chain[0] < found[0]):
                found = chain
        return found

    def _over_days(self, order: int, jobs: list[JobKey]) -> Chain | None:
        """Shortest path over days, visits in order and within the longest gap."""
        days, o = self.board.facts.days, self.board.facts.problem.orders[order]
        first = self._earliest(order)
        gap = o.max_gap_days if o.max_gap_days is not None else days
        best: dict[int, Chain] = {}
        for number, job in enumerate(jobs):
            now: dict[int, Chain] = {}
            for day in o.days:
                before: Chain = (0.0, ())
                if number:
                    reach = [best[d] for d in range(max(0, day - gap), day) if d in best]
                    if not reach:
                        continue
                    before = min(reach, key=lambda chain: chain[0])
                elif day < first:
                    continue
                option = self.inserter.best(job, day)
                if number and order in self.board.facts.company.hand_over:
                    self._hand_on(job, day, reach, option, now)
                elif option is not None:
                    now[day] = (before[0] + option.cents, (*before[1], (job, option)))
            best = now
        return min(best.values(), key=lambda chain: chain[0]) if best else None

    def _hand_on(self, job: JobKey, day: int, reach: list[Chain], option: Option | None, now: dict[int, Chain]) -> None:
        """The same where handing over costs: also with somebody of the visit before, after the cheapest chain so far."""
        f, order = self.board.facts, job[0]
        last = min(reach, key=lambda chain: chain[0])[1][-1][1].new.mask & ~f.learners
        options = [option] if option is not None else []
        if option is not None and not option.new.mask & last:
            kept = self.inserter.best_with(job, day, last)
            options += [kept] if kept is not None else []
        for before in reach:
            team = before[1][-1][1].new.mask & ~f.learners
            for one in options:
                cents = before[0] + one.cents + (0 if one.new.mask & team else f.company.hand_over[order])
                if day not in now or cents < now[day][0]:
                    now[day] = (cents, (*before[1], (job, one)))

    def _earliest(self, order: int) -> int:
        """First day after everything the order waits for (a later hour of the same day is left to crewing; the minutes of
        the wait are kept by the board)."""
        ends = [day for other in self.board.facts.after[order] for day, _ in self.board.where.get(other, [])]
        return max(ends, default=-1) + 1 if self.board.facts.after[order] else 0

    def _apply(self, order: int, chain: Chain) -> bool:
        done: list[Option] = []
        for _, option in chain[1]:
            old_ok = option.old is None or option.old in self.board.teams[option.day]
            if not old_ok or not self.board.timely(option.day, option.new, option.old):
                self._undo(done)
                return False
            self.board.replace(option.day, option.old, option.new)
            done.append(option)
        self.left.discard(order)
        return True

    def _undo(self, done: list[Option]) -> None:
        for option in reversed(done):
            self.board.replace(option.day, option.new, option.old)

    # --- removing -----------------------------------------------------------------------------------------------------

    def remove(self, order: int) -> list[int]:
        """Take the order off the board, and whatever cannot stay without it; gives all orders taken off."""
        if order in self.left:
            return []
        self.left.add(order)
        gone = [order]
        for day, stop in list(self.board.where.get(order, [])):
            gone += self._drop(order, day, stop)
        for waiting in self.waiting[order]:
            gone += self.remove(waiting)
        return gone

    def _drop(self, order: int, day: int, stop: Stop) -> list[int]:
        team = next((t for t in self.board.teams[day] if any(s is stop for s in t.stops)), None)
        if team is None:
            return []
        kept = self._without(order, day, stop)
        stops = tuple(s for s in (kept if s is stop else s for s in team.stops) if s is not None)
        self.board.remove(day, team)
        if not stops:
            return []
        smaller = self._tidy(day, team, stops)
        if smaller is not None:
            self.board.add(day, smaller)
            return []
        others = sorted({o for s in stops for o, _, _ in s.kind.jobs if o != order})
        return [o for other in others for o in self.remove(other)]

    def _without(self, order: int, day: int, stop: Stop) -> Stop | None:
        """The stop without the order's job, None if nothing is left or it may not start there."""
        jobs = tuple(job for job in stop.kind.jobs if job[0] != order)
        if not jobs:
            return None
        kind = self.board.kinds.get(jobs)
        at = start_index(kind, day, stop.start)
        if at is None:
            return None
        field = kind.fields[day]
        return Stop(kind, field, stop.start, stop.start + field.slots, float(field.cents[at]), float(field.chance[at]))

    def _tidy(self, day: int, old: Team, stops: tuple[Stop, ...]) -> Team | None:
        """The cheapest team for these stops: the same people, or one less where that still suits and nobody sleeps away."""
        mask, ends = old.mask, old.ends
        may = mask.bit_count() > 2 and ends == BASE
        smaller = [mask & ~(1 << i) for i in self.board.facts.members_of(mask)] if may else []
        best: Team | None = None
        least = float("inf")
        for people in [mask, *smaller]:
            if all(self.board.suits(day, people, s.kind) for s in stops) and self.board.pairs_kept(day, None, people):
                team = self.board.make(day, people, stops, ends)
                cents = team.cents + self.board.apart_cents(day, None, people)
                if cents < least - 1e-6 and self.board.timely(day, team):
                    best, least = team, cents
        return best
