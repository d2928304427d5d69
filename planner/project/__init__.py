"""The project's wiring: settings, urls, Celery, WSGI, checks. Rules live elsewhere."""

from planner.project.celery import app as celery_app

__all__ = ["celery_app"]
