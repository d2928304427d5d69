"""Orders and what hangs on them in the admin site. Everything that moves goes through the services."""

from __future__ import annotations

from workorders.admin import findings, holds, links, orders, story

__all__ = ["findings", "holds", "links", "orders", "story"]
