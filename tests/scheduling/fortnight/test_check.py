"""The checker on the tiny farm: a plan by hand passes, its money is counted by hand, every rule is broken once."""

from __future__ import annotations

import ast
from pathlib import Path

from scheduling.fortnight import check as checker
from scheduling.fortnight.check import CHECKS, check, recompute_parts
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import Problem
from scheduling.fortnight.rules import PARTS, RULES
from tests.scheduling.fortnight.farms import (
    hand_plan,
    tiny,
)

REPAIR, SERVICE_1, CRANE, SERVICE_2 = range(4)


def broken(problem: Problem, plan: Plan) -> set[str]:
    return {violation.rule for violation in check(problem, plan)}


def test_the_plan_by_hand_breaks_nothing() -> None:
    assert check(tiny(), hand_plan()) == ()


def test_every_rule_and_part_of_the_contract_is_checked_in_its_order() -> None:
    assert list(CHECKS) == list(RULES)
    assert list(recompute_parts(tiny(), hand_plan())) == list(PARTS)


def test_the_checker_imports_only_records_bits_and_numpy() -> None:
    allowed = ("scheduling.bits", "scheduling.fortnight.plan", "scheduling.fortnight.problem", "scheduling.fortnight.check")
    standard = {"__future__", "collections", "collections.abc", "dataclasses", "functools", "itertools", "math"}
    for path in Path(checker.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            for name in names:
                assert name.startswith(allowed) or name in standard | {"numpy", "numpy.typing"}, (path.name, name)
