"""Django's admin site, named."""

from __future__ import annotations

from django.contrib import admin


class LullAdminSite(admin.AdminSite):
    """Master data and history; the work pages share its base template."""

    site_header = "Lull"
    site_title = "Lull"
    index_title = "Register"
    site_url = "/"
