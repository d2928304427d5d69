"""Orders and what hangs on them in the admin site. Everything that moves goes through the services."""

from __future__ import annotations

from workorders.admin import findings, holds, orders, story

__all__ = ["findings", "holds", "orders", "story"]
