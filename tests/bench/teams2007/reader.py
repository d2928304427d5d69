"""Read one instance: three text files with a heading line each.

`instance` names the counts, `interv_list` has a job a line, `tech_list` a technician a line. A file that is not as it should
be is refused with its name, the line, and what to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

DAY = 120
"""Units of time in a day."""

PRIORITIES = (1, 2, 3, 4)


class Malformed(ValueError):
    """A file that cannot be read: which file, which line, what is wrong, what to do."""

    def __init__(self, file: str, line: int, wrong: str, cure: str) -> None:
        super().__init__(f"{file}, line {line}: {wrong}. {cure}")


@dataclass(frozen=True)
class Job:
    """`needs[domain][level - 1]` people of at least that level; `duration` in units; `cost` of giving it to others."""

    number: int
    duration: int
    after: tuple[int, ...]
    priority: int
    cost: int
    needs: tuple[tuple[int, ...], ...]


@dataclass(frozen=True)
class Technician:
    """`levels[domain]` (0: none); `away`: days absent, the first day is 1."""

    number: int
    levels: tuple[int, ...]
    away: frozenset[int]


@dataclass(frozen=True)
class Instance:
    """Jobs and technicians in the files' order, numbered from 1; `budget` for jobs given to others."""

    name: str
    levels: int
    domains: int
    budget: int
    jobs: tuple[Job, ...]
    people: tuple[Technician, ...]


def read_instance(folder: Path) -> Instance:
    """The instance in a folder. Raises Malformed, and FileNotFoundError when one of the files is not there."""
    head = _Lines(folder / "instance")
    at, text = head.rows(1)[0]
    words = text.split()
    if len(words) != 6:
        raise head.wrong(at, f"{len(words)} words where 6 belong", "Give name, domains, levels, technicians, jobs, budget.")
    domains, levels, people, jobs, budget = (head.whole(at, word) for word in words[1:])
    if not domains or not levels:
        raise head.wrong(at, "no domains or no levels", "Both are at least 1.")
    found = Instance(
        words[0],
        levels,
        domains,
        budget,
        _jobs(_Lines(folder / "interv_list"), jobs, domains, levels),
        _people(_Lines(folder / "tech_list"), people, domains, levels),
    )
    _ordered(found, _Lines(folder / "interv_list"))
    return found


class _Lines:
    """The lines of one file, and how to complain about them."""

    def __init__(self, path: Path) -> None:
        self.file = path.name
        self.lines = path.read_text(encoding="utf-8").splitlines()

    def rows(self, count: int) -> list[tuple[int, str]]:
        """The `count` lines under the heading with their numbers; empty lines do not count."""
        rows = [(at, text) for at, text in enumerate(self.lines, 1) if text.strip()][1:]
        if len(rows) != count:
            raise self.wrong(
                len(self.lines), f"{len(rows)} lines under the heading where {count} belong", "Compare with `instance`."
            )
        return rows

    def wrong(self, line: int, wrong: str, cure: str) -> Malformed:
        return Malformed(self.file, line, wrong, cure)

    def whole(self, line: int, word: str) -> int:
        if not word.isdigit():
            raise self.wrong(line, f"{word!r} is not a whole number", "Write digits only.")
        return int(word)

    def listed(self, line: int, text: str) -> tuple[list[int], list[int], list[int]]:
        """Numbers before, inside and after the brackets of a line."""
        if text.count("[") != 1 or text.count("]") != 1 or text.index("[") > text.index("]"):
            raise self.wrong(line, "not one list in brackets", "Write it as `[ 2 5 ]`, an empty one as `[ ]`.")
        before, rest = text.split("[")
        inside, after = rest.split("]")
        return tuple([self.whole(line, w) for w in part.split()] for part in (before, inside, after))  # type: ignore[return-value]


def _jobs(file: _Lines, count: int, domains: int, levels: int) -> tuple[Job, ...]:
    found = []
    for number, (at, text) in enumerate(file.rows(count), 1):
        before, after, rest = file.listed(at, text)
        if len(before) != 2 or len(rest) != 2 + domains * levels:
            wide = 2 + domains * levels
            raise file.wrong(at, f"{len(rest)} numbers after the list where {wide} belong", "Priority, cost, then the needs.")
        if before[0] != number:
            raise file.wrong(at, f"job {before[0]} where {number} belongs", "Number the jobs 1, 2, 3 in order.")
        if not 1 <= before[1] <= DAY:
            raise file.wrong(at, f"a job of {before[1]} units", f"A job fits in a day: 1 to {DAY}.")
        if rest[0] not in PRIORITIES:
            raise file.wrong(at, f"priority {rest[0]}", "Use 1, 2, 3 or 4.")
        if any(not 1 <= a <= count or a == number for a in after):
            raise file.wrong(at, "a predecessor that is no other job", f"Name jobs from 1 to {count}.")
        needs = tuple(tuple(rest[2 + d * levels : 2 + (d + 1) * levels]) for d in range(domains))
        found.append(Job(number, before[1], tuple(after), rest[0], rest[1], needs))
    return tuple(found)


def _people(file: _Lines, count: int, domains: int, levels: int) -> tuple[Technician, ...]:
    found = []
    for number, (at, text) in enumerate(file.rows(count), 1):
        before, away, rest = file.listed(at, text)
        if len(before) != 1 + domains or rest:
            wrong = f"{len(before)} numbers before the list where {1 + domains} belong"
            raise file.wrong(at, wrong, "Number, then one level a domain; days absent in brackets.")
        if before[0] != number:
            raise file.wrong(at, f"technician {before[0]} where {number} belongs", "Number the technicians 1, 2, 3 in order.")
        if max(before[1:]) > levels:
            raise file.wrong(at, f"level {max(before[1:])}", f"Levels go from 0 to {levels}.")
        if 0 in away:
            raise file.wrong(at, "absent on day 0", "The first day is 1.")
        found.append(Technician(number, tuple(before[1:]), frozenset(away)))
    return tuple(found)


def _ordered(instance: Instance, file: _Lines) -> None:
    """Refuse jobs that wait for each other in a ring."""
    left = {job.number: set(job.after) for job in instance.jobs}
    while free := [number for number, after in left.items() if not after]:
        for number in free:
            del left[number]
        for after in left.values():
            after.difference_update(free)
    if left:
        at = [a for a, text in enumerate(file.lines, 1) if text.strip()][min(left)]
        raise file.wrong(at, f"job {min(left)} waits for itself through others", "Break the ring of predecessors.")
