"""weather fit: learn how far off a site's forecasts were, from those stored and what was measured since."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import OutputWrapper

from scheduling.management.weather_actions.options import site_of
from scheduling.models import ErrorFit
from scheduling.selectors.forecast_error import fit_text
from scheduling.services.forecast_error import error_fit

HELP = "Fit a site's forecast error. Exit code 0: fitted and in use from now on; 2: too few forecasts, nothing changed."


def add_arguments(parser: ArgumentParser) -> None:
    """Which site."""
    parser.add_argument("--site", required=True, help="code of the site")
    parser.add_argument("--json", action="store_true")


def handle(out: OutputWrapper, options: dict[str, Any]) -> int:
    """Fit, and tell what was found."""
    fit = error_fit(site=site_of(options["site"]))
    out.write(json.dumps(as_json(fit), ensure_ascii=False) + "\n" if options["json"] else f"{fit.site}: {fit_text(fit)}\n")
    return 0


def as_json(fit: ErrorFit) -> dict[str, Any]:
    """The fit as plain values."""
    first, last = fit.first_issue.isoformat(), fit.last_issue.isoformat()
    counts = {"forecasts": fit.forecasts, "pairs": fit.pairs}
    return {"fit": fit.pk, "site": fit.site.code, "first_issue": first, "last_issue": last, **counts, "model": fit.model}
