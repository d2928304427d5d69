"""Crewing: exact days with real people, by CP-SAT. One model serves a single day, some days, or a whole small problem.

A node is a kind on a day that may or must be visited. Nodes of a day form chains (one chain is one team's route): each
present node is the first of a chain or follows another one. People are chosen for nodes; a step along a chain keeps them.
The rules stand in crewing_rules.RULES. Everybody who is on no visit stays at home.

OR-Tools 9.15 was seen to certify wrong optima when enforced rows hold Boolean coefficients that sum to 2**28 and more
(google/or-tools issue 5293): money is scaled so that the whole objective stays below `MONEY_SUM`, and
presolve_inclusion_work_limit is 0.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from scheduling.fortnight.board import Board, Stop, Team
from scheduling.fortnight.columns import Kind, start_index
from scheduling.fortnight.crewing_rules import RULES, Node
from scheduling.fortnight.facts import Facts

MONEY_SUM = 100_000_000
FINEST = 64
WHOLE_ORDERS = ("complete", "sequence", "after")


@dataclass(frozen=True)
class Around:
    """What is fixed outside the model: minutes left per person and week, times away on days outside of it, pieces of equipment
    that are brought for those days anyway, and the people (mask) of jobs there that may be handed over."""

    left_min: list[dict[str, int]]
    away: list[dict[int, tuple[int, int]]]
    brought: frozenset[int] = frozenset()
    teams: Mapping[tuple[int, int, int], int] = field(default_factory=dict)


@dataclass(frozen=True)
class Crewed:
    """`status`: optimal, feasible, infeasible or unknown. `bound` in cents (proven); teams by day; orders left out."""

    status: str
    bound: float
    teams: dict[int, list[Team]]
    left: frozenset[int]


class Crewing:
    """Builds and solves the model over nodes (kind, day). `orders` may be left out unless in `must`.

    With `loose` (order -> cents) days are solved by themselves: no order needs all its visits, each costs that much if missed.
    """

    def __init__(
        self,
        board: Board,
        nodes: Iterable[tuple[Kind, int]],
        orders: frozenset[int],
        must: frozenset[int],
        left_cents: list[float],
        around: Around,
        loose: Mapping[int, float] | None = None,
    ) -> None:
        self.board, self.facts, self.around = board, board.facts, around
        self.orders, self.must, self.left_cents = sorted(orders), must, left_cents
        self.model = cp_model.CpModel()
        self.terms: list[tuple[cp_model.IntVar, float]] = []
        self.ties: list[float] = []
        self.out: dict[tuple[int, int], cp_model.IntVar] = {}
        self.nodes: dict[int, list[Node]] = {}
        self.by_job: dict[tuple[int, int, int], list[Node]] = {}
        self.mode: dict[tuple[int, int], cp_model.IntVar] = {}
        self.day_of: dict[tuple[int, int, int], cp_model.LinearExpr] = {}
        for number, (kind, day) in enumerate(nodes):
            self.nodes.setdefault(day, []).append(self._node(number, kind, day))
        self.every = [node for nodes_of_day in self.nodes.values() for node in nodes_of_day]
        self.left = {o: self.model.new_bool_var(f"left {o}") for o in self.orders}
        for name, rule in RULES.items():
            if loose is None or name not in WHOLE_ORDERS:
                rule(self)
        for order, cents in sorted((loose or {}).items()):
            self._may_miss(order, cents)
        self.scale = self._minimise()

    def _node(self, number: int, kind: Kind, day: int) -> Node:
        m, field, f = self.model, kind.fields[day], self.facts
        node = Node(kind, day, field, present=m.new_bool_var(f"in {number}"))
        node.at = [m.new_bool_var(f"at {number} {s}") for s in field.starts]
        m.add(sum(node.at) == node.present)
        node.start = m.new_int_var(0, f.slots[day], f"start {number}")
        m.add(node.start == sum(int(s) * x for s, x in zip(field.starts, node.at, strict=True)))
        node.first, node.last = m.new_bool_var(f"first {number}"), m.new_bool_var(f"last {number}")
        node.people = {p: m.new_bool_var(f"go {number} {p}") for p in f.members_of(f.may_go[day])}
        node.size = m.new_int_var(0, max(2, len(node.people)), f"size {number}")
        m.add(node.size == sum(node.people.values()))
        node.interval = m.new_optional_fixed_size_interval_var(node.start, field.slots, node.present, f"stay {number}")
        self.terms += [(x, float(c)) for x, c in zip(node.at, field.cents, strict=True)]
        return node

    def _may_miss(self, order: int, cents: float) -> None:
        """A day by itself: at most one of the nodes that carry the order's job, and a price if it is none."""
        carriers = [n.present for n in self.every if any(o == order for o, _, _ in n.kind.jobs)]
        missed = self.model.new_bool_var(f"missed {order}")
        self.model.add_exactly_one([missed, *carriers])
        self.cost(missed, cents)

    def cost(self, variable: cp_model.IntVar, cents: float) -> None:
        """Add cents per unit of a variable to the objective."""
        if cents:
            self.terms.append((variable, cents))

    def pay_per_person(self, node: Node, when: cp_model.IntVar, cents: int) -> None:
        """Cents for each of the node's people if `when` holds."""
        if cents:
            people = self.model.new_int_var(0, max(2, len(node.people)), "")
            self.model.add(people >= node.size).only_enforce_if(when)
            self.model.add(people >= node.kind.team * when)
            self.cost(people, float(cents))

    def _minimise(self) -> float:
        for order, variable in self.left.items():
            self.cost(variable, self.left_cents[order])
        total = sum(abs(c) * max(1, v.proto.domain[-1]) for v, c in self.terms) or 1.0
        scale = min(float(FINEST), MONEY_SUM / total)
        self.model.minimize(sum(round(c * scale) * v for v, c in self.terms))
        return scale

    def hint(self, teams: dict[int, list[Team]], left: Iterable[int]) -> None:
        """Start from these teams."""
        stops = {(s.kind.jobs, day): (t, s) for day, found in teams.items() for t in found for s in t.stops}
        for node in self.every:
            team, stop = stops.get((node.kind.jobs, node.day), (None, None))
            self.model.add_hint(node.present, stop is not None)
            for slot, x in zip(node.field.starts, node.at, strict=True):
                self.model.add_hint(x, stop is not None and stop.start == int(slot))
            for person, go in node.people.items():
                self.model.add_hint(go, team is not None and bool(team.mask >> person & 1))
        gone = set(left)
        for order, variable in self.left.items():
            self.model.add_hint(variable, order in gone)

    def solve(
        self, seconds: float, threads: int, seed: int, should_stop: Callable[[], bool] | None = None, more: bool = False
    ) -> Crewed:
        """Solve within the time; `more` turns on the stronger linear relaxation."""
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = max(0.01, seconds)
        solver.parameters.num_workers = threads
        solver.parameters.random_seed = seed % 2_147_483_647
        solver.parameters.presolve_inclusion_work_limit = 0
        solver.parameters.relative_gap_limit = 0.0
        if more:
            solver.parameters.linearization_level = 2
        if should_stop is not None:
            solver.best_bound_callback = lambda _: solver.stop_search() if should_stop() else None
        status = solver.solve(self.model)
        return self._read(solver, status)

    def _read(self, solver: cp_model.CpSolver, status: cp_model.CpSolverStatus) -> Crewed:
        names = {cp_model.OPTIMAL: "optimal", cp_model.FEASIBLE: "feasible", cp_model.INFEASIBLE: "infeasible"}
        name = names.get(status, "unknown")
        if name not in ("optimal", "feasible"):
            return Crewed(name, float("-inf"), {}, frozenset(self.orders))
        bound = solver.best_objective_bound / self.scale - self._rounding()
        left = frozenset(o for o, v in self.left.items() if solver.boolean_value(v))
        return Crewed(name, bound, {day: self._teams(solver, day) for day in self.nodes}, left)

    def _rounding(self) -> float:
        """Cents by which rounding the coefficients may have raised the bound: half a unit per visit and abort share, and what
        the prices of who goes with whom were rounded by."""
        visits = sum(max(len(mode.visits_min) for mode in self.facts.problem.orders[o].modes) for o in self.orders)
        people = max((len(node.people) for node in self.every), default=0)
        ties = sum(abs(round(cents * self.scale) - cents * self.scale) for cents in self.ties)
        return (0.5 * visits * (1 + people) + ties) / self.scale

    def _teams(self, solver: cp_model.CpSolver, day: int) -> list[Team]:
        by_mask: dict[int, list[Stop]] = {}
        for node in self.nodes[day]:
            if not solver.boolean_value(node.present):
                continue
            start = solver.value(node.start)
            at = start_index(node.kind, day, start)
            assert at is not None
            mask = sum(1 << p for p, go in node.people.items() if solver.boolean_value(go))
            field = node.field
            stop = Stop(node.kind, field, start, start + field.slots, float(field.cents[at]), float(field.chance[at]))
            by_mask.setdefault(mask, []).append(stop)
        return [self.board.make(day, mask, tuple(sorted(s, key=lambda x: x.start))) for mask, s in by_mask.items()]


def whole_problem(board: Board, kinds: list[Kind], left_cents: list[float], must: frozenset[int]) -> Crewing:
    """The exact model of a small problem: every kind on every day that it has."""
    f: Facts = board.facts
    nodes = [(kind, day) for kind in kinds for day in kind.fields]
    left = [{w: f.week_left(p, w) for w in dict.fromkeys(board.week)} for p in range(len(f.problem.people))]
    around = Around(left, [{} for _ in f.problem.people])
    return Crewing(board, nodes, frozenset(range(len(f.problem.orders))), must, left_cents, around)
