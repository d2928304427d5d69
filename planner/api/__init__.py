"""The register and the due list under /api/v1/."""
