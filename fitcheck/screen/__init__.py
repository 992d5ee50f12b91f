"""Screening: many candidates for the open slots of a build, from a catalog or from a pile."""
