"""Questions about plans: what would let an order in, where else a visit could stand; and two plans compared."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from planner.errors import PlannerError
from planner.rest.fields import UsernameOf
from planner.rest.filters import filters_of
from planner.rest.idempotency import idempotent
from planner.rest.views import ReadViewSet
from scheduling.choices import QuestionKind
from scheduling.models import Plan, PlanQuestion
from scheduling.selectors.plans import plan_list
from scheduling.selectors.questions import comparison_json, plans_compared, question_list, question_of
from scheduling.services.runs.create import planner_required
from scheduling.tasks import question_ask

ORDER = OpenApiParameter("order", str, OpenApiParameter.PATH, description="Number of an order.")


class QuestionRow(serializers.ModelSerializer):
    """A question and, once it is answered, its answer in a sentence. Ask again while `is_open`."""

    asked_by = UsernameOf("asked_by")
    is_open = serializers.BooleanField(read_only=True)

    class Meta:
        model = PlanQuestion
        fields = [
            "id", "plan", "kind", "order_number", "visit", "state", "is_open", "tried", "to_try", "text", "asked_by", "asked_at",
            "ended_at",
        ]  # fmt: skip
        read_only_fields = fields


class QuestionDetail(QuestionRow):
    """With everything that was found."""

    class Meta(QuestionRow.Meta):
        fields = [*QuestionRow.Meta.fields, "answer"]
        read_only_fields = fields


class QuestionViewSet(ReadViewSet):
    """Questions about the plans of bases that the caller plans."""

    queryset = PlanQuestion.objects.all()
    serializer_class = QuestionRow
    filterset_class = filters_of(PlanQuestion, "plan", "kind", "state", "order_number")
    ordering_fields = ("asked_at",)

    def get_queryset(self) -> Any:
        """The answers only with one question."""
        rows = question_list(caller=self.caller)
        return rows.defer("answer") if self.action == "list" else rows

    def get_serializer_class(self) -> Any:
        """The whole answer goes with one question only."""
        return QuestionRow if self.action == "list" else QuestionDetail


def asked(view: Any, plan: Plan, kind: str, order: str, visit: int = 0) -> Response:
    """GET: the question as it stands; POST: ask it. 202 while it is being worked out, with the address to watch."""
    if view.request.method == "POST":
        question = question_ask(plan=plan, kind=kind, order=order, visit=visit, by=view.request.user)
    else:
        planner_required(user=view.request.user, base=plan.base)
        found = question_of(plan=plan, kind=kind, order=order, visit=visit)
        if found is None:
            raise NotAskedError(f"That was not asked of plan {plan.pk} yet: POST to this address asks it.", field="order")
        question = found
    code = status.HTTP_202_ACCEPTED if question.is_open else status.HTTP_200_OK
    watch = reverse("plan-questions-detail", args=[question.pk])
    data = QuestionDetail(question, context=view.get_serializer_context()).data
    return Response(data, status=code, headers={"Location": watch})


class NotAskedError(PlannerError):
    """The question has no row."""

    status = 404
    code = "not asked"


class PlanQuestions:
    """Actions that a plan's view set gains."""

    @extend_schema(parameters=[ORDER], request=None, responses={200: QuestionDetail, 202: QuestionDetail}, filters=False)
    @action(detail=True, methods=["get"], url_path=r"left-out/(?P<order>[^/]+)/ways-in", pagination_class=None)
    def ways_in(self: Any, request: Any, pk: str, order: str) -> Response:
        """What would let a left-out order in, found by solving. POST asks (202), GET looks."""
        return asked(self, self.get_object(), QuestionKind.WAYS_IN, order)

    @extend_schema(parameters=[ORDER], request=None, responses={202: QuestionDetail})
    @ways_in.mapping.post
    @idempotent
    def ways_in_ask(self: Any, request: Any, pk: str, order: str) -> Response:
        """Ask what would let a left-out order in: work for a worker, once for each plan and order."""
        return asked(self, self.get_object(), QuestionKind.WAYS_IN, order)

    @extend_schema(
        parameters=[OpenApiParameter("other", int, OpenApiParameter.PATH, description="Another plan of the base.")],
        responses=OpenApiTypes.OBJECT,
        filters=False,
    )
    @action(detail=True, url_path=r"compare/(?P<other>[0-9]+)", pagination_class=None)
    def compare(self: Any, request: Any, pk: str, other: str) -> Response:
        """From this plan to another of its base: visits, people, orders won and lost, money, energy, and what differs between
        their problems. Names people: for planners of every site of the base."""
        plan = self.get_object()
        planner_required(user=request.user, base=plan.base)
        after = plan_list(sites=self.caller.sites).filter(pk=int(other)).first()
        if after is None:
            raise NotAskedError(f"There is no plan {other}, or not for you: name a plan of the same base.", field="other")
        return Response(comparison_json(plans_compared(before=plan, after=after)))


class VisitQuestions:
    """Actions that a visit's view set gains."""

    @extend_schema(request=None, responses={200: QuestionDetail, 202: QuestionDetail}, filters=False)
    @action(detail=True, methods=["get"], pagination_class=None)
    def moves(self: Any, request: Any, pk: str) -> Response:
        """What the visit costs and what moving it to each other day would cost. POST asks (202), GET looks."""
        return self._moves()

    @extend_schema(request=None, responses={202: QuestionDetail})
    @moves.mapping.post
    @idempotent
    def moves_ask(self: Any, request: Any, pk: str) -> Response:
        """Ask where else the visit could stand: work for a worker, once for each plan and visit."""
        return self._moves()

    def _moves(self: Any) -> Response:
        visit = self.get_object()
        job = min(visit.jobs.all(), key=lambda one: one.order.number)
        return asked(self, visit.plan, QuestionKind.MOVES, job.order.number, job.number)
