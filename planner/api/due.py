"""What falls due, which gates are shut, whose certificates run out: computed, never stored."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from planner.clock import today_at
from planner.due import GATES, STATES
from planner.models import Base, Site, Turbine
from planner.rest.fields import NameOf, OwnBase, StrictDate, VisibleKey
from planner.rest.serializers import StrictSerializer
from planner.rest.views import QueryView
from planner.selectors.due import CertificateDue, DueItem, certificates_due, due_list, gates_shut


class DueQuery(StrictSerializer):
    """Which due work. Without `today`, each site's own local day."""

    site = VisibleKey(queryset=Site.objects.all(), required=False)
    turbine = VisibleKey(queryset=Turbine.objects.select_related("site"), required=False)
    state = serializers.ChoiceField(choices=STATES, required=False)
    today = StrictDate(required=False)


class DueRow(serializers.Serializer):
    """One interval on one turbine or component."""

    site = serializers.IntegerField(source="turbine.site_id")
    turbine = serializers.IntegerField(source="turbine.pk")
    turbine_code = serializers.CharField(source="turbine.code")
    component = serializers.IntegerField(source="component.pk", default=None, allow_null=True)
    component_name = NameOf(source="component")
    interval = serializers.IntegerField(source="interval.pk")
    interval_code = serializers.CharField(source="interval.code")
    procedure = serializers.IntegerField(source="interval.procedure_id")
    procedure_name = serializers.CharField(source="interval.procedure.name")
    last_done = serializers.DateField(source="due.last_done", allow_null=True)
    opens = serializers.DateField(source="due.opens", allow_null=True)
    due = serializers.DateField(source="due.due", allow_null=True)
    closes = serializers.DateField(source="due.closes", allow_null=True)
    state = serializers.ChoiceField(source="due.state", choices=STATES)
    reason = serializers.CharField(source="due.reason")
    stops = serializers.SerializerMethodField(help_text="Gates shut on that day.")
    can_stop = serializers.SerializerMethodField(help_text="Gates a lapse would shut.")
    days_over = serializers.IntegerField(source="due.days_over")
    projected = serializers.BooleanField(source="due.projected", help_text="Estimated from a counter's rate.")
    statutory = serializers.BooleanField(source="due.statutory")
    absorbed_by = serializers.SerializerMethodField(help_text="Interval of the larger service that does this work too.")

    def get_stops(self, item: DueItem) -> list[str]:
        """In a fixed order."""
        return sorted(item.due.stops)

    def get_can_stop(self, item: DueItem) -> list[str]:
        """In a fixed order."""
        return sorted(item.due.can_stop)

    def get_absorbed_by(self, item: DueItem) -> int | None:
        """The interval's id, out of the key that names interval and component."""
        key = item.due.absorbed_by
        return None if key is None else int(str(key).split("/")[0])


class DueView(QueryView):
    """What falls due, soonest first."""

    query_serializer_class = DueQuery
    serializer_class = DueRow
    pages = True

    @extend_schema(operation_id="due_list", parameters=[DueQuery], responses=DueRow(many=True))
    def get(self, request: Any) -> Response:
        """Due work of the caller's sites."""
        asked = self.asked()
        items = due_list(sites=_sites(self, asked), today=asked.get("today"), turbine=asked.get("turbine"))
        return self.paged([item for item in items if asked.get("state") in (None, item.due.state)])


class GateQuery(StrictSerializer):
    """Where and when. Without `on`, each site's own local day."""

    site = VisibleKey(queryset=Site.objects.all(), required=False)
    turbine = VisibleKey(queryset=Turbine.objects.select_related("site"), required=False)
    on = StrictDate(required=False)


class ShutGate(serializers.Serializer):
    """A gate that is shut, and by what."""

    turbine = serializers.IntegerField()
    turbine_code = serializers.CharField()
    gate = serializers.ChoiceField(choices=GATES)
    on = serializers.DateField()
    sentence = serializers.CharField()


class GatesView(QueryView):
    """Which lapse stops what."""

    query_serializer_class = GateQuery
    serializer_class = ShutGate
    pages = True

    @extend_schema(operation_id="gates_list", parameters=[GateQuery], responses=ShutGate(many=True))
    def get(self, request: Any) -> Response:
        """Shut gates of the caller's sites, by turbine."""
        asked = self.asked()
        sites = list(_sites(self, asked))
        items = due_list(sites=sites, today=asked.get("on"), turbine=asked.get("turbine"))
        return self.paged([row for site in sites for row in _shut_at(site, items, asked.get("on"))])


class CertificateQuery(StrictSerializer):
    """Whose. Without `base`, all the caller's bases; without `today`, each base's own local day."""

    base = OwnBase(required=False)
    today = StrictDate(required=False)


class CertificateRow(serializers.Serializer):
    """A person's certificate of one kind."""

    technician = serializers.IntegerField(source="technician.pk")
    technician_name = serializers.CharField(source="technician.name")
    kind = serializers.IntegerField(source="kind.pk")
    kind_name = serializers.CharField(source="kind.name")
    valid_until = serializers.DateField(allow_null=True)
    state = serializers.ChoiceField(choices=STATES)
    sentence = serializers.CharField()


class CertificatesDueView(QueryView):
    """Whose certificates run out."""

    query_serializer_class = CertificateQuery
    serializer_class = CertificateRow
    pages = True

    @extend_schema(operation_id="certificates_due_list", parameters=[CertificateQuery], responses=CertificateRow(many=True))
    def get(self, request: Any) -> Response:
        """Certificates of the people of the caller's bases, soonest first."""
        asked = self.asked()
        bases = Base.objects.filter(pk__in=self.caller.sites.values("base"))
        if "base" in asked:
            bases = bases.filter(pk=asked["base"].pk)
        return self.paged([row for base in bases for row in _of_base(base, asked.get("today"))])


def _sites(view: QueryView, asked: dict[str, Any]) -> list[Site]:
    """The asked site, the asked turbine's, both if they agree, or all of the caller's."""
    wanted = [asked["site"]] if "site" in asked else []
    turbine = asked.get("turbine")
    if turbine is not None and wanted and turbine.site_id != wanted[0].pk:
        return []
    return wanted or ([turbine.site] if turbine is not None else list(view.caller.sites))


def _shut_at(site: Site, items: list[DueItem], on: date | None) -> Iterator[dict[str, Any]]:
    day = on or today_at(site.zone)
    own = [item for item in items if item.turbine.site_id == site.pk]
    codes = {item.turbine.pk: item.turbine.code for item in own}
    for turbine, gates in gates_shut(own, day).items():
        for gate, sentence in sorted(gates.items()):
            yield {"turbine": turbine, "turbine_code": codes[turbine], "gate": gate, "on": day, "sentence": sentence}


def _of_base(base: Base, today: date | None) -> list[CertificateDue]:
    return certificates_due(base=base, today=today or today_at(base.zone))
