"""Who goes with whom, and what that costs: people pinned to visits, people hired by the day, preferred pairs, hand-overs.

People are numbered in the order in which the problem lists them; a set of people is an int with bit i for person i.
"""

from __future__ import annotations

from scheduling.fortnight.problem import Problem

Told = tuple[int, int, int, int, int]
"""Of a published visit: day, start, its people (mask), how many of them the problem does not know, cents for each missing."""


class Company:
    """Look-up tables; everything is empty where the problem asks for nothing of the kind.

    crew       (order, visit) -> people who must be in its team
    told       (order, visit) -> published visits whose missing people cost something
    named      people of `crew` and `told`
    day_cost   cents a day by person; `hired` those who cost something
    likes      person -> partners of preferred pairs, `pair_cents` for each pair apart and day
    hand_over  order -> cents for each visit after the first whose team holds nobody of the visit before
    """

    def __init__(self, problem: Problem, person: dict[str, int]) -> None:
        self.person = person
        self.day_cost = [p.day_cost for p in problem.people]
        self.hired = sum(1 << i for i, cents in enumerate(self.day_cost) if cents)
        self._hire: dict[int, float] = {}
        self.crew = {(i, visit): self._mask(who) for i, o in enumerate(problem.orders) for visit, who in o.crew}
        self._tell(problem)
        self.named = 0
        for mask in (*self.crew.values(), *(told[2] for some in self.told.values() for told in some)):
            self.named |= mask
        self.pair_cents = problem.weights.pair_apart
        self.likes: dict[int, int] = {}
        for a, b in problem.prefer if self.pair_cents else ():
            for one, other in ((a, b), (b, a)):
                self.likes[person[one]] = self.likes.get(person[one], 0) | 1 << person[other]
        costs = {i: o.hand_over_cost for i, o in enumerate(problem.orders) if any(len(m.visits_min) > 1 for m in o.modes)}
        self.hand_over = {order: cents for order, cents in costs.items() if cents}

    def _tell(self, problem: Problem) -> None:
        order = {o.id: i for i, o in enumerate(problem.orders)}
        self.told: dict[tuple[int, int], list[Told]] = {}
        for v in problem.published:
            if v.crew_cost and v.people:
                people = set(v.people)
                gone = len(people - set(self.person))
                told = (v.day, v.start, self._mask(people & set(self.person)), gone, v.crew_cost)
                self.told.setdefault((order[v.order], v.visit), []).append(told)

    def _mask(self, people: tuple[str, ...] | set[str]) -> int:
        return sum(1 << self.person[one] for one in set(people))

    def hire_cents(self, mask: int) -> float:
        """Cents of a day with these people."""
        hired = mask & self.hired
        if not hired:
            return 0.0
        if hired not in self._hire:
            self._hire[hired] = float(sum(cents for i, cents in enumerate(self.day_cost) if hired >> i & 1))
        return self._hire[hired]

    def split(self, mask: int, others: int) -> int:
        """Preferred pairs with one of the mask and one of the others."""
        return sum((partners & others).bit_count() for one, partners in self.likes.items() if mask >> one & 1)

    def all_split(self, masks: list[int]) -> int:
        """Preferred pairs in different ones of a day's teams."""
        out = 0
        for mask in masks:
            out |= mask
        return sum(self.split(mask, out & ~mask) for mask in masks) // 2
