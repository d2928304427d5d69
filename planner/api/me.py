"""Who am I, and my token."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.authtoken.models import Token
from rest_framework.authtoken.serializers import AuthTokenSerializer
from rest_framework.permissions import AllowAny, IsAuthenticated
from rest_framework.response import Response
from rest_framework.throttling import AnonRateThrottle

from planner.models import Technician
from planner.rest.serializers import StrictSerializer
from planner.rest.views import Api


class RoleRow(serializers.Serializer):
    """A site and the role there."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    name = serializers.CharField()
    base = serializers.IntegerField()
    role = serializers.CharField()


class MeRow(serializers.Serializer):
    """The caller."""

    username = serializers.CharField()
    superuser = serializers.BooleanField()
    technician = serializers.IntegerField(allow_null=True)
    sites = RoleRow(many=True)


class MeView(Api):
    """Who asks, with which roles."""

    serializer_class = MeRow

    @extend_schema(operation_id="me")
    def get(self, request: Any) -> Response:
        """The caller and their sites."""
        roles = self.caller.roles
        technician = Technician.objects.filter(user=request.user).values_list("pk", flat=True).first()
        sites = [
            {"id": site.pk, "code": site.code, "name": site.name, "base": site.base_id, "role": str(roles.get(site.pk, ""))}
            for site in self.caller.sites
        ]
        user = request.user
        return Response({"username": user.username, "superuser": user.is_superuser, "technician": technician, "sites": sites})


class TokenQuestion(StrictSerializer, AuthTokenSerializer):
    """Username and password."""


class TokenRow(serializers.Serializer):
    """Send it as `Authorization: Token ...`."""

    token = serializers.CharField()


class TokenPace(AnonRateThrottle):
    """Guessing passwords is slow."""

    rate = "20/min"


class TokenView(Api):
    """Log in for scripts: a token for username and password; DELETE gives it up."""

    serializer_class = TokenQuestion

    def get_permissions(self) -> list[Any]:
        """Everybody may log in."""
        return [AllowAny()] if self.request is None or self.request.method == "POST" else [IsAuthenticated()]

    def get_authenticators(self) -> list[Any]:
        """Logging in looks at no earlier login."""
        return [] if self.request is not None and self.request.method == "POST" else super().get_authenticators()

    def get_throttles(self) -> list[Any]:
        """Only logging in is slowed."""
        return [TokenPace()] if self.request.method == "POST" else []

    @extend_schema(operation_id="token_create", auth=[], responses=TokenRow)
    def post(self, request: Any) -> Response:
        """The caller's token, made at the first asking."""
        user = self.valid(TokenQuestion, request.data)["user"]
        token, _ = Token.objects.get_or_create(user=user)
        return Response({"token": token.key})

    @extend_schema(operation_id="token_delete", request=None, responses={204: None})
    def delete(self, request: Any) -> Response:
        """The token holds no longer."""
        Token.objects.filter(user=request.user).delete()
        return Response(status=status.HTTP_204_NO_CONTENT)
