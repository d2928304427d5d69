"""Orders under /api/v1/."""
