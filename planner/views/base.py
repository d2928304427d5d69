"""What every work page shares: one frame, the caller's sites and bases, and refusals shown as their own sentence."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from django.contrib import admin, messages
from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.template.response import TemplateResponse
from django.views import View

from planner.cautions import CAUTION, LIMIT_PASSED
from planner.errors import PlannerError
from planner.models import Base, Site
from planner.rest.caller import Caller, caller_of

NO_SITE = "You are not a member of any site yet. Ask a planner to give you a role at yours (Register, Memberships)."


def frame(request: HttpRequest, title: str, **more: Any) -> dict[str, Any]:
    """The context every page hands to its template: the admin site's own, the pages, the cautions."""
    return {
        **admin.site.each_context(request),
        "title": title,
        "is_nav_sidebar_enabled": False,
        "caution": CAUTION,
        "limit_passed": LIMIT_PASSED,
        **more,
    }


class Page(LoginRequiredMixin, View):
    """A work page. `show` draws it; `actions` maps the value of a form's `do` to the method that carries it out.

    A method gets the form and returns where to go next; a PlannerError from it, or from reading the filters, is shown on
    the same page with the status it names.
    """

    template = ""
    title = ""
    name = ""
    actions: ClassVar[dict[str, str]] = {}
    problem: PlannerError | None = None

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Show the page; a bad filter is said and left out."""
        return self._drawn()

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Carry out the action the form names."""
        try:
            return HttpResponseRedirect(self._action()())
        except PlannerError as error:
            self.problem = error
            return self._drawn()

    def context(self) -> dict[str, Any]:
        """What the template needs besides the frame."""
        raise NotImplementedError

    @property
    def caller(self) -> Caller:
        """Who asks, with their roles."""
        return caller_of(self.request)

    @property
    def user(self) -> Any:
        """The user, who is logged in."""
        return self.request.user

    def read(self, reader: Callable[[str], Any], name: str, default: Any = None) -> Any:
        """A filter from the address, read by `reader`; an empty one gives the default, a bad one a sentence and the default."""
        raw = self.request.GET.get(name, "").strip()
        if not raw:
            return default
        try:
            return reader(raw)
        except PlannerError as error:
            self.problem = self.problem or error
            return default

    def done(self, sentence: str) -> None:
        """Say what was done on the page that comes next."""
        messages.success(self.request, sentence)

    def _action(self) -> Callable[[], str]:
        name = self.request.POST.get("do", "")
        if name not in self.actions:
            known = ", ".join(self.actions) or "none"
            raise PlannerError(f"{name!r} is nothing this page can do; it can: {known}.", field="do")
        return getattr(self, self.actions[name])  # type: ignore[no-any-return]

    def _drawn(self) -> HttpResponse:
        inside = self.context()
        status = self.problem.status if self.problem else 200
        context = frame(self.request, self.title, current=self.name, **inside)
        context["problem"] = self.problem.message if self.problem else ""
        return TemplateResponse(self.request, self.template, context, status=status)


class BasePage(Page):
    """A page about one base, chosen by ?base=; the first of the caller's bases otherwise."""

    def bases(self) -> list[Base]:
        """The bases of the caller's sites."""
        return list(Base.objects.filter(sites__in=self.caller.sites).distinct().order_by("name"))

    def base_of(self, bases: list[Base]) -> Base | None:
        """The chosen base. Somebody else's, or none such, is a 404: the answer tells nobody which."""
        raw = self.request.POST.get("base") or self.request.GET.get("base", "")
        if not raw:
            return bases[0] if bases else None
        found = [base for base in bases if str(base.pk) == raw]
        if not found:
            raise Http404("There is no such base, or not for you.")
        return found[0]

    def sites_of(self, base: Base) -> list[Site]:
        """The caller's sites of a base."""
        return list(self.caller.sites.filter(base=base).select_related("base"))

    def context(self) -> dict[str, Any]:
        """The base's context, or the sentence for somebody without a site."""
        bases = self.bases()
        base = self.base_of(bases)
        shared: dict[str, Any] = {"bases": bases, "base": base, "no_site": NO_SITE}
        return {**shared, **self.base_context(base)} if base else shared

    def base_context(self, base: Base) -> dict[str, Any]:
        """What the template needs for this base."""
        raise NotImplementedError

    def posted_base(self) -> Base:
        """The base a form is about."""
        base = self.base_of(self.bases())
        if base is None:
            raise PlannerError(NO_SITE, field="base")
        return base


def choice_reader(what: str, values: list[str]) -> Callable[[str], str]:
    """A reader of one of `values`, naming them all when it is none of them."""

    def reader(raw: str) -> str:
        if raw not in values:
            raise PlannerError(f"{raw!r} is no {what}: choose one of {', '.join(values)}.", field=what)
        return raw

    return reader


def whole_reader(what: str, least: int = 1, most: int = 10**9) -> Callable[[str], int]:
    """A reader of a whole number."""

    def reader(raw: str) -> int:
        if not (raw.isascii() and raw.isdigit() and len(raw) <= 10 and least <= int(raw) <= most):
            raise PlannerError(f"{raw!r} is no {what}: give a whole number from {least} to {most}.", field=what)
        return int(raw)

    return reader
