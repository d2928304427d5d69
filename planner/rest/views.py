"""What every view of the API shares, and the register's views."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import ProtectedError
from rest_framework import mixins, status
from rest_framework.generics import GenericAPIView
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from planner.errors import ConflictError, PlannerError
from planner.rest.caller import PLANNERS, Caller, caller_of
from planner.rest.etag import etag_of, if_match_check, not_modified
from planner.rest.filters import DeclaredFilters, DeclaredOrdering, DeclaredSearch, params_check
from planner.rest.idempotency import idempotent
from planner.rest.parse import StrictJsonParser
from planner.rest.permissions import RolePermission, must_write
from planner.rest.render import PlainNegotiation, SafeJson
from planner.rest.schema import LullSchema
from planner.selectors.ownership import visible


class TooLargeError(PlannerError):
    """The body is larger than the settings allow."""

    status = 413
    code = "too large"


class Api(GenericAPIView):
    """JSON in and out, roles, known query parameters only, bounded bodies."""

    renderer_classes = [SafeJson]
    content_negotiation_class = PlainNegotiation
    parser_classes = [StrictJsonParser]
    permission_classes = [RolePermission]
    filter_backends = [DeclaredFilters, DeclaredOrdering, DeclaredSearch]
    schema = LullSchema()
    write_roles: tuple[str, ...] = PLANNERS
    ordering_fields: tuple[str, ...] = ()
    paged_actions: tuple[str, ...] = ("list",)

    def initial(self, request: Any, *args: Any, **kwargs: Any) -> None:
        """After login and role: the query and the size of the body."""
        super().initial(request, *args, **kwargs)
        params_check(request, self)
        size = int(request.META.get("CONTENT_LENGTH") or 0)
        if size > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE // 2**20
            raise TooLargeError(f"The body has {size / 2**20:.0f} MB: send at most {most} MB, in several parts if need be.")

    @property
    def caller(self) -> Caller:
        """Who asks."""
        return caller_of(self.request)

    def get_queryset(self) -> Any:
        """Only what the caller sees."""
        return visible(super().get_queryset(), self.caller)

    def get_object(self) -> Any:
        """The row, or 404 for one that is not there and for one that is not the caller's."""
        key = str(self.kwargs.get("pk", ""))
        if not (key.isascii() and key.isdigit() and len(key) < 19):
            self.kwargs["pk"] = 0
        return super().get_object()

    def valid(self, serializer_class: Any, data: Any) -> dict[str, Any]:
        """The validated input of an action."""
        serializer = serializer_class(data=data, context=self.get_serializer_context())
        serializer.is_valid(raise_exception=True)
        return dict(serializer.validated_data)

    def answer(self, row: Any, code: int = status.HTTP_200_OK, **headers: str) -> Response:
        """A row with its ETag."""
        data = self.get_serializer(row).data
        return Response(data, status=code, headers={"ETag": etag_of(data), **headers})


class QueryView(Api):
    """Answers a question put in the query: `query_serializer_class` names and checks its parameters."""

    query_serializer_class: Any = None
    filter_backends: list[Any] = []
    pages = False

    def asked(self) -> dict[str, Any]:
        """The checked parameters."""
        known = self.query_serializer_class().fields
        given = {name: text for name, text in self.request.query_params.items() if name in known}
        return self.valid(self.query_serializer_class, given)

    def paged(self, rows: list[Any]) -> Response:
        """One page of computed rows."""
        page = self.paginate_queryset(rows)
        return self.get_paginated_response(self.get_serializer(page, many=True).data)


class ReadViewSet(mixins.ListModelMixin, Api, GenericViewSet):
    """Lists and single rows. `if_match_actions` are the actions that look at If-Match."""

    if_match_actions: tuple[str, ...] = ()

    def retrieve(self, request: Any, *args: Any, **kwargs: Any) -> Response:
        """One row, with its ETag; 304 where the reader has it already."""
        response = self.answer(self.get_object())
        if not_modified(request, response["ETag"]):
            return Response(status=status.HTTP_304_NOT_MODIFIED, headers={"ETag": response["ETag"]})
        return response

    def fresh(self, row: Any) -> Any:
        """The row as a reader would get it, joins and annotations included."""
        return self.get_queryset().get(pk=row.pk)

    def page_of(self, rows: Any, serializer_class: Any) -> Response:
        """One page of rows that hang on this one; name the action in `paged_actions`."""
        page = self.paginate_queryset(rows)
        data = serializer_class(page, many=True, context=self.get_serializer_context()).data
        return self.get_paginated_response(data)

    def made(self, row: Any, serializer_class: Any, location: str) -> Response:
        """201 with a row of another table that an action made."""
        data = serializer_class(row, context=self.get_serializer_context()).data
        return Response(data, status=status.HTTP_201_CREATED, headers={"ETag": etag_of(data), "Location": location})

    def locked(self) -> Any:
        """The row, locked for this transaction, checked against If-Match."""
        self.get_object()
        rows = self.get_queryset()
        row = rows.select_for_update(of=("self",)).get(pk=self.kwargs["pk"])
        if_match_check(self.request, self.get_serializer(row).data)
        return row


class RegisterViewSet(ReadViewSet):
    """A register table: read by members, written by `write_roles`, each change one transaction with history."""

    @idempotent
    def create(self, request: Any, *args: Any, **kwargs: Any) -> Response:
        """A new row."""
        with transaction.atomic():
            serializer = self.get_serializer(data=request.data)
            serializer.is_valid(raise_exception=True)
            must_write(serializer.row_with(serializer.validated_data), request, self.write_roles)
            row = self.added(serializer)
            return self.answer(self.fresh(row), status.HTTP_201_CREATED, Location=f"{request.path}{row.pk}/")

    def added(self, serializer: Any) -> Any:
        """Save a new row; a place for what must come with it."""
        return serializer.save()

    def update(self, request: Any, *args: Any, partial: bool = False, **kwargs: Any) -> Response:
        """Replace a row."""
        with transaction.atomic():
            row = self.locked()
            must_write(row, request, self.write_roles)
            serializer = self.get_serializer(row, data=request.data, partial=partial)
            serializer.is_valid(raise_exception=True)
            must_write(serializer.row_with(serializer.validated_data), request, self.write_roles)
            serializer.save()
            return self.answer(self.fresh(row))

    def partial_update(self, request: Any, *args: Any, **kwargs: Any) -> Response:
        """Change some fields of a row."""
        return self.update(request, *args, partial=True, **kwargs)

    def destroy(self, request: Any, *args: Any, **kwargs: Any) -> Response:
        """Remove a row that nothing uses."""
        with transaction.atomic():
            row = self.locked()
            must_write(row, request, self.write_roles)
            try:
                row.delete()
            except ProtectedError as error:
                users = sorted({str(used._meta.verbose_name_plural) for used in error.protected_objects})
                raise ConflictError(f"It is still used by {' and '.join(users)}: change or remove those first.") from error
        return Response(status=status.HTTP_204_NO_CONTENT)
