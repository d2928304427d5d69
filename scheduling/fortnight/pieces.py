"""Equipment that costs something to bring at all: what one more order adds, and which orders share a piece.

One order alone seldom pays for bringing a crane, several may. The search therefore counts, while it builds a board, only a
share of the price at times (`share`); what the board costs in the end is always counted in full.
"""

from __future__ import annotations

from scheduling.fortnight.facts import Facts


class Pieces:
    """Pieces with a price for being used at all. `users`: piece -> orders that need it (pieces without a price are not here)."""

    def __init__(self, facts: Facts) -> None:
        self.users: dict[int, list[int]] = {}
        self._of: list[list[int]] = [[] for _ in facts.problem.orders]
        self._cents = [piece.mobilise_cost for piece in facts.problem.equipment]
        self.share: float | None = 1.0
        for order, record in enumerate(facts.problem.orders):
            for piece in sorted({facts.equipment[e] for e in record.equipment}):
                if self._cents[piece]:
                    self.users.setdefault(piece, []).append(order)
                    self._of[order].append(piece)

    def brought_for(self, order: int, left: set[int]) -> float:
        """Cents for pieces that no order on the board uses yet, at the present share (None: split over all who need it)."""
        new = [e for e in self._of[order] if all(other in left for other in self.users[e])]
        return sum(self._cents[e] * (self.share if self.share is not None else 1.0 / len(self.users[e])) for e in new)
