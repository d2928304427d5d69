"""What if: named copies of a fortnight with changes, solved, held beside the plan people go by, published or thrown away."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.http import Http404
from django.urls import reverse

from planner.clock import now_utc, today_at
from planner.errors import PlannerError
from planner.models import Base
from planner.views.base import BasePage, whole_reader
from planner.views.formats import moment, money, weekday
from planner.views.forms import choice_in, day_in, text_in, whole_or_none, words_in
from planner.views.marks import mark
from scheduling.choices import WhatIfState
from scheduling.models import Run, WhatIf
from scheduling.selectors.plans import plan_current, plan_list, plan_newest_draft, run_list
from scheduling.selectors.side_by_side import LEAST, MOST, compare_named
from scheduling.selectors.what_ifs import what_if_list, what_if_run
from scheduling.services.runs import run_stop
from scheduling.services.what_ifs import what_if_change, what_if_create, what_if_publish, what_if_throw_away
from scheduling.solvers import STARTS
from scheduling.tasks import what_if_ask
from scheduling.views.compare_lines import compare_context
from scheduling.views.run_lines import currency_of, plans_all_of, run_line
from scheduling.views.what_if_forms import change_in, choices_of, groups_with

USUAL_DAYS = 14
ENDED_SHOWN = 20


class WhatIfPage(BasePage):
    """One base's what-ifs; ?what_if= shows one, ?of= (twice or three times) what is held side by side."""

    template = "scheduling/what_if.html"
    title = "What if"
    name = "what-if"
    actions: ClassVar[dict[str, str]] = {
        "new": "new", "add": "add", "remove": "remove", "solve": "solve", "stop": "stop", "publish": "publish",
        "throw-away": "throw_away",
    }  # fmt: skip

    def base_context(self, base: Base) -> dict[str, Any]:
        """The base's what-ifs, the chosen one, and the comparison."""
        currency, rows = currency_of(base), what_if_list(sites=self.caller.sites).filter(base=base)
        opened = list(rows.filter(state=WhatIfState.OPEN))
        chosen = self._chosen(rows)
        may_plan = plans_all_of(self.caller, base)
        return {
            "may_plan": may_plan,
            "rows": [_line(row, currency, base, chosen) for row in opened],
            "ended": [_line(row, currency, base, chosen) for row in rows.exclude(state=WhatIfState.OPEN)[:ENDED_SHOWN]],
            "form": self._form(base),
            "one": self._one(chosen, base, currency, may_plan) if chosen else None,
            "register": self.problem.extra.get("register", []) if self.problem else [],
            **self._comparison(base, chosen, [row for row in opened if row.result_id]),
        }

    def _chosen(self, rows: Any) -> WhatIf | None:
        raw = self.request.POST.get("what_if")
        pk = self.read(whole_reader("what_if"), "what_if") if raw is None else raw
        if not pk or not str(pk).isdigit() or len(str(pk)) > 18:
            return None
        found = rows.filter(pk=int(pk)).first()
        if found is None:
            raise Http404("There is no such what-if, or not for you.")
        return found  # type: ignore[no-any-return]

    def _form(self, base: Base) -> dict[str, Any]:
        posted = self.request.POST
        return {
            "name": posted.get("name", ""),
            "first_day": posted.get("first_day") or today_at(base.zone).isoformat(),
            "days": posted.get("days") or USUAL_DAYS,
            "note": posted.get("note", ""),
            "seconds": posted.get("seconds") or settings.SOLVE_LIMIT_S,
        }

    def _one(self, row: WhatIf, base: Base, currency: str, may_plan: bool) -> dict[str, Any]:
        """The chosen one. Its frozen problem is only read where somebody may change it."""
        run = what_if_run(row)
        running = run is not None and run.is_open
        alive = row.state == WhatIfState.OPEN
        groups = groups_with(choices_of(row.problem, row.register)) if may_plan and alive and not running else []
        return {
            **_line(row, currency, base, None),
            "note": row.note,
            "asked": moment(row.created_at, base.zone),
            "by": row.by,
            "changes": [{"number": number, **told} for number, told in enumerate(row.told)],
            "run": run_line(run, currency) if run else None,
            "alive": alive,
            "may_change": may_plan and alive and not running,
            "solved": row.result_id is not None,
            "plan": getattr(row.result, "plan", None) if row.state == WhatIfState.PUBLISHED else None,
            "groups": groups,
            "first": row.first_day.isoformat(),
            "last": row.problem["days"][-1]["date"] if groups else "",
        }

    # --- side by side ---------------------------------------------------------------------------------------------

    def _comparison(self, base: Base, chosen: WhatIf | None, solved: list[WhatIf]) -> dict[str, Any]:
        choices = self._keys(base, solved)
        asked = [key for key in self.request.GET.getlist("of") if key][:MOST]
        keys = asked or self._usual(chosen, choices)
        context: dict[str, Any] = {"compare_choices": choices, "compared_keys": [*keys, "", "", ""][:MOST], "compared": None}
        if not keys:
            return context
        try:
            found = compare_named(base=base, keys=keys, sites=list(self.caller.sites), least=LEAST if asked else 1)
            context["compared"] = compare_context(found, base)
        except PlannerError as error:
            self.problem = self.problem or error
        return context

    def _usual(self, chosen: WhatIf | None, choices: list[tuple[str, str]]) -> list[str]:
        """The chosen one, if it is solved, beside the plan people go by, else the newest draft, else alone."""
        plans = [key for key, _ in choices if key in ("published", "draft")][:1]
        return [*plans, f"what-if-{chosen.pk}"] if chosen and chosen.result_id else []

    def _keys(self, base: Base, solved: list[WhatIf]) -> list[tuple[str, str]]:
        """What may be compared."""
        current = plan_current(base=base)
        draft = plan_newest_draft(plan_list(sites=self.caller.sites).filter(base=base))
        told = [("published", f"published plan {current.pk}")] if current else []
        told += [("draft", f"newest draft, plan {draft.pk}")] if draft else []
        return told + [(f"what-if-{row.pk}", row.name) for row in solved]

    # --- what the forms do ----------------------------------------------------------------------------------------

    def new(self) -> str:
        """Freeze the fortnight under a name."""
        base, form = self.posted_base(), self.request.POST
        days = whole_or_none(form, "days", "Days")
        like = whole_or_none(form, "like", "Start with")
        row = what_if_create(
            base=base,
            name=text_in(form, "name", "Name", 60),
            first_day=day_in(form, "first_day", "First day"),
            days=USUAL_DAYS if days is None else days,
            note=words_in(form, "note", "Note"),
            changes=self._row(like).changes if like else (),
            by=self.user,
        )
        self.done(f"What-if {row.name!r} holds the fortnight as it is now. Change it below, then solve it.")
        return self.address(row)

    def add(self) -> str:
        """Add a change."""
        row = what_if_change(what_if=self.posted(), by=self.user, add=[change_in(self.request.POST)])
        self.done(f"Added: {row.told[-1]['said']}.")
        return self.address(row)

    def remove(self) -> str:
        """Take a change off."""
        number = whole_or_none(self.request.POST, "number", "Number")
        row = what_if_change(what_if=self.posted(), by=self.user, remove=[-1 if number is None else number])
        self.done("The change is taken off.")
        return self.address(row)

    def solve(self) -> str:
        """Start a run; it shows on this page."""
        row, seconds = self.posted(), whole_or_none(self.request.POST, "seconds", "Seconds")
        params: dict[str, Any] = {} if seconds is None else {"time_limit_s": seconds}
        if choice_in(self.request.POST, "start", "Look for", list(STARTS)):
            params["start"] = self.request.POST["start"]
        run = what_if_ask(what_if=row, by=self.user, params=params)
        self.done(f"Run {run.pk} is queued. It shows here while it solves.")
        return self.address(row)

    def stop(self) -> str:
        """Stop a run; it keeps its best plan."""
        pk = whole_or_none(self.request.POST, "run", "Run") or 0
        run: Run | None = run_list(sites=self.caller.sites).filter(pk=pk, what_if=self.posted()).first()
        if run is None:
            raise PlannerError("That run is not of this what-if: load the page again.", field="run")
        run_stop(run=run, by=self.user)
        self.done(f"Run {run.pk} is asked to stop; it keeps the best it has.")
        return self.address(self.posted())

    def publish(self) -> str:
        """Make its plan the one people go by."""
        row = self.posted()
        plan = what_if_publish(what_if=row, by=self.user, now=now_utc())
        self.done(f"What-if {row.name!r} is published as plan {plan.pk}; its orders are slotted.")
        return f"{reverse('fortnight')}?base={row.base_id}&plan={plan.pk}"

    def throw_away(self) -> str:
        """End it."""
        row = what_if_throw_away(what_if=self.posted(), by=self.user)
        self.done(f"What-if {row.name!r} is thrown away.")
        return f"{reverse(self.name)}?base={row.base_id}"

    def posted(self) -> WhatIf:
        """The what-if a form is about."""
        return self._row(whole_or_none(self.request.POST, "what_if", "What-if") or 0)

    def _row(self, pk: int) -> WhatIf:
        row = what_if_list(sites=self.caller.sites).filter(pk=pk).first()
        if row is None:
            raise PlannerError("That what-if is not of your bases: load the page again.", field="what_if")
        return row

    def address(self, row: WhatIf) -> str:
        """This page for a what-if."""
        return f"{reverse(self.name)}?base={row.base_id}&what_if={row.pk}"


def _line(row: WhatIf, currency: str, base: Base, chosen: WhatIf | None) -> dict[str, Any]:
    return {
        "pk": row.pk,
        "name": row.name,
        "mark": mark(row.state),
        "query": f"base={base.pk}&what_if={row.pk}",
        "days": f"{weekday(row.first_day)}, {row.days} days",
        "count": len(row.changes),
        "value": money(row.result.value, currency) if row.result else "not solved",
        "current": chosen is not None and row.pk == chosen.pk,
    }
