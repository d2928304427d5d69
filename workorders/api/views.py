"""Orders, what they do and what the crew brings back."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from drf_spectacular.utils import extend_schema
from rest_framework import status
from rest_framework.decorators import action
from rest_framework.response import Response

from planner.rest.caller import CREW
from planner.rest.filters import filters_of, site_filter
from planner.rest.idempotency import idempotent
from planner.rest.views import ReadViewSet
from workorders.api import serializers as rows
from workorders.models import Finding, Hold, Order, StepResult
from workorders.selectors.orders import order_list_for
from workorders.services.findings import finding_raise_order, finding_record
from workorders.services.holds import hold_clear, hold_set
from workorders.services.moves import order_move
from workorders.services.orders import order_effort_change, order_raise_by_hand, orders_raise_from_due
from workorders.services.results import step_result_record


class OrderViewSet(ReadViewSet):
    """Orders of the caller's sites. Which move whose role carries, the table of moves says."""

    queryset = Order.objects.all()
    serializer_class = rows.OrderRow
    filterset_class = filters_of(
        Order, "turbine", "component", "procedure", "interval", "origin", "klass", "state", "number",
        more={"site": site_filter("turbine__site")}, due_on=["exact", "gte", "lte"],
    )  # fmt: skip
    search_fields = ("number", "note")
    ordering_fields = ("due_on", "number", "raised_at", "state")
    write_roles = CREW
    if_match_actions = ("move", "effort")
    paged_actions = ("list", "moves", "holds", "findings", "results")

    def get_queryset(self) -> Any:
        """With joins and open holds."""
        return order_list_for(sites=self.caller.sites)

    @extend_schema(request=rows.OrderAsked, responses={201: rows.OrderRow})
    @idempotent
    def create(self, request: Any) -> Response:
        """An order by hand."""
        asked = rows.given(self.valid(rows.OrderAsked, request.data))
        order = order_raise_by_hand(by=request.user, **asked)
        return self.answer(self.fresh(order), status.HTTP_201_CREATED, Location=f"{request.path}{order.pk}/")

    @extend_schema(request=rows.RaiseAsked, responses=rows.RaiseAnswer)
    @action(detail=False, methods=["post"], url_path="raise-from-due")
    @idempotent
    def raise_from_due(self, request: Any) -> Response:
        """Orders for what opens within the horizon; asked again, nothing is raised twice."""
        asked = self.valid(rows.RaiseAsked, request.data)
        report = orders_raise_from_due(by=request.user, **asked)
        raised = self.get_queryset().filter(pk__in=[order.pk for order in report.raised])
        answer = {"raised": raised, "already": report.already, "withdrawn": report.withdrawn}
        return Response(rows.RaiseAnswer(answer, context=self.get_serializer_context()).data)

    @extend_schema(responses=rows.MoveRow(many=True), filters=False)
    @action(detail=True)
    def moves(self, request: Any, pk: str) -> Response:
        """The moves the order made, oldest first."""
        return self.page_of(self.get_object().moves.select_related("by"), rows.MoveRow)

    @extend_schema(request=rows.MoveAsked, responses=rows.OrderRow)
    @moves.mapping.post
    @idempotent
    def move(self, request: Any, pk: str) -> Response:
        """Move the order. With If-Match, only as the caller last read it."""
        with transaction.atomic():
            order = self.locked()
            order_move(order=order, by=request.user, **rows.given(self.valid(rows.MoveAsked, request.data)))
            return self.answer(self.fresh(order))

    @extend_schema(request=rows.EffortAsked, responses=rows.OrderRow)
    @action(detail=True, methods=["post"])
    @idempotent
    def effort(self, request: Any, pk: str) -> Response:
        """Change the person-hours still to do."""
        with transaction.atomic():
            order = self.locked()
            order_effort_change(order=order, by=request.user, **self.valid(rows.EffortAsked, request.data))
            return self.answer(self.fresh(order))

    @extend_schema(responses=rows.HoldRow(many=True), filters=False)
    @action(detail=True)
    def holds(self, request: Any, pk: str) -> Response:
        """The order's holds."""
        return self.page_of(self.get_object().holds.all(), rows.HoldRow)

    @extend_schema(request=rows.HoldAsked, responses={201: rows.HoldRow})
    @holds.mapping.post
    @idempotent
    def hold(self, request: Any, pk: str) -> Response:
        """Hold the order."""
        order = self.get_object()
        asked = rows.given(self.valid(rows.HoldAsked, request.data))
        hold = hold_set(order=order, by=request.user, **asked)
        return self.made(hold, rows.HoldRow, f"/api/v1/holds/{hold.pk}/")

    @extend_schema(responses=rows.FindingRow(many=True), filters=False)
    @action(detail=True)
    def findings(self, request: Any, pk: str) -> Response:
        """What was found on the order."""
        return self.page_of(self.get_object().findings.all(), rows.FindingRow)

    @extend_schema(request=rows.FindingAsked, responses={201: rows.FindingRow})
    @findings.mapping.post
    @idempotent
    def finding(self, request: Any, pk: str) -> Response:
        """Record a finding."""
        order = self.get_object()
        asked = rows.given(self.valid(rows.FindingAsked, request.data))
        finding = finding_record(order=order, by=request.user, **asked)
        return self.made(finding, rows.FindingRow, f"/api/v1/findings/{finding.pk}/")

    @extend_schema(responses=rows.ResultRow(many=True), filters=False)
    @action(detail=True)
    def results(self, request: Any, pk: str) -> Response:
        """The answers to the order's steps."""
        return self.page_of(self.get_object().results.select_related("by"), rows.ResultRow)

    @extend_schema(request=rows.ResultAsked, responses={201: rows.ResultRow})
    @results.mapping.post
    @idempotent
    def result(self, request: Any, pk: str) -> Response:
        """Answer a step; answered again, the newer answer stands and history keeps both."""
        order = self.get_object()
        asked = rows.given(self.valid(rows.ResultAsked, request.data))
        result = step_result_record(order=order, by=request.user, **asked)
        return self.made(result, rows.ResultRow, f"/api/v1/results/{result.pk}/")


class HoldViewSet(ReadViewSet):
    """Holds of the caller's orders."""

    queryset = Hold.objects.all()
    serializer_class = rows.HoldRow
    filterset_class = filters_of(Hold, "order", "kind", cleared_on=["exact", "isnull"], expected_until=["gte", "lte"])
    ordering_fields = ("since", "expected_until")
    if_match_actions = ("clear",)
    write_roles = CREW

    @extend_schema(request=rows.ClearAsked, responses=rows.HoldRow)
    @action(detail=True, methods=["post"])
    @idempotent
    def clear(self, request: Any, pk: str) -> Response:
        """The order waits no longer for this."""
        with transaction.atomic():
            hold = self.locked()
            hold_clear(hold=hold, by=request.user, **rows.given(self.valid(rows.ClearAsked, request.data)))
            return self.answer(self.fresh(hold))


class FindingViewSet(ReadViewSet):
    """Findings on the caller's orders."""

    queryset = Finding.objects.all()
    serializer_class = rows.FindingRow
    filterset_class = filters_of(
        Finding, "order", "severity", "component", "procedure", found_on=["exact", "gte", "lte"], raised_order=["isnull"]
    )
    search_fields = ("text",)
    ordering_fields = ("found_on",)
    write_roles = CREW

    @extend_schema(request=rows.MendAsked, responses={201: rows.OrderRow})
    @action(detail=True, methods=["post"], url_path="raise-order")
    @idempotent
    def raise_order(self, request: Any, pk: str) -> Response:
        """Raise the order that mends it, once."""
        finding = self.get_object()
        asked = rows.given(self.valid(rows.MendAsked, request.data))
        raised = finding_raise_order(finding=finding, by=request.user, **asked)
        order = order_list_for(sites=self.caller.sites).get(pk=raised.pk)
        return self.made(order, rows.OrderRow, f"/api/v1/orders/{order.pk}/")


class ResultViewSet(ReadViewSet):
    """Answers to steps of the caller's orders."""

    queryset = StepResult.objects.select_related("by")
    serializer_class = rows.ResultRow
    filterset_class = filters_of(StepResult, "order", "step")
